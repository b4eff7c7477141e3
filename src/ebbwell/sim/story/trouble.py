"""What goes wrong in a home: a power cut, a recall, digits that change places, two scales that say different things."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Final

from ebbwell.deeds import comeoff, night, record, setup
from ebbwell.deeds.desk import Asked
from ebbwell.deeds.person import annotate
from ebbwell.deeds.upkeep import recall_lot
from ebbwell.journal.kinds.marks import Measured
from ebbwell.procedure.scene import CLOCK_QUESTION
from ebbwell.sim.elsewhere import written_elsewhere
from ebbwell.sim.household import BRAM, UNIT
from ebbwell.sim.story import cupboard
from ebbwell.sim.story.calendar import instant
from ebbwell.sim.story.teller import Teller
from ebbwell.sim.story.usual import Night

POWER_CUT: Final = date(2026, 2, 11)
CUT_MINUTES: Final = 40
SLIP: Final = date(2026, 3, 14)
MEANT, TYPED = "64.8", "46.8"
TWO_SCALES: Final = date(2026, 4, 17)
OTHER_SAYS: Final = Decimal("0.4")
"""How much more the other device had [kg]. Invented."""


def power_cut(teller: Teller, of: Night) -> None:
    """03:20: no power. The blood goes back by hand, on paper; in the morning it is all typed in, and closed early."""
    cut = instant(of.eve.day + timedelta(days=1), 3, 20)
    of.small = None
    teller.set_up(of)
    teller.first_hour(of)
    of.minutes = round((cut - of.first_blood) / timedelta(minutes=1))
    teller.until(cut + timedelta(hours=3))
    teller.clock.restart("story-2")
    teller.until(cut + timedelta(hours=4, minutes=20))

    def after(minutes: int) -> datetime:
        return cut + timedelta(minutes=minutes)

    teller.do(setup.answer, question=CLOCK_QUESTION, answer="yes")
    teller.do(
        night.note_event,
        what="power cut",
        words=f"The whole street, for {CUT_MINUTES} min",
        done="pump turned by hand, as taught. The home team: come off, ring by day",
        at=after(0),
    )
    back = after(21)
    teller.do(
        comeoff.blood_by_hand,
        why="power",
        started_at=after(5),
        ended_at=back,
        amount="300",
        words="as taught",
    )
    left_out = ("blood_flow", "arterial_pressure", "venous_pressure", "fluid_conductivity")
    row = {
        k: v for k, v in teller.row(of, "before_off", cut).items() if k in ("systolic", "diastolic", "pulse")
    }
    missing = dict.fromkeys(left_out, "no power")
    teller.do(night.read, values=row, missing=missing, when="before_off", at=after(0))
    of.choices["end_reason"] = "alarm_or_trouble"
    of.answers["feeling"] = "other"
    of.words["feeling"] = "shaken, no pain"
    of.choices["whiteboard"] = "all_typed_in"
    of.answers["night_sleep"] = "little"
    of.words["closed"] = "Ended early, at 03:20: power cut. Typed in from paper in the morning."
    minutes_after = {
        "treatment_minutes": 1,
        "fluid_removed": 1,
        "lying": 4,
        "feeling": 6,
        "rinse_back": 20,
        "came_off": 21,
        "sitting": 24,
        "standing": 27,
        "bleeding_minutes@arterial": 38,
        "bleeding_minutes@venous": 39,
        "thrill_after": 40,
        "weight_after": 44,
    }
    of.paper = {name: after(minutes) for name, minutes in minutes_after.items()}
    of.paper["blood_back"] = back
    teller.walk(of, "come_off", skip=("C2",))
    teller.do(comeoff.person_safe, at=after(45))
    teller.weight = Decimal(of.values["weight_after"])
    teller.close(of)


def recall(teller: Teller) -> None:
    """The tubing in use is called back; what is left of it is put aside."""
    teller.do(recall_lot, item="tubing", lot=cupboard.RECALLED, told_by=f"{UNIT}, with the supplier's letter")
    last = max(teller.nights)
    teller.house.do(
        annotate,
        by=BRAM,
        treatment=teller.nights[last],
        words=f"Tubing lot {cupboard.RECALLED} called back today. {cupboard.LEFT} sets left, put aside and marked.",
    )


def slip(teller: Teller, of: Night) -> None:
    """Two digits of the weight after change places: asked about, kept, then put right. Both stay to be seen."""
    of.short = Decimal("0.2")
    of.off_target = Decimal("0.1")
    of.values["weight_before"] = "66.4"
    teller.set_up(of)
    teller.run(of)
    teller.end(of)
    teller.walk(of, "come_off", skip=("C2",), before="C12")
    try:
        teller.house.do(setup.measure, by=BRAM, quantity="weight_after", typed=TYPED)
    except Asked as asked:
        keys = tuple(question.key for question in asked.questions)
    else:
        raise RuntimeError("a weight with its digits changed wasn't asked about")
    kept = teller.house.do(setup.measure, by=BRAM, quantity="weight_after", typed=TYPED, sure=keys)
    teller.clock.pass_time(timedelta(minutes=2))
    teller.do(
        record.correct,
        of=kept.entries[0],
        changes={"value": MEANT},
        reason="two digits changed places; the scale says 64.8",
    )
    teller.do(setup.choose, step="C13", name="sharps_count", option="two_of_two")
    teller.do(comeoff.person_safe)
    teller.weight = Decimal(MEANT)
    teller.close(of)


def two_scales(teller: Teller, of: Night) -> None:
    """The tablet has another weight than the laptop: connecting is shut until she steps on the scale once more."""

    def weigh_again() -> None:
        value = Decimal(of.values["weight_before"]) + OTHER_SAYS
        body = Measured(
            quantity="weight_before",
            value=str(value),
            unit="kg",
            typed=str(value),
            step="S29",
            device="tablet",
        )
        treatment = teller.nights[of.eve.day.isoformat()]
        back = timedelta(minutes=1)
        teller.house.take_in([written_elsewhere(teller.house, treatment, body, back=back, by=BRAM)])
        teller.clock.pass_time(timedelta(minutes=2))
        seen = teller.house.look(by=BRAM).treatment.at_slot("measured", "weight_before", "")
        if len({fact.says for fact in seen}) != 2:
            raise RuntimeError("the two devices don't disagree")
        teller.do(
            setup.measure,
            quantity="weight_before",
            typed=of.values["weight_before"],
            instead_of=tuple(fact.id for fact in seen),
        )

    of.then["S29"] = weigh_again
    teller.play(of)


NIGHTS: Final = {POWER_CUT: power_cut, SLIP: slip, TWO_SCALES: two_scales}
DAYS: Final = {instant(cupboard.RECALL_TOLD, 14): recall}
