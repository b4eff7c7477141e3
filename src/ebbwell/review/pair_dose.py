"""What one pair of bloods says of its treatment: how far urea fell, the dose of the session, evened out, of the week.

Each by its published sum, where that was made for such a schedule; where it wasn't, why not. No figure here is held
against a line: that is the clinic's. Untested on any one person.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import sqrt
from typing import NamedTuple

from ebbwell.core.errors import DomainError
from ebbwell.review.estimate import Estimate
from ebbwell.review.pairs import Pair, decimal_of
from ebbwell.science.adequacy import (
    GENERATION_DAYS,
    GENERATION_THRICE,
    equilibrated_dose_catheter,
    equilibrated_dose_fistula,
    equilibrated_dose_time,
    single_pool_dose,
    single_pool_dose_any,
    single_pool_dose_error,
    urea_reduction,
)
from ebbwell.science.fit import KNOWN, NINE_IN_TEN, Known
from ebbwell.science.weekly_dose import Measure, measures_for, standard_dose

GENERATION_DOUBT = Decimal("0.2")
"""Share by which what is made in an hour may be off its rule: the cycles worked through in kinetics A1 lie so far from
it, save sessions of 2.5 h on six days, which lie further. Source: kinetics:A1."""
DAY_H = 24


@dataclass(frozen=True, slots=True)
class Unfit:
    """A measure that isn't for this schedule. name: of a public formula. why: wording key."""

    name: str
    why: str


@dataclass(frozen=True, slots=True)
class PairDose:
    """pair; figures: what can be said of it, or why not. fits: measures that may be quoted for this schedule.

    unfit: the others, with why. a_week: treatments in seven days. hours [h] of this one.
    """

    pair: Pair
    a_week: float
    hours: float
    figures: tuple[Estimate, ...]
    fits: tuple[str, ...]
    unfit: tuple[Unfit, ...]

    def figure(self, name: str) -> Estimate:
        """One of the figures. Raises KeyError for a name that isn't there."""
        for one in self.figures:
            if one.name == name:
                return one
        raise KeyError(name)


class _Session(NamedTuple):
    value: Decimal
    error: Decimal
    source: str
    model: str


MEASURES = (
    "urea_reduction",
    "single_pool_dose",
    "single_pool_dose_any",
    "equilibrated_dose_fistula",
    "equilibrated_dose_catheter",
    "equilibrated_dose_time",
    "standard_dose",
)
"""Measures told of a pair; those that need more than a pair holds are with ``fit``."""


def dose_of(pair: Pair, known: Known = KNOWN) -> PairDose:
    """Urea reduction, dose of the session with its band, evened out, and the weekly dose if all were like this one.

    known: its ``lab_doubt`` makes the bands. Never raises for a pair that the file reader takes: a figure that can't be
    worked out says why. Source: kinetics:A1, kinetics:A2.
    """
    hours = decimal_of(pair.minutes) / 60
    measures, why = _measures(pair.nights.a_week, hours)
    figures = [_worked("urea_reduction", "%", "reduction", "kinetics:A1", 0, lambda: _reduction(pair, known))]
    session: _Session | None = None
    try:
        session = _session(pair, hours, known, measures)
    except DomainError as no:
        for name, unit in (("single_pool", ""), ("equilibrated", ""), ("standard", "/week")):
            figures.append(Estimate(name, unit, name, "kinetics:A1", why=no.key, why_params=_texts(no)))
    if session is not None:
        figures += _doses(pair, hours, session, why)
    fits = tuple(one.name for one in measures if not one.why_not and one.name in MEASURES)
    unfit = tuple(Unfit(one.name, one.why_not) for one in measures if one.why_not and one.name in MEASURES)
    return PairDose(pair, pair.nights.a_week, float(hours), tuple(figures), fits, unfit)


def _measures(a_week: float, hours: Decimal) -> tuple[Sequence[Measure], DomainError | None]:
    """Which measures fit. 3.5 a week counts as neither 3 nor 2, the same as 4 there."""
    count = int(a_week) if a_week == int(a_week) else int(a_week) + 1
    try:
        return measures_for(count, hours), None
    except DomainError as why:
        return (), why


def _texts(why: DomainError) -> dict[str, str]:
    return {name: str(value) for name, value in why.params.items()}


def _worked(
    name: str,
    unit: str,
    model: str,
    source: str,
    places: int,
    of: Callable[[], tuple[float, float]],
    rests_on: tuple[str, ...] = (),
) -> Estimate:
    """A figure with a band to both sides, or why there is none."""
    try:
        value, error = of()
    except DomainError as why:
        return Estimate(name, unit, model, source, why=why.key, why_params=_texts(why))
    low = max(0.0, value - error)
    return Estimate(name, unit, model, source, value, low, value + error, places, rests_on)


def _reduction(pair: Pair, known: Known) -> tuple[float, float]:
    fell = urea_reduction(
        urea_before_mmol_l=decimal_of(pair.urea_before), urea_after_mmol_l=decimal_of(pair.urea_after)
    )
    return float(fell), 100 * _ratio_error(pair, known)


def _ratio_error(pair: Pair, known: Known) -> float:
    """How far the ratio may be off with two laboratory figures, nine in ten."""
    return NINE_IN_TEN * known.lab_doubt * sqrt(2) * pair.urea_after / pair.urea_before


def _session(pair: Pair, hours: Decimal, known: Known, measures: Sequence[Measure]) -> _Session:
    before, after = decimal_of(pair.urea_before), decimal_of(pair.urea_after)
    fluid, weight = decimal_of(pair.fluid_l), decimal_of(pair.weight_kg)
    days = pair.since_last_days
    thrice = any(one.name == "single_pool_dose" and not one.why_not for one in measures)
    if thrice:
        value = single_pool_dose(
            urea_before_mmol_l=before,
            urea_after_mmol_l=after,
            hours_h=hours,
            removal_l=fluid,
            weight_kg=weight,
        )
    else:
        value = single_pool_dose_any(
            urea_before_mmol_l=before,
            urea_after_mmol_l=after,
            hours_h=hours,
            removal_l=fluid,
            weight_kg=weight,
            since_last_days=Decimal(days),
        )
    made = GENERATION_THRICE if thrice else GENERATION_DAYS / days
    error = single_pool_dose_error(
        urea_before_mmol_l=before,
        urea_after_mmol_l=after,
        hours_h=hours,
        generation_per_h=made,
        ratio_error_factor=decimal_of(_ratio_error(pair, known)),
        generation_error_per_h=made * GENERATION_DOUBT,
    )
    if thrice:
        return _Session(value, error, "kinetics:A1", "single_pool")
    return _Session(value, error, "from memory", "single_pool_any")


def _doses(pair: Pair, hours: Decimal, session: _Session, why: DomainError | None) -> list[Estimate]:
    fluid = ("rests.fluid",) if pair.removed_l is None else ()
    found = [
        _worked(
            "single_pool",
            "",
            session.model,
            session.source,
            2,
            lambda: (float(session.value), float(session.error)),
            fluid,
        )
    ]
    even, model, source = _evened(pair, hours)

    def evened() -> tuple[float, float]:
        value = even(dose_factor=session.value, hours_h=hours)
        return float(value), float(session.error * value / session.value)

    found.append(_worked("equilibrated", "", model, source, 2, evened, fluid))

    def weekly(dose: Decimal) -> float:
        value = standard_dose(
            dose_factor=dose,
            equilibrated_factor=min(dose, even(dose_factor=dose, hours_h=hours)),
            sessions_per_week=decimal_of(pair.nights.a_week),
            minutes_min=decimal_of(pair.minutes),
        )
        return float(value)

    if why is not None:
        found.append(
            Estimate("standard", "/week", "standard", "kinetics:A2", why=why.key, why_params=_texts(why))
        )
        return found
    try:
        value = weekly(session.value)
        low = weekly(max(session.value - session.error, Decimal("0.05")))
        high = weekly(min(session.value + session.error, Decimal(5)))
    except DomainError as no:
        found.append(
            Estimate("standard", "/week", "standard", "kinetics:A2", why=no.key, why_params=_texts(no))
        )
        return found
    rests = (*fluid, "rests.all_alike") if len(set(pair.nights.gaps_days())) > 1 else fluid
    found.append(Estimate("standard", "/week", "standard", "kinetics:A2", value, low, high, 2, rests))
    return found


def _evened(pair: Pair, hours: Decimal) -> tuple[Callable[..., Decimal], str, str]:
    """The sum for the evened out dose that was made for this access and length."""
    if 2 <= hours <= 6 and pair.access == "catheter":
        return equilibrated_dose_catheter, "equilibrated_catheter", "kinetics:A1"
    if 2 <= hours <= 6 and pair.access:
        return equilibrated_dose_fistula, "equilibrated_fistula", "kinetics:A1"
    return equilibrated_dose_time, "equilibrated_time", "from memory"
