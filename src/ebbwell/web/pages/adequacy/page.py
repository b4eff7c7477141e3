"""The dose of dialysis, for the talk with the unit: the fitted figure first, then which measure fits and why.

Every figure with its band, its bloods and their age, and its working one tap away. Questions at the end, no verdict.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from markupsafe import Markup
from starlette.responses import Response

from ebbwell.core.text import say
from ebbwell.draw.chart import svg_of
from ebbwell.draw.marks import Band, Chart, Points
from ebbwell.draw.palette import PALETTES
from ebbwell.papers.words import day
from ebbwell.review.adequacy import LEADS
from ebbwell.review.adequacy_kinds import GROUPS, Measure, doubt_of
from ebbwell.review.adequacy_months import FRESH_DAYS, Adequacy, MonthTold, Told
from ebbwell.review.doubt import MODEL_OFF
from ebbwell.science.dialyser import PLASMA_WATER
from ebbwell.state.bloods import Target, targets
from ebbwell.web.pages.adequacy import figures as words
from ebbwell.web.pages.adequacy.gathered import gathered
from ebbwell.web.pages.adequacy.questions import questions
from ebbwell.web.pages.adequacy.working import working
from ebbwell.web.pages.sheet.page import SIZES
from ebbwell.web.visit import ALL, Visit, Way

COLUMNS = ("night", "before", "after", "standard", "protein", "said")
PROTEIN = "protein_rate_any"


@dataclass(frozen=True)
class Lead:
    """One of the figures that stand first."""

    name: str
    value: str
    unit: str
    band: str
    key: str


def show(visit: Visit) -> Response:
    """The page. Writes nothing."""
    found = gathered(visit)
    quoted = [one for one in found.measures if one.quoted]
    rest = [one for one in found.measures if not one.quoted]
    return visit.show(
        "pages/adequacy/page.html",
        found=found,
        leads=_leads(found),
        newest=found.newest,
        age=words.age_words(found.age_days),
        night=day(found.newest.own.night.isoformat()) if found.newest is not None else "",
        pair=_pair(found.newest) if found.newest is not None else [],
        holds=say("web.adequacy.band_holds", percent=round(100 * MODEL_OFF - 100)),
        fresh_days=FRESH_DAYS,
        gaps=[words.gap_words(gap) for gap in found.gaps],
        notes=[words.gap_words(gap) for gap in found.notes],
        which=_which(found),
        fit=_fit(found),
        target=_target(visit, found),
        drawn=_drawn(visit, found),
        heads=[say(f"web.adequacy.months.column.{name}") for name in COLUMNS],
        months=[(one.own.treatment, _month(one)) for one in reversed(found.months)],
        groups=_grouped(
            quoted, lambda one: [words.value_of(one), words.band_of(one), " ".join(words.to_know(one))]
        ),
        out=_grouped(rest, lambda one: [words.why_words(one)]),
        asked=questions(found),
    )


def _leads(found: Adequacy) -> list[Lead]:
    leads = []
    for key, name in ((LEADS, "std"), (PROTEIN, "protein")):
        one = found.measure(key)
        if one is None or one.worked.value is None:
            continue
        value = words.rounded(one.worked.value, words.places_of(one))
        leads.append(Lead(say(f"web.adequacy.lead.{name}"), value, one.worked.unit, words.band_of(one), key))
    return leads


def _pair(newest: MonthTold) -> list[tuple[str, str]]:
    """The two results, each as words and the address of its entry."""
    own = newest.own
    before, after = (words.urea_words(figure) for figure in (own.urea_before, own.urea_after))
    return [
        (say("web.adequacy.before", value=before), f"/entry/{own.entries[0]}"),
        (say("web.adequacy.after", value=after), f"/entry/{own.entries[1]}"),
    ]


def _which(found: Adequacy) -> list[str]:
    """Which measure fits the nights of the bloods, and why the usual ones don't."""
    if found.asked is None:
        return []
    asked = found.asked
    said = [
        say(
            "web.adequacy.which.pattern",
            sessions=words.rounded(asked.sessions, 1).removesuffix(".0"),
            hours=words.rounded(asked.hours, 1).removesuffix(".0"),
            days=words.rounded(asked.since_last, 1).removesuffix(".0"),
        ),
        say("web.adequacy.which.thrice"),
    ]
    if found.measure(LEADS) is not None:
        said.append(say("web.adequacy.which.model"))
    dose = next((one for one in found.measures if one.key == "single_pool_dose_any"), None)
    if dose is not None and dose.quoted and dose.notes:
        said.append(say("web.adequacy.which.log", dose=words.value_of(dose), band=words.band_of(dose)))
    elif dose is not None and not dose.quoted:
        said.append(say("web.adequacy.which.log_no", why=words.why_words(dose)))
    return [*said, say("web.adequacy.which.memory")]


def _fit(found: Adequacy) -> list[str]:
    """What the fit found, and what of it leans on what was put in."""
    water, made, clearance = (found.measure(f"fitted_{name}") for name in ("water", "urea_made", "clearance"))
    if found.basis is None or water is None or made is None or clearance is None:
        return []
    fit = found.basis.fit
    share, over, leaflet = fit.water_share, fit.clearance_over, doubt_of(fit.clearance_over)

    def figure(key: str, one: Measure, **more: str) -> str:
        value = words.rounded(one.worked.value or Decimal(0), words.places_of(one))
        return say(f"web.adequacy.fit.{key}", value=value, band=words.band_of(one), **more)

    said = [
        figure("water", water, share=f"{100 * share.middle:.0f}"),
        figure("made", made),
        figure(
            "clearance",
            clearance,
            over=f"{over.middle:.2f}",
            low=f"{leaflet.low:.2f}",
            high=f"{leaflet.high:.2f}",
        ),
        say("web.adequacy.fit.ratio"),
    ]
    said += [say(f"web.adequacy.fit.leans.{name}") for name in fit.leans]
    profile = words.band_words(doubt_of(fit.water_profile, found.basis.months[-1].weight_kg), 1)
    return [*said, say("web.adequacy.fit.profile", band=profile)]


def _target(visit: Visit, found: Adequacy) -> list[str]:
    """Urea before a treatment by the model as the laboratory has it, and beside it what the clinic wants, if it said."""
    said = []
    if found.asked is not None and found.asked.figures is not None:
        mean, plasma = found.asked.figures.mean_before, float(PLASMA_WATER)
        band = words.band_words(doubt_of(mean, plasma), 1)
        said.append(say("web.adequacy.mean_before", value=f"{mean.middle * plasma:.1f}", band=band))
    held = targets(visit.desk.standing).get("urea", ())
    if len(held) > 1:
        return [*said, say("web.adequacy.target.two")]
    return said + [
        say("web.adequacy.target", range=_wanted(one), giver=one.body.giver, day=day(one.body.given_on))
        for one in held
    ]


def _wanted(one: Target) -> str:
    """What the clinic wants urea to lie between."""
    low, high = ("" if end is None else words.rounded(end, 1) for end in (one.low, one.high))
    key = "both" if low and high else "low" if low else "high" if high else "unread"
    return say(f"web.adequacy.target.{key}", low=low, high=high, unit="mmol/L")


def _drawn(visit: Visit, found: Adequacy) -> list[tuple[str, list[tuple[str, Markup]]]]:
    """A picture of the dose and one of the protein rate for both widths; none before two months have a figure."""
    months = words.usable(found)
    drawn = []
    for name, unit in (("std", "/week"), ("protein", "g/kg/day")):
        told = [
            (one, value)
            for one in months
            if (value := one.standard if name == "std" else one.protein) is not None
        ]
        if len(told) < 2:
            continue
        chart = _chart(name, unit, told)
        shapes = [
            (
                shown,
                Markup(svg_of(chart, PALETTES[visit.look], **{**sizes, "name": f"{name}-{sizes['name']}"})),
            )
            for shown, sizes in SIZES.items()
        ]
        drawn.append((chart.title, shapes))
    return drawn


def _chart(name: str, unit: str, told: Sequence[tuple[MonthTold, Told]]) -> Chart:
    """Figures of months with their bands, and the same in words for who can't see it."""
    title = say(f"web.adequacy.chart.{name}", count=len(told))
    rows = " ".join(
        say(
            "web.adequacy.chart.row",
            night=day(one.own.night.isoformat()),
            value=words.rounded(value.value, words.DOSE_PLACES),
            band=words.band_words(value.doubt, words.DOSE_PLACES),
        )
        for one, value in told
    )
    at = [words.instant(one) for one, _ in told]
    bands = tuple((when, *_ends(value)) for when, (_, value) in zip(at, told, strict=True))
    points = tuple((when, _to(value.value)) for when, (_, value) in zip(at, told, strict=True))
    return Chart(
        title,
        unit,
        at[0],
        at[-1],
        "UTC",
        (Band(say("web.adequacy.chart.band"), bands), Points(say("web.adequacy.chart.value"), points)),
        desc=say("web.adequacy.chart.words", title=title, rows=rows),
        low=Decimal(0),
    )


def _to(value: Decimal) -> Decimal:
    return Decimal(words.rounded(value, words.DOSE_PLACES))


def _ends(told: Told) -> tuple[Decimal, Decimal | None]:
    return _to(told.doubt.low), None if told.doubt.high is None else _to(told.doubt.high)


def _month(one: MonthTold) -> list[str]:
    said = [words.gap_words(gap) for gap in one.own.gaps]
    return [
        day(one.own.night.isoformat()),
        words.rounded(one.own.urea_before.value, 1),
        words.rounded(one.own.urea_after.value, 1),
        words.told_words(one.standard, words.DOSE_PLACES),
        words.told_words(one.protein, words.PROTEIN_PLACES),
        " ".join(said),
    ]


def _grouped(
    found: Sequence[Measure], cells: Callable[[Measure], list[str]]
) -> list[tuple[str, str, list[tuple[str, str, list[str]]]]]:
    """Measures by group, with what is said of the whole group; each with its key, its name and its cells."""
    grouped = []
    for group in GROUPS:
        rows = [(one.key, words.name_of(one), cells(one)) for one in found if one.group == group]
        if rows:
            said = say("web.adequacy.by_rule") if group in ("water", "surface") else ""
            said += f" {say(words.FITTED_WATER)}" if group == "surface" else ""
            grouped.append((say(f"web.adequacy.group.{group}"), said, rows))
    return grouped


WAYS = (
    Way("GET", "/review/adequacy", show, ALL),
    Way("GET", "/review/adequacy/working/{name}", working, ALL),
)
