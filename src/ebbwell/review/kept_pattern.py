"""Which pattern past nights kept: every other night, or the same days each week. What doesn't fit either has none."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, timedelta
from typing import NamedTuple

LOOKED_AT = (28, 14)
"""Days back that are looked at, the longer stretch first: a pattern may just have changed. Own choice."""
LATE_DAYS = 7
"""Days before a night in which nothing may be out of the pattern, for its bloods to be read as settled. Own choice."""
UNLIKE = 0.15
"""Share of the nights of a pattern that may be missing or more. Own choice."""


class Kept(NamedTuple):
    """A pattern and how it was kept.

    cycle_days: 2 or 7. days: numbers in the cycle, ascending; for 7, Monday is 0, for 2 it is (0,) with the newest night
    on it. off: days within the last week on which a night was missing or more. nights: how many were looked at.
    """

    cycle_days: int
    days: tuple[int, ...]
    off: tuple[date, ...]
    nights: int


def kept_pattern(ran: Collection[date], last: date, oldest: date) -> Kept | None:
    """The pattern that nights kept up to ``last``, that day among them; None where they kept none, or too few are known.

    ran: days on which a night ran. oldest: the first day that the record tells of. Source: own choice.
    """
    held = set(ran)
    for days in LOOKED_AT:
        first = last - timedelta(days=days - 1)
        if first < oldest:
            continue
        window = [first + timedelta(days=n) for n in range(days)]
        found = [kept for kept in (_every_other(held, window), _weekly(held, window)) if kept is not None]
        if found:
            return min(found, key=lambda kept: kept[0])[1]
    return None


def _every_other(held: set[date], window: list[date]) -> tuple[int, Kept] | None:
    """The days of one parity: that of the newest night."""
    ran = [day for day in window if day in held]
    if not ran:
        return None
    due = {day for day in window if (ran[-1] - day).days % 2 == 0}
    return _judged(held, window, due, 2, (0,))


def _weekly(held: set[date], window: list[date]) -> tuple[int, Kept] | None:
    """Days of the week on which more than half of the weeks had a night."""
    weeks = len(window) / 7
    days = tuple(n for n in range(7) if sum(day.weekday() == n and day in held for day in window) > weeks / 2)
    due = {day for day in window if day.weekday() in days}
    return _judged(held, window, due, 7, days) if days else None


def _judged(
    held: set[date], window: list[date], due: set[date], cycle: int, days: tuple[int, ...]
) -> tuple[int, Kept] | None:
    off = [day for day in window if (day in held) != (day in due)]
    if len(off) > UNLIKE * len(due):
        return None
    late = tuple(day for day in off if (window[-1] - day).days < LATE_DAYS)
    return len(off), Kept(cycle, days, late, sum(day in held for day in window))
