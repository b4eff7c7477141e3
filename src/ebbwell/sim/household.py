"""The invented household: who they are, what their clinic ordered, what a usual evening reads. Nobody here exists."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from typing import Final

from ebbwell.core.clock import SetClock
from ebbwell.deeds.orders import check_order, transcribe
from ebbwell.deeds.people import enter_person, found_household, sign_off
from ebbwell.deeds.upkeep import disinfect
from ebbwell.house import House
from ebbwell.rulebook.load import load_rulebook

NAME: Final = "Saltmarsh Row"
ZONE: Final = "Europe/Dublin"
ILKA: Final = "ilka"
BRAM: Final = "bram"
TOVE: Final = "tove"
UNIT: Final = "Northmere Kidney Unit, the home team"

PRESCRIPTION: Final = {
    "treatment_minutes": "450",
    "pattern": "every other night",
    "target_weight": "64.5",
    "blood_flow": "230",
    "dialysate_flow": "300",
    "dialyser": "D-18",
    "removal_cap": "7",
    "sodium": "137",
    "potassium": "2.0",
    "bicarbonate": "32",
    "calcium": "1.50",
    "fluid_temperature": "36.5",
    "anticoagulant": "heparin",
    "heparin_strength": "1000",
    "heparin_first_dose": "1500",
    "heparin_rate": "900",
    "heparin_stop_before_end": "60",
    "heparin_dead_space": "1.0",
    "access": "fistula",
    "needle_gauge": "15",
    "needle_method": "buttonhole",
    "connection": "prime_to_drain",
    "rinse_back": "0.3",
    "fluid_from": "made",
    "acid_code": "A-2K",
    "acid_parts": "1 + 34",
    "bicarbonate_form": "dry",
    "bicarbonate_code": "B-650",
    "bicarbonate_mixed": "35",
    "reading_schedule": "start, 15 min, 1 h, on waking, before coming off",
    "venous_limit": "200",
    "arterial_limit": "-180",
    "bleeding_call_minutes": "20",
    "removal_way": "even",
    "spread_nights": "2",
    "spread_rule": "Over the cap: call the home team. They spread it over two nights.",
}
"""Prescription 3, as the paper of the invented clinic has it."""

OTHER_TESTS: Final = {
    "strip": {"typed": "0.1", "method": "strip"},
    "no colour, coloured": {"typed": "<0.02", "control": "coloured"},
    "no colour, blank": {"typed": "<0.02", "control": "blank"},
    "no colour, not_done": {"typed": "<0.02", "control": "not_done"},
}
"""Chlorine tests that go otherwise than on a usual night: a strip at the limit, and tests without colour."""

USUAL: Final = {
    "total_chlorine@tank1": "0.03",
    "total_chlorine@tank2": "0.02",
    "feed_conductivity": "620",
    "product_conductivity": "12",
    "residual_disinfectant": "negative",
    "acid_left": "5.0",
    "bag_fluid": "30",
    "bicarbonate_powder": "650",
    "bicarbonate_liquid": "10",
    "heparin_strength": "1000",
    "prime_volume": "800",
    "fluid_conductivity@machine": "13.8",
    "fluid_conductivity@meter": "13.9",
    "fluid_temperature": "36.5",
    "fluid_ph": "7.2",
    "weight_before": "66.3",
    "systolic": "138",
    "diastolic": "76",
    "pulse": "72",
    "body_temperature": "36.6",
    "needle_tries@arterial": "1",
    "needle_tries@venous": "1",
    "weight_after": "64.5",
    "bleeding_minutes@arterial": "8",
    "bleeding_minutes@venous": "9",
    "saline_left": "600",
}
"""What a usual evening and morning read, as typed."""

LOTS: Final = {
    "chlorine_test": ("CT-1", "CT7712"),
    "residual_strip": ("RS-1", "RS0901"),
    "acid": ("A-2K", "A5521"),
    "bicarbonate": ("B-650", "B8830"),
    "dialyser": ("D-18", "D4410"),
    "tubing": ("T-H2", "T6605"),
    "saline": ("S-09", "S1108"),
    "heparin": ("H-1000", "H3102"),
    "needles": ("N-15", "N2290"),
}
"""Item to code and lot of the packs in the invented cupboard."""

READING: Final = {
    "systolic": "130",
    "diastolic": "72",
    "pulse": "70",
    "blood_flow": "230",
    "dialysate_flow": "300",
    "arterial_pressure": "-90",
    "venous_pressure": "120",
    "fluid_conductivity": "13.8",
}
"""A usual row of the night."""


def move_in(house: House, clock: SetClock, lines: Mapping[str, str] = PRESCRIPTION) -> None:
    """Enter the household, its people, the prescription with its second check, and a heat disinfection on record."""
    house.do(found_household, by=BRAM, name=NAME, zone=ZONE, invented=True)
    house.do(enter_person, by=BRAM, person=ILKA, name="Ilka Venn", roles=("dialysis",))
    house.do(enter_person, by=BRAM, person=BRAM, name="Bram Venn", roles=("carer",))
    house.do(enter_person, by=BRAM, person=TOVE, name="Tove Sallow", roles=("stand_in",))
    for skill in ("set_up", "watch"):
        house.do(
            sign_off,
            by=BRAM,
            person=TOVE,
            skill=skill,
            signed_by=UNIT,
            signed_on=clock.now().at.date().isoformat(),
        )
    prescribe(house, clock, "3", lines)
    ended = clock.now().at
    house.do(
        disinfect,
        by=BRAM,
        what="machine",
        agent="heat",
        started_at=ended - timedelta(minutes=40),
        ended_at=ended,
    )


def on_paper(lines: Mapping[str, str]) -> dict[str, str]:
    """What a second reader says of each line of the form; "" for one that isn't on this paper."""
    return {**{line.id: "" for line in load_rulebook().lines()}, **lines}


def prescribe(house: House, clock: SetClock, number: str, lines: Mapping[str, str]) -> None:
    """Transcribe a prescription and give it its second check, half a minute later."""
    day = clock.now().at.date().isoformat()
    done = house.do(transcribe, by=BRAM, number=number, giver=UNIT, valid_from=day, lines=lines)
    clock.pass_time(timedelta(seconds=30))
    house.do(check_order, by=BRAM, of=done.entries[0], values=on_paper(lines), how="reread")
