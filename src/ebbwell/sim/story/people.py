"""Tove learns the job (weeks 14 to 17), the clinic changes the pattern (week 8), and how the record ends."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Final

from ebbwell.deeds.orders import advise
from ebbwell.deeds.people import accept_hand_over, offer_hand_over, sign_off
from ebbwell.deeds.person import annotate, say_symptom
from ebbwell.sim.household import BRAM, ILKA, TOVE, UNIT
from ebbwell.sim.story.begins import NEWER_PATTERN, prescribe
from ebbwell.sim.story.calendar import LAST_NIGHT, instant
from ebbwell.sim.story.teller import Teller
from ebbwell.sim.story.usual import Night

CRAMP: Final = date(2026, 1, 7)
SUPERVISED: Final = date(2026, 4, 15)
TOVES_NIGHT: Final = date(2026, 4, 23)
SKILLS: Final = ("set_up", "watch")
"""What Tove is signed off for in the end. Source: scenario."""


def new_pattern(teller: Teller) -> None:
    """Prescription 3: every other night from now on."""
    teller.do(advise, who=UNIT, words="From today every other night. The paper is number 3.")
    prescribe(teller, "3", NEWER_PATTERN)


def cramp(teller: Teller, of: Night) -> None:
    """Ilka says how she feels, and notes it on the sheet."""
    of.small = None
    of.answers["night_cramps"] = "yes"
    teller.set_up(of)
    teller.first_hour(of)
    teller.until(of.first_blood + timedelta(minutes=335))
    teller.do(say_symptom, by=ILKA, symptom="cramp", words="left calf")
    teller.read(of, "waking", of.minutes - 35)
    teller.come_off(of)
    teller.close(of)
    _note(teller, of.eve.day, "The cramp went when Bram stretched the foot.", by=ILKA)


def _note(teller: Teller, day: date, words: str, by: str = BRAM) -> None:
    teller.house.do(annotate, by=by, treatment=teller.nights[day.isoformat()], words=words)


def rehearsed(teller: Teller) -> None:
    """The rehearsal itself lies in a practice record; here stands that it took place."""
    _note(teller, date(2026, 4, 3), "Tove rehearsed a whole set-up and 'stop now' in the practice record.")


def supervised(teller: Teller, of: Night) -> None:
    """Bram sets up with Tove beside him; the second readings are hers."""
    of.second_by = TOVE
    teller.play(of)
    _note(teller, of.eve.day, "Tove was there all night and gave the second readings.")


def signed(teller: Teller) -> None:
    """The unit signs Tove off: set-up and watching, not needles, not coming off."""
    day = teller.clock.now().at.date().isoformat()
    for skill in SKILLS:
        teller.do(sign_off, person=TOVE, skill=skill, signed_by=UNIT, signed_on=day)


def toves_night(teller: Teller, of: Night) -> None:
    """Tove sets up and keeps the night; Bram comes for the needles, and in the morning for coming off."""
    stages = ("questions", "setup", "before_needles", "run", "settle")
    of.doer = dict.fromkeys(stages, TOVE)
    of.small = None
    teller.set_up(of)
    teller.run(of)
    teller.until(of.end - timedelta(minutes=15))
    removed = of.values["weight_before"]
    lines = (
        f"Ilka, {removed} kg before",
        "fistula, left forearm, both needles dry",
        "the plan runs as agreed",
        "readings given at start, 5, 15 and 60 min, and on waking",
        "coming off is still to do",
        "worries: none",
    )
    offer = teller.do(offer_hand_over, by=TOVE, to_person=BRAM, six_lines=lines)
    teller.clock.pass_time(timedelta(minutes=3))
    teller.do(accept_hand_over, offer=offer.entries[0])
    teller.come_off(of)
    teller.close(of)


def last_night(teller: Teller, of: Night) -> None:
    """Nothing out of the way; one question for the clinic."""
    of.small = None
    of.answers["for_the_clinic"] = "yes"
    of.words["for_the_clinic"] = "When are the next bloods to be drawn?"
    teller.play(of)


def call_open(teller: Teller) -> None:
    """Bram has rung; they are to ring back."""
    _note(
        teller,
        LAST_NIGHT,
        "Rang the home team about the date of the bloods. They are to ring back: still open.",
    )


NIGHTS: Final = {
    CRAMP: cramp,
    SUPERVISED: supervised,
    TOVES_NIGHT: toves_night,
    LAST_NIGHT: last_night,
}
DAYS: Final = {
    instant(date(2026, 2, 16), 12): new_pattern,
    instant(date(2026, 4, 4), 17): rehearsed,
    instant(date(2026, 4, 18), 15): signed,
    instant(date(2026, 4, 28), 10, 15): call_open,
}
