"""The working of one figure: formula, inputs with where each came from, source, rounding; and what went into the fit."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from starlette.responses import Response

from ebbwell.core.text import has_text, say
from ebbwell.core.worked import Input
from ebbwell.deeds.desk import Desk
from ebbwell.papers.own_figures import both_text, own
from ebbwell.papers.words import day
from ebbwell.review.adequacy_book import measure_named
from ebbwell.review.adequacy_kinds import GROUPS, Came, Measure
from ebbwell.review.adequacy_months import Adequacy
from ebbwell.review.basis import DAY_MIN
from ebbwell.review.own_numbers import OwnMonth
from ebbwell.science import catalogue
from ebbwell.science.fit import MonthBloods
from ebbwell.web.pages.adequacy import figures as words
from ebbwell.web.pages.adequacy.gathered import gathered
from ebbwell.web.pages.work.inputs import entry_words
from ebbwell.web.visit import Visit

FIT = "fit"
"""The name in the address of what went into the fit."""
IN_WATER = ("mean_before_mmol_l", "mean_urea_mmol_l")
"""Urea of the fit, which is told in the water of plasma; a laboratory reports 0.93 of it. Source: kinetics A5."""
MOST_PLACES = 6
"""Digits after the point that an input is shown with at most."""
ADDRESS = "/review/adequacy/working/"


@dataclass(frozen=True)
class Row:
    """One input: what it is, its value with unit ("" for not known), where it came from and a page about that."""

    label: str
    value: str
    origin: str
    link: str = ""


def working(visit: Visit) -> Response:
    """One figure with its working. A name that is none of them answers 404."""
    name = visit.path["name"]
    found = gathered(visit)
    if name == FIT:
        return _fitted(visit, found)
    one = measure_named(found.measures, name) or _bare(name)
    if one is None:
        return visit.show("pages/adequacy/unknown.html", status=404)
    night = "" if found.newest is None else day(found.newest.own.night.isoformat())
    quoted = one.quoted
    return visit.show(
        "pages/adequacy/working.html",
        title=words.name_of(one),
        night=night if found.fresh else "",
        value=words.value_of(one) if quoted else "",
        band=words.band_of(one) if quoted else "",
        why=words.why_words(one),
        not_quoted=bool(one.why_not),
        know=[*words.to_know(one), *(say(key) for key in one.notes if key == words.FITTED_WATER)],
        model=any(came.kind == "fit" for came in one.came.values()),
        formula=one.worked.formula,
        rows=[_row(visit.desk, found, one, given) for given in one.worked.inputs],
        rounding=say("web.adequacy.rounding", places=words.places_of(one)) if quoted else "",
        source=visit.desk.rulebook.source(one.worked.source),
    )


def _bare(name: str) -> Measure | None:
    """A measure without bloods: its formula alone. None for a name that is none."""
    if name not in catalogue.names(review=True) or not catalogue.formula_named(name).review_only:
        return None
    return Measure(name, GROUPS[0], catalogue.work(name, {}))


def _row(desk: Desk, found: Adequacy, one: Measure, given: Input) -> Row:
    own_label = f"web.adequacy.input.{given.name}"
    label = say(own_label) if has_text(own_label) else words.input_words(given.name)
    value = both_text(f"{_short(given.value)} {given.unit}".rstrip()) if given.value is not None else ""
    origin, link = _origin(desk, found, one.came.get(given.name), given)
    return Row(label[:1].upper() + label[1:], value, origin, link)


def _short(value: Decimal) -> str:
    places = value.as_tuple().exponent
    return (
        words.rounded(value, MOST_PLACES)
        if isinstance(places, int) and places < -MOST_PLACES
        else f"{value:f}"
    )


def _origin(desk: Desk, found: Adequacy, came: Came | None, given: Input) -> tuple[str, str]:
    """Where an input came from, and a page about it."""
    fact = desk.standing.fact(given.entry) if given.entry is not None else None
    if fact is not None:
        return entry_words(desk, fact)
    if given.value is None:
        return say("web.work.from.unknown"), ""
    if came is None:
        return say("web.work.from.nowhere"), ""
    if came.kind == "measure":
        other = measure_named(found.measures, came.key)
        name = came.key if other is None else words.name_of(other)
        return say("web.work.from.worked", figure=name), f"{ADDRESS}{came.key}"
    if came.kind == "rule":
        return say(f"web.adequacy.from.rule.{came.key}"), ""
    links = {"fit": f"{ADDRESS}{FIT}"}
    if found.newest is not None:
        links["night"] = f"/sheet/{found.newest.own.treatment}"
        links["urea"] = f"/entry/{found.newest.own.entries[0]}"
    if came.kind == "fit" and given.name in IN_WATER:
        return say("web.adequacy.from.fit_water"), links["fit"]
    if given.name == "removal_l":
        return say("web.adequacy.from.removal"), links.get("night", "")
    return say(f"web.adequacy.from.{came.kind}"), links.get(came.kind, "")


def _fitted(visit: Visit, found: Adequacy) -> Response:
    """What went into the fit: what was known beforehand, and each pair with its night."""
    known = None if found.basis is None else found.basis.known
    beforehand = []
    if known is not None:
        beforehand = [
            say(
                "web.adequacy.fitted.share",
                share=f"{100 * known.water_share:.0f}",
                doubt=f"{100 * known.water_doubt:.0f}",
            ),
            say("web.adequacy.fitted.clearance", doubt=f"{100 * known.clearance_doubt:.0f}"),
            say("web.adequacy.fitted.lab", doubt=f"{100 * known.lab_doubt:.0f}"),
        ]
    months = [one.own for one in found.months]
    return visit.show(
        "pages/adequacy/fitted.html",
        beforehand=beforehand,
        gaps=[words.gap_words(gap) for gap in found.gaps],
        pairs=[
            (
                _pair(own_month, own_month.bloods),
                _entries(own_month),
                [words.gap_words(n) for n in own_month.notes],
            )
            for own_month in reversed(months)
            if own_month.bloods is not None
        ],
        left_out=[
            (
                day(own_month.night.isoformat()),
                _entries(own_month),
                [words.gap_words(g) for g in own_month.gaps],
            )
            for own_month in reversed(months)
            if own_month.bloods is None
        ],
    )


def _entries(month: OwnMonth) -> list[tuple[str, str]]:
    return [
        (say("web.adequacy.before", value=words.urea_words(month.urea_before)), f"/entry/{month.entries[0]}"),
        (say("web.adequacy.after", value=words.urea_words(month.urea_after)), f"/entry/{month.entries[1]}"),
    ]


def _pair(month: OwnMonth, bloods: MonthBloods) -> str:
    late = say("web.adequacy.fitted.at_end")
    if bloods.drawn_after_min > 0:
        late = say("web.adequacy.fitted.minutes", minutes=f"{bloods.drawn_after_min:.0f}")
    elif bloods.drawn_after_min < 0:
        late = say("web.adequacy.fitted.minutes_before", minutes=f"{-bloods.drawn_after_min:.0f}")
    return say(
        "web.adequacy.fitted.pair",
        night=day(month.night.isoformat()),
        before=words.rounded(month.urea_before.value, 1),
        after=words.rounded(month.urea_after.value, 1),
        weight=own(Decimal(repr(bloods.weight_kg)), "kg"),
        sessions=f"{bloods.a_week:g}",
        hours=f"{bloods.minutes / 60:.1f}",
        clearance=f"{1000 * bloods.clearance_l_min:.0f}",
        gain=f"{DAY_MIN * bloods.gain_l_min:.1f}",
        own=f"{1000 * bloods.residual_l_min:.1f}",
        late=late,
    )
