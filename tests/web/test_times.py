"""Typed clock times, on usual nights and on both nights when the clocks change."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from ebbwell.core.clock import Moment
from ebbwell.core.errors import InputError
from ebbwell.web.times import past_time


def moment(at: datetime, zone: str = "Europe/Dublin") -> Moment:
    """A moment at home."""
    return Moment(at, zone, "boot", 0)


@pytest.mark.source(
    "arithmetic", detail="Dublin is at UTC+1 in April and goes to it at 01:00 UTC on 29 March 2026"
)
@pytest.mark.parametrize(
    ("now", "typed", "at"),
    [
        (datetime(2026, 4, 30, 1, 0, tzinfo=UTC), "1:45", datetime(2026, 4, 30, 0, 45, tzinfo=UTC)),
        (datetime(2026, 4, 30, 1, 0, tzinfo=UTC), "22.10", datetime(2026, 4, 29, 21, 10, tzinfo=UTC)),
        (datetime(2026, 4, 30, 1, 0, tzinfo=UTC), "02:01", datetime(2026, 4, 30, 1, 0, tzinfo=UTC)),
        (datetime(2026, 3, 29, 2, 0, tzinfo=UTC), "00:30", datetime(2026, 3, 29, 0, 30, tzinfo=UTC)),
        (datetime(2026, 3, 29, 2, 0, tzinfo=UTC), "02:30", datetime(2026, 3, 29, 1, 30, tzinfo=UTC)),
        (datetime(2026, 10, 25, 0, 50, tzinfo=UTC), "01:30", datetime(2026, 10, 25, 0, 30, tzinfo=UTC)),
        (datetime(2026, 10, 25, 3, 0, tzinfo=UTC), "01:30", datetime(2026, 10, 25, 1, 30, tzinfo=UTC)),
    ],
)
def test_the_last_instant_at_which_the_clock_read_it(now: datetime, typed: str, at: datetime) -> None:
    assert past_time(typed, moment(now)) == at


def test_nothing_typed_is_no_time() -> None:
    assert past_time("  ", moment(datetime(2026, 4, 30, 1, 0, tzinfo=UTC))) is None


@pytest.mark.parametrize("typed", ["24:00", "7", "12:60", "half past", "1:5"])
def test_what_is_no_time_is_refused(typed: str) -> None:
    with pytest.raises(InputError):
        past_time(typed, moment(datetime(2026, 4, 30, 1, 0, tzinfo=UTC)))
