"""Invented homes that between them need every step of the procedure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ebbwell.core.clock import SetClock
from ebbwell.deeds.setup import open_night
from ebbwell.deeds.upkeep import disinfect
from ebbwell.house import House
from ebbwell.sim.household import BRAM, PRESCRIPTION, move_in


@dataclass(frozen=True)
class Home:
    """A way to run the night. lines: of the prescription; chemical: whether the machine was last cleaned with one."""

    lines: Mapping[str, str]
    chemical: bool = False

    def open_night(self, house: House, clock: SetClock) -> None:
        """Move in with these lines, clean the machine where this home uses a chemical, and open a night."""
        move_in(house, clock, self.lines)
        if self.chemical:
            now = clock.now().at
            house.do(disinfect, by=BRAM, what="machine", agent="hypochlorite", started_at=now, ended_at=now)
        house.do(open_night, by=BRAM)


USUAL_HOME = "fistula, heparin, powder"
"""Name of the home of most nights."""

_NO_HEPARIN = {key: line for key, line in PRESCRIPTION.items() if not key.startswith("heparin")}
_NO_NEEDLES = {key: line for key, line in PRESCRIPTION.items() if not key.startswith("needle")}

EVENING: Mapping[str, str] = {
    **{
        key: line
        for key, line in PRESCRIPTION.items()
        if not key.startswith(("heparin", "needle", "acid", "bicarbonate_", "bleeding"))
    },
    "treatment_minutes": "210",
    "removal_cap": "13",
    "dialysate_flow": "120",
    "anticoagulant": "none",
    "access": "catheter",
    "fluid_from": "bags",
    "bag_code": "F-2K",
    "bag_size": "5.0",
}
"""An order for evenings with fluid in bags: 210 min at 120 mL/min take 25.2 L."""

HOMES: Mapping[str, Home] = {
    USUAL_HOME: Home(PRESCRIPTION),
    "fistula, no heparin, liquid, a chemical used": Home(
        {
            **{key: line for key, line in _NO_HEPARIN.items() if key != "bicarbonate_mixed"},
            "anticoagulant": "none",
            "needle_method": "ladder",
            "bicarbonate_form": "liquid",
            "connection": "prime_given",
            "prime_given": "0.2",
        },
        chemical=True,
    ),
    "catheter, heparin": Home({**_NO_NEEDLES, "access": "catheter"}),
    "catheter, low molecular heparin": Home(
        {
            **{key: line for key, line in _NO_NEEDLES.items() if not key.startswith("heparin")},
            "access": "catheter",
            "anticoagulant": "low_molecular",
            "low_molecular_dose": "as on the paper",
        }
    ),
}
"""Each by its name."""

EVENING_HOMES: Mapping[str, Home] = {
    "catheter, bags": Home(EVENING),
    "catheter, bags, prime given": Home({**EVENING, "connection": "prime_given", "prime_given": "0.2"}),
}
"""Homes that need every step of the evening with bags of fluid."""
