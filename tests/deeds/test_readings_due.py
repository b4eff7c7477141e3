"""Which reading is due when."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from ebbwell.core.clock import SetClock
from ebbwell.core.ids import SeededIds
from ebbwell.deeds import night, setup
from ebbwell.deeds.connect import already_running
from ebbwell.deeds.readings_due import (
    DueReading,
    due_readings,
    missed_readings,
    planned_end,
    unread_schedule,
)
from ebbwell.house import House
from ebbwell.journal.store.memory import MemoryStore
from ebbwell.sim.household import PRESCRIPTION, READING, ZONE, move_in
from ebbwell.state.night import first_blood
from tests.hazards.home import MINUTE, Home, moved_in

H = timedelta(hours=1)


def _by_name(home: Home) -> dict[str, DueReading]:
    return {r.name: r for r in due_readings(home.look())}


def _ran(schedule: str) -> Home:
    """Found running under an order with that reading schedule."""
    home = moved_in({**PRESCRIPTION, "reading_schedule": schedule})
    home.do(setup.open_night)
    home.do(already_running)
    return home


@pytest.mark.source(
    "practice:a", detail="T17: first look at 5 and 15 min; T19: start, 1 h, waking, before coming off"
)
def test_the_readings_of_a_usual_night(running: Home) -> None:
    start = first_blood(running.look().treatment)
    assert start is not None
    found = due_readings(running.look())
    assert [(r.name, None if r.due is None else r.due - start) for r in found] == [
        ("start", timedelta()),
        ("min5", 5 * MINUTE),
        ("min15", 15 * MINUTE),
        ("min60", H),
        ("before_off", 7.5 * H),
        ("waking", None),
    ]
    assert all(r.due is None or r.due.tzinfo is UTC for r in found)
    assert [r.name for r in found if not r.remind] == ["waking"]


def test_nothing_is_due_before_first_blood(home: Home, ready: Home) -> None:
    assert due_readings(home.look()) == ()
    assert due_readings(ready.look()) == ()
    assert missed_readings(ready.look()) == ()


def test_a_named_row_answers_and_a_missing_one_gets_late(running: Home) -> None:
    row = running.do(night.read, values=READING, when="start").entries[0]
    running.clock.pass_time(16 * MINUTE)
    found = _by_name(running)
    assert found["start"].given == row
    assert (found["min5"].late, found["min15"].late) == (True, False)
    running.clock.pass_time(10 * MINUTE)
    assert _by_name(running)["min15"].late
    assert [r.name for r in missed_readings(running.look())] == ["min5", "min15"]


def test_a_row_nobody_named_answers_the_one_it_falls_to(running: Home) -> None:
    running.clock.pass_time(62 * MINUTE)
    row = running.do(night.read, values=READING).entries[0]
    found = _by_name(running)
    assert found["min60"].given == row
    assert not found["min15"].given
    assert not found["before_off"].given


def test_time_off_moves_the_end_and_no_other_reading(running: Home) -> None:
    before, end = _by_name(running), planned_end(running.look())
    running.do(night.go_off)
    running.clock.pass_time(30 * MINUTE)
    running.do(night.go_on)
    after = _by_name(running)
    assert end is not None
    moved = planned_end(running.look())
    assert moved is not None
    assert 30 * MINUTE <= moved - end <= 31 * MINUTE
    assert after["before_off"].due == moved
    assert after["min60"].due == before["min60"].due


@pytest.mark.parametrize(
    ("schedule", "names"),
    [
        ("at start; 30 min; 2 hours", ["start", "min5", "min15", "min30", "min120"]),
        ("Start and every 2 h", ["start", "min5", "min15", "min120", "min240", "min360"]),
        (
            "hourly all night",
            ["start", "min5", "min15", "min60", "min120", "min180", "min240", "min300", "min360", "min420"],
        ),
        ("1,5 h", ["start", "min5", "min15", "min90"]),
        ("after 90 minutes", ["start", "min5", "min15", "min90"]),
    ],
)
def test_what_the_clinic_wrote_is_read(schedule: str, names: list[str]) -> None:
    assert [r.name for r in due_readings(_ran(schedule).look())] == names


def test_words_that_give_no_time_are_shown_as_they_are() -> None:
    home = _ran("start, when the moon is full, every 2 min, 15,30 min, 1 h")
    assert unread_schedule(home.look()) == ("when the moon is full", "every 2 min", "15,30 min")
    assert "min60" in _by_name(home)


def test_after_a_step_of_the_clock_the_times_are_not_trusted(running: Home) -> None:
    assert {r.trusted for r in due_readings(running.look())} == {True}
    running.clock.step_wall(timedelta(hours=-3))
    assert {r.trusted for r in due_readings(running.look())} == {False}
    running.clock.restart("boot-2")
    assert {r.trusted for r in due_readings(running.look())} == {None}


@pytest.mark.hazard("H17")
@pytest.mark.source("arithmetic", detail="1 h and 7.5 h after 00:40 UTC, whatever the wall clock does")
@pytest.mark.parametrize(
    "start", [datetime(2026, 3, 29, 0, 40, tzinfo=UTC), datetime(2026, 10, 25, 0, 40, tzinfo=UTC)]
)
def test_a_change_of_clocks_moves_no_reading(start: datetime) -> None:
    clock = SetClock(start - timedelta(minutes=1), ZONE)
    with House(MemoryStore(SeededIds(9)), clock, SeededIds(9)) as house:
        move_in(house, clock)
        house.do(setup.open_night)
        house.do(already_running, at=start.astimezone(ZoneInfo(ZONE)))
        found = {r.name: r.due for r in due_readings(house.look())}
    assert found["min60"] == start + timedelta(seconds=3600)
    assert found["before_off"] == start + timedelta(seconds=27000)
