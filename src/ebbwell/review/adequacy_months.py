"""The months of dose and protein rate with their bands, and the newest pair of bloods with every measure of it.

Figures of how nights go now rest on a pair that isn't old; from ``FRESH_DAYS`` on they are held back and only the months
stand, each with its date. Nothing here judges a figure. Source: kinetics A2, A3; docs/fit_study.md for what bands hold.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from zoneinfo import ZoneInfo

from ebbwell.core.clock import Moment
from ebbwell.core.errors import DomainError
from ebbwell.review.adequacy import measures, protein_doubt
from ebbwell.review.adequacy_book import measure_named
from ebbwell.review.adequacy_kinds import NITROGEN, Asked, Doubt, Measure, decimal_of, doubt_of
from ebbwell.review.basis import Basis
from ebbwell.review.nights_ran import OTHER_HOURS
from ebbwell.review.own_numbers import ODD, Gap, OwnMonth, OwnNumbers
from ebbwell.science import catalogue
from ebbwell.science.fit import MonthBloods
from ebbwell.science.fit_figures import MonthFigures, month_figures
from ebbwell.state.bloods import body_held
from ebbwell.state.facts import Facts
from ebbwell.state.night_fluid import decimal_of as read
from ebbwell.state.own_past import NightSummary

FRESH_DAYS = 62
"""Days from which a pair of bloods no longer speaks of how nights go now: two months. Own choice; bloods are to be
measured at least monthly (kinetics D, KDOQI 2006 CPG 2.1)."""
OTHER_A_WEEK = 0.01
"""Treatments in a week by which nights differ from those of the bloods before it is said. Source: arithmetic (room for
the last digits)."""


@dataclass(frozen=True, slots=True)
class Told:
    """A figure of a month with its band."""

    value: Decimal
    doubt: Doubt


@dataclass(frozen=True, slots=True)
class MonthTold:
    """A pair of bloods and what it says by the fitted model; None where there is no fit or the pair isn't in it.

    standard: weekly stdKt/V. protein [g/kg/day]. odd: its urea doesn't sit with that of the other months.
    """

    own: OwnMonth
    standard: Told | None = None
    protein: Told | None = None
    odd: bool = False


@dataclass(frozen=True, slots=True)
class Adequacy:
    """months: every pair, oldest first. newest: the last one that sums can take; age_days: of its night.

    measures: of the newest pair, () where there is none, where it is old, and where its schedule has no measures.
    fresh: whether it speaks of how nights go now. changed: nights go otherwise now than when it was drawn. notes: what
    was taken for granted of the newest, and what its samples leave open.
    """

    months: tuple[MonthTold, ...]
    gaps: tuple[Gap, ...]
    basis: Basis | None
    newest: MonthTold | None = None
    age_days: int = 0
    fresh: bool = False
    changed: bool = False
    measures: tuple[Measure, ...] = ()
    asked: Asked | None = None
    notes: tuple[Gap, ...] = ()

    def measure(self, key: str) -> Measure | None:
        """The measure of that key, if it has one that may be said."""
        found = measure_named(self.measures, key)
        return found if found is not None and found.quoted else None


def adequacy(
    numbers: OwnNumbers, standing: Facts, past: Mapping[str, NightSummary], access: str, now: Moment
) -> Adequacy:
    """What the bloods say of dose and protein rate.

    numbers: of the record; access: as on the prescription, "" for not known. Keeps nothing.
    """
    basis = numbers.basis
    figures = () if basis is None else month_figures(basis.months, basis.fit, basis.known)
    places = {place: n for n, place in enumerate(numbers.used)}
    months = tuple(_told(own, basis, figures, places.get(place)) for place, own in enumerate(numbers.months))
    if not numbers.used:
        return Adequacy(months, numbers.gaps, basis)
    newest = months[numbers.used[-1]]
    bloods = newest.own.bloods
    age = _age(newest.own.night, now)
    if bloods is None or age >= FRESH_DAYS:
        return Adequacy(months, numbers.gaps, basis, newest, age)
    asked = _asked(newest.own, bloods, figures[-1] if figures else None, standing, past, access)
    try:
        found = measures(asked)
    except DomainError as why:
        gap = Gap("adequacy.no_schedule", (("why", why.key),))
        return Adequacy(months, (*numbers.gaps, gap), basis, newest, age)
    return Adequacy(
        months=months,
        gaps=numbers.gaps,
        basis=basis,
        newest=newest,
        age_days=age,
        fresh=True,
        changed=basis is not None and _changed(basis, bloods),
        measures=found,
        asked=asked,
        notes=(*newest.own.notes, *_sample(newest.own)),
    )


def _age(night: date, now: Moment) -> int:
    return (now.at.astimezone(ZoneInfo(now.zone)).date() - night).days


def _told(
    own: OwnMonth, basis: Basis | None, figures: tuple[MonthFigures, ...], place: int | None
) -> MonthTold:
    if basis is None or place is None:
        return MonthTold(own, odd=any(gap.key == ODD for gap in own.gaps))
    one = figures[place]
    protein = catalogue.work(
        "protein_rate_any",
        {
            "nitrogen_made_mg_min": decimal_of(one.made.middle) * NITROGEN,
            "body_water_l": decimal_of(one.water_l.middle),
        },
    ).value
    doubt = protein_doubt(one.made_in_litre)
    return MonthTold(
        own,
        Told(decimal_of(one.standard.middle), doubt_of(one.standard)),
        None if protein is None or doubt is None else Told(protein, doubt),
    )


def _asked(
    own: OwnMonth,
    bloods: MonthBloods,
    figures: MonthFigures | None,
    standing: Facts,
    past: Mapping[str, NightSummary],
    access: str,
) -> Asked:
    body = body_held(standing)
    entries = {"urea_before_mmol_l": own.entries[0], "urea_after_mmol_l": own.entries[1]}
    if body is not None:
        entries |= {"height_cm": body[0].id, "age_years": body[0].id}
    return Asked(
        urea_before=own.urea_before.value,
        urea_after=own.urea_after.value,
        month=bloods,
        figures=figures,
        removal_l=_removal(past.get(own.treatment)),
        access=access,
        height_cm=None if body is None else read(body[1].height_cm),
        age_years=None if body is None else own.night.year - Decimal(body[1].born),
        water_by="" if body is None else body[1].water_by,
        entries=entries,
    )


def _removal(night: NightSummary | None) -> Decimal | None:
    """What left the body that night [L]: taken off less what went in, else by the scale; None where neither is known."""
    if night is None:
        return None
    off, came_in = read(night.fluid.removed), read(night.fluid.went_in)
    if off is not None and came_in is not None:
        return off - came_in
    before, after = (read(night.values.get(name, "")) for name in ("weight_before", "weight_after"))
    return None if before is None or after is None else before - after


def _changed(basis: Basis, bloods: MonthBloods) -> bool:
    """Whether nights go otherwise now than in the weeks of the bloods."""
    now = basis.present
    return (
        abs(now.nights.a_week - bloods.a_week) > OTHER_A_WEEK
        or abs(now.hours - bloods.minutes / 60) >= OTHER_HOURS
    )


def _sample(own: OwnMonth) -> tuple[Gap, ...]:
    """What the second sample leaves open. Source: kinetics section 0 (slowed flow, not from the return line)."""
    body = own.after.body
    if body.slowed == "not_slowed":
        return (Gap("adequacy.not_slowed"),)
    if body.slowed == "" and not body.minutes_after:
        return (Gap("adequacy.drawing_not_known"),)
    return ()
