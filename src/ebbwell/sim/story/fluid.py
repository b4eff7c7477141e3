"""Week 3: 3.9 kg over target after a wedding, taken off over two nights by the unit's written rule."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import Final

from ebbwell.deeds.desk import Refused
from ebbwell.deeds.orders import advise, amend_line, check_order, confirm_written
from ebbwell.deeds.plan import agree_plan
from ebbwell.sim.household import PRESCRIPTION, TOVE, UNIT
from ebbwell.sim.story.calendar import instant
from ebbwell.sim.story.teller import Teller
from ebbwell.sim.story.usual import TARGET, Night

WEDDING: Final = date(2026, 1, 12)
SECOND: Final = date(2026, 1, 14)
OVER: Final = Decimal("3.9")
"""Over target on the first of the two nights [kg]. Source: scenario."""
NEXT_GAIN: Final = Decimal("2.1")
CAP: Final = PRESCRIPTION["removal_cap"]
CAP_SECOND: Final = "8"
"""The cap of the second night alone [mL/kg/h]. Invented."""


def wedding(teller: Teller, of: Night) -> None:
    """The night that can't take it all off: the plan is refused, the unit is asked, its rule is kept to."""
    of.values["weight_before"] = str(TARGET + OVER)
    of.values["bleeding_minutes@arterial"] = "8"
    of.before, of.after = (146, 80), (132, 73)
    of.values |= {"systolic": "147", "diastolic": "81"}
    of.words["for_the_clinic"] = "Is the cap for Wednesday high enough to take off the rest?"
    of.answers["for_the_clinic"] = "yes"

    def ask() -> None:
        try:
            teller.do(agree_plan, drink="0.2", start_at=of.first_blood)
        except Refused as why:
            if why.key != "refuse.plan_stop":
                raise
        else:
            raise RuntimeError("a plan over the cap was agreed")
        teller.clock.pass_time(timedelta(minutes=4))
        teller.do(
            advise,
            who=UNIT,
            words="As our written rule says: tonight what fits under the cap, the rest on the next night.",
            about=("S26",),
            allows=True,
        )

    of.then["S29"] = ask
    teller.play(of)


def phone_order(teller: Teller) -> None:
    """The cap for the second night comes by phone: taken down, read back, and read a second time by someone else."""
    done = teller.do(
        amend_line,
        line="removal_cap",
        value=CAP_SECOND,
        giver=f"{UNIT}, by phone",
        read_back=CAP_SECOND,
    )
    teller.clock.pass_time(timedelta(minutes=2))
    teller.do(check_order, by=TOVE, of=done.entries[0], values={"removal_cap": CAP_SECOND}, how="person")


def second_night(teller: Teller, of: Night) -> None:
    """The rest comes off, under the cap of this night."""
    if teller.weight is None:
        raise RuntimeError("the night before is missing")
    of.values["weight_before"] = str(teller.weight + NEXT_GAIN)
    teller.play(of)


def paper_comes(teller: Teller) -> None:
    """The paper for the phone order comes; with it the cap goes back to what it was."""
    teller.do(confirm_written, line="removal_cap", value=CAP_SECOND, giver=f"{UNIT}, letter of 14 January")
    teller.clock.pass_time(timedelta(minutes=1))
    done = teller.do(
        amend_line,
        line="removal_cap",
        value=CAP,
        giver=f"{UNIT}, letter of 14 January",
        read_back=CAP,
        written_awaited=False,
    )
    teller.clock.pass_time(timedelta(minutes=1))
    teller.do(check_order, of=done.entries[0], values={"removal_cap": CAP}, how="reread")


NIGHTS: Final = {WEDDING: wedding, SECOND: second_night}
DAYS: Final = {
    instant(date(2026, 1, 14), 16, 10): phone_order,
    instant(date(2026, 1, 16), 11): paper_comes,
}
