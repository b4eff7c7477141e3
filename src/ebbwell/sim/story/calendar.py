"""The weeks and nights of the story: three nights a week for seven weeks, then every other night, in one zone."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from typing import Final
from zoneinfo import ZoneInfo

from ebbwell.sim.household import ZONE

WEEKS: Final = 18
FIRST_DAY: Final = date(2025, 12, 29)
"""Monday of week 1."""
LAST_NIGHT: Final = date(2026, 4, 27)
"""The night that the record ends with. Source: scenario."""
STANDS: Final = datetime(2026, 4, 29, 16, 0, tzinfo=UTC)
"""Where the clock stands when all is told: 17:00 in the household's zone, on a treatment day. Source: scenario."""
PATTERN_WEEKS: Final = 7
"""Weeks of three nights; every other night from then on."""
THREE_NIGHTS: Final = (0, 2, 4)
"""Days of the week of a night in those weeks, 0 for Monday."""
TESTED_AGAIN: Final = date(2026, 1, 29)
"""The night in the place of the one that was called off the evening before."""
MOVED: Final = {date(2026, 1, 30): date(2026, 1, 31)}
"""Nights put off by a day, so that there is one between."""


@dataclass(frozen=True)
class Eve:
    """One night that was opened. number: from 1. gap: days since the one before."""

    number: int
    day: date
    week: int
    gap: int


def week_of(day: date) -> int:
    """Week of the story that a day lies in, 1 to WEEKS."""
    return (day - FIRST_DAY).days // 7 + 1


def _days() -> Iterator[date]:
    every_other = FIRST_DAY + timedelta(weeks=PATTERN_WEEKS)
    for offset in range(PATTERN_WEEKS * 7):
        day = FIRST_DAY + timedelta(days=offset)
        if day.weekday() in THREE_NIGHTS:
            yield MOVED.get(day, day)
    yield TESTED_AGAIN
    day = LAST_NIGHT
    while day >= every_other:
        yield day
        day -= timedelta(days=2)


def eves() -> tuple[Eve, ...]:
    """Every night of the story, in order."""
    days = sorted(_days())
    gaps = [2, *((later - day).days for day, later in pairwise(days))]
    return tuple(
        Eve(number, day, week_of(day), gap)
        for number, (day, gap) in enumerate(zip(days, gaps, strict=True), start=1)
    )


def instant(day: date, hour: int, minute: int = 0) -> datetime:
    """A time of day on the household's clock as a UTC instant."""
    return datetime.combine(day, time(hour, minute), ZoneInfo(ZONE)).astimezone(UTC)
