"""The second invented household: evenings awake, fluid in bags, a catheter, pounds. Nobody here exists."""

from __future__ import annotations

from datetime import timedelta
from typing import Final

from ebbwell.core.clock import SetClock
from ebbwell.deeds.orders import check_order, transcribe
from ebbwell.deeds.people import enter_person, found_household
from ebbwell.deeds.steps import choose_steps
from ebbwell.deeds.units import choose_units
from ebbwell.house import House
from ebbwell.sim.household import USUAL, on_paper

NAME: Final = "Lantern Yard"
ZONE: Final = "America/Santiago"
PERSON: Final = "orrin"
CARER: Final = "maren"
UNIT: Final = "Fallowbank Kidney Unit, the home team"
STEPS: Final = "evening_bags"

PRESCRIPTION: Final = {
    "treatment_minutes": "210",
    "pattern": "five evenings a week",
    "target_weight": "70.0 kg",
    "blood_flow": "300",
    "dialysate_flow": "120",
    "dialyser": "D-15",
    "removal_cap": "10",
    "sodium": "140",
    "potassium": "2.0",
    "bicarbonate": "35",
    "calcium": "1.50",
    "fluid_temperature": "36.5 C",
    "anticoagulant": "none",
    "access": "catheter",
    "connection": "prime_to_drain",
    "rinse_back": "0.3",
    "fluid_from": "bags",
    "bag_code": "F-2K",
    "bag_size": "5.0",
    "reading_schedule": "start, 15 min, every hour, before coming off",
    "venous_limit": "220",
    "arterial_limit": "-200",
}
"""The order of the invented clinic: 210 min at 120 mL/min take 25.2 L, six bags of 5 L."""

VALUES: Final = {
    **USUAL,
    "weight_before": "157.0 lb",
    "weight_after": "154.3 lb",
    "body_temperature": "97.9 F",
    "fluid_temperature": "97.7 F",
    "prime_volume": "300",
    "treatment_minutes": "210",
    "fluid_removed": "1.7",
}
"""What a usual evening reads in this home, as typed."""


def move_in(house: House, clock: SetClock, *, units: bool = True) -> None:
    """Enter the household, its people, the steps it was taught, its units, and the order with its second check."""
    house.do(found_household, by=CARER, name=NAME, zone=ZONE, invented=True)
    house.do(enter_person, by=CARER, person=PERSON, name="Orrin Pell", roles=("dialysis",))
    house.do(enter_person, by=CARER, person=CARER, name="Maren Pell", roles=("carer",))
    if units:
        house.do(choose_units, by=CARER, weight="lb", temperature="F", glucose="mg/dL")
    house.do(choose_steps, by=CARER, name=STEPS)
    day = clock.now().at.date().isoformat()
    done = house.do(transcribe, by=CARER, number="1", giver=UNIT, valid_from=day, lines=PRESCRIPTION)
    clock.pass_time(timedelta(seconds=30))
    house.do(check_order, by=CARER, of=done.entries[0], values=on_paper(PRESCRIPTION), how="reread")
