"""Whether a night was run lately, which is asked about before another is opened."""

from __future__ import annotations

from datetime import timedelta

from ebbwell.core.clock import elapsed
from ebbwell.deeds.desk import Desk
from ebbwell.plan.clock_times import clock
from ebbwell.rulebook.typed import Question
from ebbwell.state.own_past import latest

LATELY = timedelta(hours=12)
"""How long after first blood another night is asked about before it is opened. Own choice: the same evening."""

NIGHT_WAS_RUN = "night_was_run"
"""What is asked then."""


def run_lately(desk: Desk) -> tuple[Question, ...]:
    """What is asked before another night is opened: () where no blood ran within ``LATELY``."""
    last = next(iter(latest(desk.past, before=desk.now.at, nights=1)), None)
    start = last.first_blood if last is not None else None
    if start is None or not timedelta() <= elapsed(start, desk.now.at) < LATELY:
        return ()
    return (Question(NIGHT_WAS_RUN, 1, (("start", clock(start, desk.now.zone)),)),)
