"""What clocks do on a fault night: a day lost or won, and a carer who is ready just as a check grows old."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from ebbwell.sim.carer import Carer
from ebbwell.sim.household import BRAM
from ebbwell.sim.tries import Fault

DAY = timedelta(days=1)
BRINK_MINUTES = 30
"""How near its end a check is looked at: some of these leave too little time for the needles, some enough."""


def a_day(carer: Carer) -> bool:
    """The wall clock jumps by a day, as after a flat battery or a slip in setting it; mostly it is put right again."""
    jump = carer.chance.choice((DAY, -DAY))
    carer.clock.step_wall(jump)
    carer.say(f"clock jumps {jump}")
    carer.look_closely()
    carer.right_move()
    if carer.chance.random() < 0.7:
        carer.clock.step_wall(-jump)
        carer.say("clock put right")
    return True


def brink(carer: Carer) -> bool:
    """The set-up is done but for connecting, and the carer comes back just before one of the checks grows old."""
    carer.forward(len(carer.script))
    if not carer.set_up(40):
        return False
    desk = carer.house.look(by=BRAM)
    now = carer.clock.now().at
    ends = sorted(
        {
            v.until
            for v in desk.views.values()
            if v.step.gate == "connect" and v.passed and v.until is not None
        }
    )
    ahead = [end for end in ends if end > now]
    if not ahead:
        return False
    back = now + timedelta(minutes=carer.chance.randint(0, BRINK_MINUTES))
    carer.clock.pass_time(max(timedelta(0), carer.chance.choice(ahead) - back))
    carer.say("a check is about to grow old")
    carer.look_closely()
    return True


def clock_faults() -> Iterator[tuple[str, Fault]]:
    """Every fault of clocks by name."""
    yield "clock jumps a day", a_day
    yield "a check about to grow old", brink
