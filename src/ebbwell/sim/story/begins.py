"""How the story begins: the household, its people, their unit's words, and the prescription of the first weeks."""

from __future__ import annotations

from datetime import timedelta
from typing import Final

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
    )
    prescribe(teller, "2", FIRST_PATTERN)
    ended = teller.clock.now().at
    teller.do(
        disinfect,
        what="machine",
        agent="heat",
        started_at=ended - timedelta(minutes=40),
        ended_at=ended,
    )


def prescribe(teller: Teller, number: str, pattern: str) -> None:
    """A prescription written down whole, and a while later read a second time by the person it is for."""
    lines = {**PRESCRIPTION, "pattern": pattern}
    day = teller.clock.now().at.date().isoformat()
    done = teller.do(transcribe, number=number, giver=UNIT, valid_from=day, lines=lines)
    teller.clock.pass_time(timedelta(minutes=25))
    teller.do(check_order, by=ILKA, of=done.entries[0], values=lines, how="person")
    teller.number = number
