"""What came back from the invented laboratory, what the invented clinic wants, one collection of urine, and the leaflet.

Urea and creatinine were worked out once, by following the story's nights with the two pools of ``science.schedule``, and
stand here as constants with a few percent of noise put in by hand. Urea: 32 L of water, 172 mL/min of it cleared,
0.170 mmol/min made, 0.8 mL/min by the own kidneys; creatinine: 135 mL/min, 6.5 umol/min, 1.2 mL/min, a slower second
pool. Everything else is invented.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, datetime, timedelta
from functools import partial
from typing import Final

from ebbwell.deeds.bloods import (
    enter_bloods,
    enter_urine,
    set_body_figures,
    set_dialyser_figures,
    set_target,
)
from ebbwell.sim.household import PRESCRIPTION, UNIT
from ebbwell.sim.story.calendar import instant
from ebbwell.sim.story.teller import Teller
from ebbwell.sim.story.usual import Night

LABORATORY: Final = "Northmere laboratory"
COMES_AFTER: Final = timedelta(days=2)
"""Days from a night to its results."""
TOLD: Final = instant(date(2026, 1, 5), 11)
URINE_TOLD: Final = instant(date(2026, 1, 8), 11)

UNITS: Final = {
    "urea": ("mmol/L", "2.5", "7.8"),
    "creatinine": ("umol/L", "45", "84"),
    "potassium": ("mmol/L", "3.5", "5.3"),
    "phosphate": ("mmol/L", "0.80", "1.50"),
    "bicarbonate": ("mmol/L", "22", "29"),
    "calcium": ("mmol/L", "2.20", "2.60"),
    "albumin": ("g/L", "35", "50"),
    "haemoglobin": ("g/L", "115", "165"),
    "ferritin": ("ug/L", "15", "300"),
    "beta_2_microglobulin": ("mg/L", "0.8", "2.4"),
}
"""Substance to the laboratory's unit, and the range that it prints."""

MONTHLY: Final = (
    "urea",
    "creatinine",
    "potassium",
    "phosphate",
    "bicarbonate",
    "calcium",
    "albumin",
    "haemoglobin",
)
BEFORE: Final[Mapping[date, tuple[str, ...]]] = {
    date(2026, 1, 5): ("19.6", "815", "5.1", "1.90", "22", "2.31", "37", "108"),
    date(2026, 2, 2): ("13.5", "622", "4.9", "1.92", "23", "2.33", "37", "110"),
    date(2026, 3, 2): ("13.9", "598", "4.8", "1.81", "24", "2.30", "38", "109"),
    date(2026, 3, 30): ("13.4", "611", "4.7", "1.70", "24", "2.34", "38", "111"),
    date(2026, 4, 27): ("13.7", "604", "4.8", "1.61", "24", "2.32", "38", "110"),
}
"""Night to what was found before it, in the order of ``MONTHLY``. Source of phosphate and haemoglobin: scenario."""

NOW_AND_THEN: Final[Mapping[date, Mapping[str, str]]] = {
    date(2026, 1, 5): {"ferritin": "310", "beta_2_microglobulin": "27.4"},
    date(2026, 3, 30): {"ferritin": "285", "beta_2_microglobulin": "24.1"},
}
"""What is looked for less often."""

AFTER: Final[Mapping[date, tuple[str, str]]] = {
    date(2026, 1, 5): ("3.2", "198"),
    date(2026, 2, 2): ("2.4", "151"),
    date(2026, 3, 2): ("2.3", "146"),
    date(2026, 3, 30): ("2.4", "150"),
    date(2026, 4, 27): ("2.4", "148"),
}
"""Night to urea and creatinine at its end."""

TARGETS: Final = {
    "potassium": ("mmol/L", "4.0", "6.0"),
    "phosphate": ("mmol/L", "1.1", "1.8"),
    "bicarbonate": ("mmol/L", "18", "26"),
    "calcium": ("mmol/L", "2.2", "2.5"),
    "haemoglobin": ("g/L", "100", "115"),
}
"""What the invented clinic wants before a night."""

LEAFLET: Final = {
    "dialyser": PRESCRIPTION["dialyser"],
    "blood_flow": "300",
    "fluid_flow": "500",
    "removal": "0",
    "clearance.urea": "259",
    "clearance.creatinine": "243",
    "clearance.phosphate": "229",
    "clearance.beta_2_microglobulin": "82",
    "stands_in": "leaflet in the box, page 2 (invented)",
}
"""Of the invented dialyser: a mass transfer of 950 mL/min for urea, 750 for creatinine, 620 for phosphate."""

URINE: Final = {
    "ended_on": "2026-01-05",
    "hours": "24",
    "taken": "last_day",
    "volume_ml": "250",
    "value.urea": "81",
    "unit.urea": "mmol/L",
    "value.creatinine": "5.1",
    "unit.creatinine": "mmol/L",
}
"""Volume: scenario. What is in it follows from the clearances above and 0.9 of the levels before that night."""

BODY: Final = {"height_cm": "168", "born": "1964", "water_by": "woman"}
"""Height: scenario; 61 years old in April 2026."""


def _lines(found: Mapping[str, str]) -> dict[str, str]:
    typed: dict[str, str] = {}
    for name, value in found.items():
        unit, low, high = UNITS[name]
        typed |= {f"value.{name}": value, f"unit.{name}": unit, f"low.{name}": low, f"high.{name}": high}
    return typed


def results(teller: Teller, night: date) -> None:
    """The two results of a sample night: before it, and at its end the morning after."""
    head = {
        "night": teller.nights[night.isoformat()],
        "laboratory": LABORATORY,
        "reported_on": (night + COMES_AFTER).isoformat(),
    }
    before = dict(zip(MONTHLY, BEFORE[night], strict=True)) | dict(NOW_AND_THEN.get(night, {}))
    typed = {**head, "sampled_on": night.isoformat(), "drawn": "before", **_lines(before)}
    teller.do(enter_bloods, typed=typed)
    morning = (night + timedelta(days=1)).isoformat()
    drawn = {"sampled_on": morning, "drawn": "after", "minutes_after": "0", "slowed": "slowed"}
    after = dict(zip(("urea", "creatinine"), AFTER[night], strict=True))
    teller.do(enter_bloods, typed={**head, **drawn, **_lines(after)})


def what_is_known(teller: Teller) -> None:
    """The clinic's targets, the leaflet and the body."""
    for name, (unit, low, high) in TARGETS.items():
        typed = {"substance": name, "unit": unit, "low": low, "high": high, "giver": UNIT}
        teller.do(set_target, typed={**typed, "given_on": "2025-12-29"})
    teller.do(set_dialyser_figures, typed=LEAFLET)
    teller.do(set_body_figures, typed=BODY)


def urine(teller: Teller) -> None:
    """The collection of urine."""
    teller.do(enter_urine, typed=URINE)


NIGHTS: Final[Mapping[date, Callable[[Teller, Night], None]]] = {}
DAYS: Final[Mapping[datetime, Callable[[Teller], None]]] = {
    TOLD: what_is_known,
    URINE_TOLD: urine,
    **{instant(night + COMES_AFTER, 12, 10): partial(results, night=night) for night in BEFORE},
}
