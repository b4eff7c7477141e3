"""Times of a night on the home's clock, so that on the night of a change no 01:10 is taken for the other one."""

from __future__ import annotations

from datetime import datetime, timedelta

from ebbwell.core.clock import elapsed
from ebbwell.deeds.desk import Desk
from ebbwell.papers.words import clock
from ebbwell.plan.clock_times import local_text
from ebbwell.state.night import first_blood

ONE_NIGHT = timedelta(hours=24)
"""Times farther from the night than this are of another day, and carry no offset. Own choice."""


def home_clock(desk: Desk, at: datetime) -> str:
    """An instant as ``21:40``; with its offset where the clocks changed since first blood, or since the opening.

    Source: practice hazard H17.
    """
    zone = desk.now.zone
    opened = desk.treatment.of("pinned")
    beside = first_blood(desk.treatment) or (opened[0].at if opened else None)
    if beside is None or abs(elapsed(beside, at)) > ONE_NIGHT:
        return clock(at, zone)
    return local_text(at, zone, beside=beside)
