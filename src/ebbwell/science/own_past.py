"""Tonight beside one's own nights: like with like only, and nothing where there are too few."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from statistics import median

from ebbwell.science.formula import inside, span
from ebbwell.science.ranges import BLOOD_FLOW

LIKE_FLOW_ML_MIN = Decimal(10)
"""Pump settings this close count as equal. Source: common practice (fluids 5.1)."""
NIGHTS_BACK = 8
"""Nights that make one's own level, the last ones. Source: common practice (fluids 5.1)."""
LEAST_NIGHTS = 3
"""Fewer make no level. Source: design."""

PRESSURE = span("mmHg", "-500", "800")
COEFFICIENT = span("mL/h/mmHg", "0", "10000")


@dataclass(frozen=True, slots=True)
class PressureAtFlow:
    """A line pressure [mmHg] read at a pump setting [mL/min]; arterial is negative."""

    pressure_mmhg: Decimal
    blood_flow_ml_min: Decimal


@dataclass(frozen=True, slots=True)
class MembraneReading:
    """A coefficient [mL/h/mmHg] and the points its pressure came from: 2, 3 or 4, 0 where nobody knows."""

    coefficient_ml_h_mmhg: Decimal
    points: int


@dataclass(frozen=True, slots=True)
class OwnLevel:
    """The median of one's own like nights, in the unit of what was read, and how many they are."""

    value: Decimal
    nights: int


def own_pressure(past: Sequence[PressureAtFlow], *, blood_flow_ml_min: Decimal) -> OwnLevel | None:
    """One's own pressure at this pump setting, within 10 mL/min: median of the last 8 such nights.  [mmHg]

    past: one reading a night, oldest first; pressure [mmHg] -500 to 800; flow [mL/min] 0 to 600. None for fewer
    than 3. Raises DomainError outside. Source: fluids:P5, common practice (fluids 5.1).
    """
    inside("blood_flow_ml_min", blood_flow_ml_min, BLOOD_FLOW)
    for one in past:
        inside("pressure_mmhg", one.pressure_mmhg, PRESSURE)
        inside("blood_flow_ml_min", one.blood_flow_ml_min, BLOOD_FLOW)
    like = [p for p in past if abs(p.blood_flow_ml_min - blood_flow_ml_min) <= LIKE_FLOW_ML_MIN]
    return _level([one.pressure_mmhg for one in like])


def own_coefficient(past: Sequence[MembraneReading], *, points: int) -> OwnLevel | None:
    """One's own coefficient from this many points: median of the last 8 such nights.  [mL/h/mmHg]

    past: one a night, oldest first, of the same dialyser; 0 to 10,000 [mL/h/mmHg]. Nights with another number of
    points are left out: pressures by different forms are never compared; 0 points are those of a form not known. None
    for fewer than 3. Raises DomainError outside. Source: fluids:P8, fluids 5.3.
    """
    if points:
        inside("points", Decimal(points), span("", "2", "4"))
    for one in past:
        inside("coefficient_ml_h_mmhg", one.coefficient_ml_h_mmhg, COEFFICIENT)
    return _level([one.coefficient_ml_h_mmhg for one in past if one.points == points])


def _level(values: Sequence[Decimal]) -> OwnLevel | None:
    last = values[-NIGHTS_BACK:]
    return OwnLevel(median(last), len(last)) if len(last) >= LEAST_NIGHTS else None
