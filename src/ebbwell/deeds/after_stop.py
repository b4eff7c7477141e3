"""What is asked of something timed after the blood pump stopped, where it can hardly be so."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from ebbwell.core.clock import elapsed
from ebbwell.deeds.desk import Desk
from ebbwell.plan.clock_times import clock
from ebbwell.rulebook.typed import Question
from ebbwell.state.night import pump_stopped

AFTER_PUMP, BLEEDS_LONGER = "after_pump", "bleeds_longer"
"""What is asked: of what needs a running pump, and of a bleeding longer than the person has been off."""


def pump_question(desk: Desk, at: datetime) -> tuple[Question, ...]:
    """What to ask of something that needs a running pump: () where it lies before the pump's stop, or none is known."""
    stopped = pump_stopped(desk.treatment)
    if stopped is None or at <= stopped:
        return ()
    times = {"at": clock(at, desk.now.zone), "stopped": clock(stopped, desk.now.zone)}
    return (Question(AFTER_PUMP, 1, tuple(times.items())),)


def bleeding_question(desk: Desk, quantity: str, minutes: Decimal, at: datetime) -> tuple[Question, ...]:
    """What to ask of a bleeding time [min] longer than the pump has stood; needles come out later still."""
    stopped = pump_stopped(desk.treatment)
    if quantity != "bleeding_minutes" or stopped is None:
        return ()
    since = elapsed(stopped, at).total_seconds() / 60
    if minutes <= Decimal(since) + 1:
        return ()
    said = {"minutes": str(max(0, round(since))), "value": f"{minutes} min"}
    return (Question(BLEEDS_LONGER, 1, tuple(sorted(said.items()))),)
