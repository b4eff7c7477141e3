"""How the story begins: the household, its people, their unit's words, and the prescription of the first weeks."""

from __future__ import annotations

from datetime import timedelta
from typing import Final

from ebbwell.deeds.labels import POWDER, check_label, read_bicarbonate, read_label
from ebbwell.deeds.meters import set_meter
from ebbwell.deeds.orders import check_order, transcribe
from ebbwell.deeds.people import enter_person, found_household
from ebbwell.deeds.texts import enter_emergency_details, write_first_action
from ebbwell.deeds.upkeep import disinfect
from ebbwell.sim.household import BRAM, ILKA, NAME, PRESCRIPTION, TOVE, UNIT, ZONE
from ebbwell.sim.story.teller import Teller

FIRST_PATTERN: Final = "three nights a week: Monday, Wednesday, Friday"
NEWER_PATTERN: Final = PRESCRIPTION["pattern"]

FIRST_ACTIONS: Final = {
    "bleeding": "Press on the place. Stop the pump, clamp, call us: as we taught you.",
    "power_cut": "Turn the pump by hand as we taught you, then clamp. Call us.",
}
"""What the invented unit wrote for two of the situations; the others are still to be signed."""


ACID_LABEL: Final = {
    "sodium": "137",
    "potassium": "2.0",
    "calcium": "1.50",
    "magnesium": "0.5",
    "chloride": "108",
    "bicarbonate": "32",
    "acetate": "3",
}
"""What the invented can says of the mixed fluid [mmol/L]. Source: fluids 2.4, mix B."""

POWDER_G: Final = "650"
"""A full container of the dry bicarbonate [g]. Source: scenario."""


def begin(teller: Teller) -> None:
    """Everything that stands before the first night."""
    teller.do(found_household, name=NAME, zone=ZONE, invented=True)
    for person, name, role in (
        (ILKA, "Ilka Venn", "dialysis"),
        (BRAM, "Bram Venn", "carer"),
        (TOVE, "Tove Sallow", "stand_in"),
    ):
        teller.do(enter_person, person=person, name=name, roles=(role,))
    day = teller.clock.now().at.date().isoformat()
    for situation, words in FIRST_ACTIONS.items():
        teller.do(write_first_action, situation=situation, words=words, signed_by=UNIT, signed_on=day)
    teller.do(
        enter_emergency_details,
        number="000 0000",
        address="1 Saltmarsh Row (invented)",
        how_to_find="The blue door. Ring twice.",
        unit_number="000 0100",
        unit_hours="8 to 18 on weekdays",
        unit_other="000 0101",
    )
    prescribe(teller, "2", FIRST_PATTERN)
    read_labels(teller)
    ended = teller.clock.now().at
    teller.do(
        disinfect,
        what="machine",
        agent="heat",
        started_at=ended - timedelta(minutes=40),
        ended_at=ended,
    )


def read_labels(teller: Teller) -> None:
    """The labels of both concentrates, each read a second time by the person, and how the two meters correct."""
    acid, powder = PRESCRIPTION["acid_code"], PRESCRIPTION["bicarbonate_code"]
    parts = PRESCRIPTION["acid_parts"]
    done = teller.do(read_label, code=acid, parts=parts, ions=ACID_LABEL)
    teller.do(check_label, by=ILKA, of=done.entries[0], parts=parts, ions=ACID_LABEL, how="person")
    done = teller.do(read_bicarbonate, code=powder, form="dry", grams=POWDER_G, parts=parts)
    grams = {POWDER: POWDER_G}
    teller.do(check_label, by=ILKA, of=done.entries[0], parts=parts, grams=grams, how="person")
    for place in ("machine", "meter"):
        teller.do(set_meter, place=place, corrects="yes", reference="25", coefficient="2")


def prescribe(teller: Teller, number: str, pattern: str) -> None:
    """A prescription written down whole, and a while later read a second time by the person it is for."""
    lines = {**PRESCRIPTION, "pattern": pattern}
    day = teller.clock.now().at.date().isoformat()
    done = teller.do(transcribe, number=number, giver=UNIT, valid_from=day, lines=lines)
    teller.clock.pass_time(timedelta(minutes=25))
    teller.do(check_order, by=ILKA, of=done.entries[0], values=lines, how="person")
    teller.number = number
