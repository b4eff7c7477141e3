"""Clocks that are shifted or shown in another zone: they run on, and say that they are another start."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from ebbwell.core.clock import SetClock, ShiftedClock, ZonedClock, in_step
from ebbwell.core.errors import InputError

HERE = datetime(2026, 11, 3, 9, 30, tzinfo=UTC)
THERE = datetime(2026, 4, 29, 16, 0, tzinfo=UTC)


def test_a_shifted_clock_begins_where_it_is_told_and_runs_on() -> None:
    own = SetClock(HERE, "Europe/Dublin")
    shifted = ShiftedClock(THERE, own)
    first = shifted.now()
    assert (first.at, first.zone) == (THERE, "Europe/Dublin")
    own.pass_time(timedelta(hours=7, minutes=30))
    second = shifted.now()
    assert second.at - first.at == timedelta(hours=7, minutes=30)
    assert in_step(first, second) is True


def test_another_shift_is_another_start_so_that_no_time_between_the_two_is_trusted() -> None:
    own = SetClock(HERE, "Europe/Dublin")
    first = ShiftedClock(THERE, own).now()
    own.pass_time(timedelta(hours=1))
    again = ShiftedClock(THERE, own).now()
    assert again.at == first.at
    assert in_step(first, again) is None


def test_a_step_of_the_own_clock_shows_in_the_shifted_one() -> None:
    own = SetClock(HERE, "Europe/Dublin")
    shifted = ShiftedClock(THERE, own)
    first = shifted.now()
    own.step_wall(timedelta(hours=-1))
    assert in_step(first, shifted.now()) is False


def test_a_shift_to_a_time_without_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="zone"):
        ShiftedClock(THERE.replace(tzinfo=None), SetClock(HERE, "Europe/Dublin"))


@pytest.mark.source("from memory", detail="Santiago is 3 h behind UTC in November")
def test_a_zoned_clock_is_the_same_moment_elsewhere() -> None:
    own = SetClock(HERE, "UTC")
    there = ZonedClock(own, "America/Santiago").now()
    assert (there.at, there.mono, there.boot) == (own.now().at, own.now().mono, own.now().boot)
    assert (there.zone, there.offset) == ("America/Santiago", -180)
    with pytest.raises(InputError):
        ZonedClock(own, "America/Nowhere")
