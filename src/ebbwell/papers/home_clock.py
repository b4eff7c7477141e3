"""Times of a night on the home's clock, so that on the night of a change no 01:10 is taken for the other one, and
none of another day for one of the night."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from ebbwell.core.clock import elapsed
from ebbwell.deeds.desk import Desk
from ebbwell.papers.words import clock, day
from ebbwell.plan.clock_times import local_text
from ebbwell.state.night import first_blood

NEAR = timedelta(hours=24)
"""Times farther from the night than this are of another day, and carry no offset. Own choice."""

ONE_NIGHT = timedelta(hours=18)
"""How long after its opening a time still belongs to the night. Own choice: evening, night and the day after."""


def home_clock(desk: Desk, at: datetime) -> str:
    """An instant as ``21:40``; with its offset where the clocks changed since first blood, or since the opening.

    Source: practice hazard H17.
    """
    zone = desk.now.zone
    beside = first_blood(desk.treatment) or opened_at(desk)
    if beside is None or abs(elapsed(beside, at)) > NEAR:
        return clock(at, zone)
    return local_text(at, zone, beside=beside)


def sheet_clock(desk: Desk, at: datetime) -> str:
    """An instant as it stands on the night's sheet: ``21:40``, and ``29 April 2026 17:06`` where it isn't of the night.

    Of the night are the 18 h from the minute of its opening, or of first blood where that came before.
    """
    opened = min(
        (at for at in (opened_at(desk), first_blood(desk.treatment)) if at is not None), default=None
    )
    if opened is None or timedelta(0) <= elapsed(opened.replace(second=0, microsecond=0), at) <= ONE_NIGHT:
        return home_clock(desk, at)
    local = at.astimezone(ZoneInfo(desk.now.zone))
    return f"{day(local.date().isoformat())} {home_clock(desk, at)}"


def opened_at(desk: Desk) -> datetime | None:
    """When the night on the desk was opened; None where none is."""
    opened = desk.treatment.of("pinned")
    return opened[0].at if opened else None
