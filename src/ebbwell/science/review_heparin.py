"""Heparin left over time, for looking back only: one compartment, so that doses and infusions add up.

Never for the bedside: the same doses leave 7 times as much in one person as in another, and no figure here says
when a needle may come out. The import contract "the heparin curve stays in review" keeps bedside rooms out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal, localcontext

from ebbwell.core.errors import DomainError
from ebbwell.science.formula import CONTEXT, formula, inside, span
from ebbwell.science.heparin import RUN_TIME, UNITS, UNITS_RATE
from ebbwell.science.ranges import ZERO

HALF_LIFE_SHORT_MIN = Decimal(40)
HALF_LIFE_LONG_MIN = Decimal(120)
"""Ends of the half-lives quoted. Source: fluids:A5."""
HALF_LIFE_STUDIED_MIN = Decimal(54)
"""Half-life found in dialysis with one compartment. Source: fluids:A2."""

HALF_LIFE = span("h", "0.1", "10")
ELAPSED = span("h", "0", "72")


def _rate_constant(half_life_h: Decimal) -> Decimal:
    return Decimal(2).ln() / half_life_h


def _of_dose(dose: Decimal, elapsed_h: Decimal, half_life_h: Decimal) -> Decimal:
    return dose * (-_rate_constant(half_life_h) * elapsed_h).exp()


def _of_infusion(rate: Decimal, run_h: Decimal, elapsed_h: Decimal, half_life_h: Decimal) -> Decimal:
    k = _rate_constant(half_life_h)
    running = min(run_h, elapsed_h)
    return rate / k * (1 - (-k * running).exp()) * (-k * (elapsed_h - running)).exp()


@formula(
    unit="units",
    places=0,
    review_only=True,
    source="fluids:A2",
    text="first dose x e ^ (-k t) + rate / k x (1 - e ^ (-k run)) x e ^ (-k (t - run)), k = ln 2 / half-life",
    first_dose_units=UNITS,
    rate_units_h=UNITS_RATE,
    run_time_h=RUN_TIME,
    elapsed_h=ELAPSED,
    half_life_h=HALF_LIFE,
)
def review_heparin_left(
    *,
    first_dose_units: Decimal,
    rate_units_h: Decimal,
    run_time_h: Decimal,
    elapsed_h: Decimal,
    half_life_h: Decimal,
) -> Decimal:
    """Heparin left at a time by one half-life; only for looking back, and never without its band.  [units]

    first_dose_units [units] 0 to 50,000; rate_units_h [units/h] 0 to 5,000; run_time_h [h] 0 to 14; elapsed_h [h]
    0 to 72 since both began; half_life_h [h] 0.1 to 10. Raises DomainError outside. Source: fluids:A2, fluids 3.2.
    """
    return _of_dose(first_dose_units, elapsed_h, half_life_h) + _of_infusion(
        rate_units_h, run_time_h, elapsed_h, half_life_h
    )


@formula(
    unit="units",
    places=0,
    review_only=True,
    source="arithmetic",
    text="rate x half-life / ln 2",
    rate_units_h=UNITS_RATE,
    half_life_h=HALF_LIFE,
)
def review_heparin_plateau(*, rate_units_h: Decimal, half_life_h: Decimal) -> Decimal:
    """Level that a steady infusion tends to; only for looking back, never a first dose.  [units]

    rate_units_h [units/h] 0 to 5,000; half_life_h [h] 0.1 to 10. Raises DomainError outside.
    Source: arithmetic (fluids 3.2).
    """
    return rate_units_h / _rate_constant(half_life_h)


@dataclass(frozen=True, slots=True)
class Given:
    """Heparin given from from_h [h] on: units at once where until_h is the same, else evenly until then."""

    units: Decimal
    from_h: Decimal
    until_h: Decimal


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """at_h [h] and what is left, as a share of the highest level by the studied half-life.  [%]

    least, most: by the shortest and longest half-life quoted. studied: by the one found in dialysis.
    """

    at_h: Decimal
    least: Decimal
    studied: Decimal
    most: Decimal


def relative_effect(given: Sequence[Given], hours: Sequence[Decimal]) -> tuple[CurvePoint, ...]:
    """The band of what was left of all that was given, at each hour, in % of the highest studied level.

    given: [units] 0 to 50,000 each, from and until [h] 0 to 72. hours: [h] 0 to 72. Raises DomainError outside,
    for an end before its start, and where nothing was given. For looking back only.
    Source: fluids:A2, fluids:A5, fluids 3.2.
    """
    for one in given:
        inside("units", one.units, UNITS)
        inside("from_h", one.from_h, ELAPSED)
        inside("until_h", one.until_h, ELAPSED)
        if one.until_h < one.from_h:
            raise DomainError("science.end_before_start", start=str(one.from_h), end=str(one.until_h))
    for hour in hours:
        inside("hours", hour, ELAPSED)
    with localcontext(CONTEXT):
        short, studied, long = (
            minutes / 60 for minutes in (HALF_LIFE_SHORT_MIN, HALF_LIFE_STUDIED_MIN, HALF_LIFE_LONG_MIN)
        )
        turns = {one.from_h for one in given} | {one.until_h for one in given}
        highest = max((_left(given, turn, studied) for turn in turns), default=ZERO)
        if highest == 0:
            raise DomainError("science.no_heparin_given")
        return tuple(
            CurvePoint(hour, *(100 * _left(given, hour, life) / highest for life in (short, studied, long)))
            for hour in hours
        )


def _left(given: Sequence[Given], at_h: Decimal, half_life_h: Decimal) -> Decimal:
    total = ZERO
    for one in given:
        since, run = at_h - one.from_h, one.until_h - one.from_h
        if since >= 0 and run == 0:
            total += _of_dose(one.units, since, half_life_h)
        elif since > 0:
            total += _of_infusion(one.units / run, run, since, half_life_h)
    return total
