"""What sums about past and coming weeks rest on: this person's own numbers, the dialyser's, and how nights go now."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import NamedTuple

from ebbwell.science.fit import KNOWN, Fit, Known, MonthBloods

DAY_MIN = 1440.0
"""Minutes in a day. Source: arithmetic."""
WEEK_DAYS = 7
"""Days in a week. Source: arithmetic."""


class Nights(NamedTuple):
    """Days of a cycle on which a treatment begins, from 0, ascending. cycle_days: 2, 7 or 14; Monday is 0 in a week."""

    days: tuple[int, ...]
    cycle_days: int

    @property
    def a_week(self) -> float:
        """Treatments in seven days."""
        return WEEK_DAYS * len(self.days) / self.cycle_days

    def gaps_days(self) -> tuple[int, ...]:
        """Days since the treatment before, of each one."""
        return tuple(
            (day - self.days[number - 1] - 1) % self.cycle_days + 1 for number, day in enumerate(self.days)
        )

    def place_of(self, night: date) -> int | None:
        """Which treatment of the cycle a night is, from 0, where the day tells; None where it doesn't."""
        if len(self.days) == 1:
            return 0
        known = self.cycle_days == WEEK_DAYS and night.weekday() in self.days
        return self.days.index(night.weekday()) if known else None

    def starts_min(self) -> tuple[float, ...]:
        """Starts from the first treatment on [min], the first at 0, as ``schedule.settled`` wants them."""
        return tuple((day - self.days[0]) * DAY_MIN for day in self.days)


@dataclass(frozen=True, slots=True)
class Pattern:
    """Treatments of a cycle that repeats itself.

    name: as the carer calls it. days: numbers from 0, ascending, at least one. cycle_days: 2 for every other night, 7,
    14. hours [h] of each; blood_flow, fluid_flow [mL/min] as set. start_min: first blood, minutes after midnight.
    """

    name: str
    days: tuple[int, ...]
    cycle_days: int
    hours: float
    blood_flow_ml_min: float
    fluid_flow_ml_min: float
    start_min: float = 22 * 60.0

    @property
    def cycle_min(self) -> float:
        """How long a cycle is [min]."""
        return self.cycle_days * DAY_MIN

    @property
    def nights(self) -> Nights:
        """Its days alone."""
        return Nights(self.days, self.cycle_days)


@dataclass(frozen=True, slots=True)
class Basis:
    """Everything that comparisons, projections and doses are worked out from.

    months: pairs of urea with their nights, oldest first; fit: what they say; known: what was put into it. weight_kg:
    after treatment. gain_l_day [L/day] between treatments. koa_ml_min: substance to mass transfer of the dialyser
    [mL/min], as its leaflet has it; a substance that the leaflet leaves out isn't there. before: substance to the newest
    level before a treatment, in mmol/L (beta-2-microglobulin mg/L). bath: substance to what the dialysis fluid holds
    [mmol/L]. residual_l_min [L/min]: own kidneys' urea clearance. height_cm [cm], age [years], water_by (``woman``,
    ``man``, ""): for the usual formulas, None for not known. other_nights: substances whose newest
    level was drawn when nights went otherwise, so that nothing is scaled from it. drawn_before:
    substance to which treatment of the present cycle its level was drawn before, from 0; one that isn't there counts as
    drawn before any.
    """

    months: tuple[MonthBloods, ...]
    fit: Fit
    present: Pattern
    weight_kg: float
    gain_l_day: float
    koa_ml_min: Mapping[str, float]
    before: Mapping[str, float]
    bath: Mapping[str, float]
    residual_l_min: float = 0.0
    known: Known = KNOWN
    height_cm: float | None = None
    age: float | None = None
    water_by: str = ""
    other_nights: frozenset[str] = frozenset()
    drawn_before: Mapping[str, int] = field(default_factory=dict)
