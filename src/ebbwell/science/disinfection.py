"""Heat disinfection: what a hold, a ramp or a row of readings counts for, as A0 in seconds at 80 C.

A0 counts moist heat at the coldest point only. Temperatures are never averaged first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal, localcontext
from itertools import pairwise

from ebbwell.core.errors import DomainError
from ebbwell.core.numbers import plain
from ebbwell.science.formula import CONTEXT, formula, inside, span
from ebbwell.science.ranges import ZERO

A0_REFERENCE_C = Decimal(80)
"""Temperature at which a second counts as a second. Source: examples:E9.3, fluids:H2."""
A0_Z_C = Decimal(10)
"""Degrees that make a second count 10 times as much. Source: examples:E9.3, fluids:H2."""
A0_COUNTS_ABOVE_C = Decimal(65)
"""Readings at or under it get no credit. Source: examples:E9.1."""
A0_LONGEST_GAP_S = Decimal(60)
"""Between readings further apart than this nothing is credited. Source: design (fluids 6, traps)."""

HEAT = span("C", "0", "121")
TIME = span("s", "0", "86400")
SENSOR = span("C", "0", "10")


def _share(temperature_c: Decimal) -> Decimal:
    return Decimal(10) ** ((temperature_c - A0_REFERENCE_C) / A0_Z_C)


def _ramp(from_c: Decimal, to_c: Decimal, ramp_s: Decimal) -> Decimal:
    rise = to_c - from_c
    if abs(rise) < Decimal("1e-9"):
        return ramp_s * _share(from_c)
    return ramp_s * A0_Z_C / (Decimal(10).ln() * rise) * (_share(to_c) - _share(from_c))


@formula(
    unit="s",
    places=1,
    rounding="down",
    source="fluids:H2",
    text="seconds x 10 ^ ((temperature - 80) / 10)",
    temperature_c=HEAT,
    hold_s=TIME,
)
def a0_hold(*, temperature_c: Decimal, hold_s: Decimal) -> Decimal:
    """What a hold at one temperature counts for, as A0.  [s]

    temperature_c [C] 0 to 121, at the coldest point; hold_s [s] 0 to 86,400. Raises DomainError outside.
    Shown rounded down. Source: fluids:H2, examples:E9.3.
    """
    return hold_s * _share(temperature_c)


@formula(
    unit="s",
    places=1,
    rounding="down",
    source="arithmetic",
    text="seconds x 10 / (ln 10 x (to - from)) x (10 ^ ((to - 80) / 10) - 10 ^ ((from - 80) / 10))",
    from_c=HEAT,
    to_c=HEAT,
    ramp_s=TIME,
)
def a0_ramp(*, from_c: Decimal, to_c: Decimal, ramp_s: Decimal) -> Decimal:
    """What an even rise or fall counts for, as A0.  [s]

    from_c, to_c [C] 0 to 121, at the coldest point; ramp_s [s] 0 to 86,400. Raises DomainError outside.
    Shown rounded down. Source: arithmetic (fluids 1.11).
    """
    return _ramp(from_c, to_c, ramp_s)


@formula(
    unit="s",
    places=1,
    rounding="up",
    source="fluids:H2",
    text="A0 / 10 ^ ((temperature - 80) / 10)",
    a0_s=TIME,
    temperature_c=span("C", "66", "121"),
)
def hold_for_a0(*, a0_s: Decimal, temperature_c: Decimal) -> Decimal:
    """Seconds at one temperature that make up an A0.  [s]

    a0_s [s] 0 to 86,400, as your unit set it; temperature_c [C] 66 to 121. Raises DomainError outside. Shown
    rounded up. Source: fluids:H2.
    """
    return a0_s / _share(temperature_c)


@dataclass(frozen=True, slots=True)
class HeatReading:
    """A temperature at the coldest point. at_s [s] since the first reading; None: the reading is missing."""

    at_s: Decimal
    temperature_c: Decimal | None


@dataclass(frozen=True, slots=True)
class HeatCredit:
    """a0_s [s]: what is credited. without_s [s]: time between readings too far apart, which counts for nothing."""

    a0_s: Decimal
    without_s: Decimal


def a0_of_readings(readings: Sequence[HeatReading], *, sensor_high_c: Decimal = ZERO) -> HeatCredit:
    """A0 of a row of readings, each pair taken as an even ramp.  [s]

    readings: in order of time; temperature [C] 0 to 121. A missing one is passed over, so that it widens the
    gap. Readings more than 60 s apart give no credit for the time between, nor does a stretch with either end
    at or under 65 C. sensor_high_c [C] 0 to 10: how much too high the sensor may read; taken off first.
    Raises DomainError outside, and for readings that aren't in order.
    Source: fluids:H2, examples:E9.1; design (fluids 6, traps).
    """
    inside("sensor_high_c", sensor_high_c, SENSOR)
    known: list[tuple[Decimal, Decimal]] = []
    for reading in readings:
        inside("at_s", reading.at_s, TIME)
        heat = reading.temperature_c
        if heat is not None:
            inside("temperature_c", heat, HEAT)
            if known and reading.at_s <= known[-1][0]:
                raise DomainError(
                    "science.readings_out_of_order", earlier=plain(known[-1][0]), later=plain(reading.at_s)
                )
            known.append((reading.at_s, heat - sensor_high_c))
    credited = without = ZERO
    with localcontext(CONTEXT):
        for (start, first), (end, second) in pairwise(known):
            if end - start > A0_LONGEST_GAP_S:
                without += end - start
            elif min(first, second) > A0_COUNTS_ABOVE_C:
                credited += _ramp(first, second, end - start)
    return HeatCredit(credited, without)
