"""Reminders as rows of the record: on when heard, off, silent; gone with the night."""

from __future__ import annotations

from datetime import timedelta

import pytest

from ebbwell.deeds import comeoff, night, reminders
from ebbwell.deeds.readings_due import due_readings
from ebbwell.sim.household import READING
from ebbwell.state.reminders import Reminding
from ebbwell.state.reminders import reminders as state_of
from tests.deeds.homes import wrong
from tests.hazards.home import MINUTE, Home, refused, rules

HEARD = {"heard": True, "wake_lock": True, "device": "tablet"}


def _state(home: Home, device: str = "tablet") -> Reminding | None:
    return next((r for r in state_of(home.look().treatment) if r.device == device), None)


def test_reminders_on_are_seen_from_the_moment_they_were_heard(running: Home) -> None:
    assert state_of(running.look().treatment) == ()
    done = running.do(reminders.reminders_on, **HEARD)
    assert done.findings == ()
    assert _state(running) == Reminding("tablet", "on", running.clock.now().at, wake_lock=True)


def test_reminders_on_without_a_wake_lock_say_what_that_means(running: Home) -> None:
    done = running.do(reminders.reminders_on, heard=True, wake_lock=False, device="phone")
    assert rules(done.findings) == ["reminders_may_sleep"]


def test_reminders_on_refuses_a_sound_nobody_heard(home: Home, running: Home, off: Home) -> None:
    with refused("refuse.not_heard"):
        running.do(reminders.reminders_on, heard=False, wake_lock=True, device="tablet")
    with wrong("enter.device"):
        running.do(reminders.reminders_on, heard=True, wake_lock=True, device=" ")
    with refused("refuse.phase.none"):
        home.do(reminders.reminders_on, **HEARD)
    with refused("refuse.phase.safe"):
        off.do(reminders.reminders_on, **HEARD)
    assert state_of(running.look().treatment) == ()


def test_reminders_off_is_one_device_only(running: Home) -> None:
    running.do(reminders.reminders_on, **HEARD)
    running.do(reminders.reminders_on, heard=True, wake_lock=True, device="phone")
    running.do(reminders.reminders_off, device="tablet")
    states = {r.device: r.state for r in state_of(running.look().treatment)}
    assert states == {"tablet": "off", "phone": "on"}


def test_reminders_off_refuses_a_device_with_none_on(running: Home) -> None:
    with refused("refuse.reminders_not_on"):
        running.do(reminders.reminders_off, device="tablet")


def test_reminders_silent_keeps_since_when_and_stands_on_the_sheet(running: Home) -> None:
    running.do(reminders.reminders_on, **HEARD)
    running.clock.pass_time(2 * MINUTE)
    since = running.clock.now().at
    running.clock.pass_time(10 * MINUTE)
    done = running.do(reminders.reminders_silent, since=since, device="tablet", by="server")
    assert rules(done.findings) == ["reminders_silent"]
    state = _state(running)
    assert state is not None
    assert (state.state, state.since) == ("silent", since)
    assert "Reminders silent" in running.sheet()
    running.do(reminders.reminders_on, **HEARD)
    state = _state(running)
    assert state is not None
    assert state.state == "on"


def test_reminders_silent_refuses_a_device_that_is_off_or_told_already(running: Home) -> None:
    now = running.clock.now().at
    with refused("refuse.reminders_not_on"):
        running.do(reminders.reminders_silent, since=now, device="tablet")
    running.do(reminders.reminders_on, **HEARD)
    with wrong("enter.future"):
        running.do(reminders.reminders_silent, since=now + timedelta(hours=1), device="tablet")
    running.do(reminders.reminders_silent, since=now, device="tablet")
    with refused("refuse.reminders_not_on"):
        running.do(reminders.reminders_silent, since=now, device="tablet")


@pytest.mark.hazard("H16")
def test_no_reminder_and_nothing_due_once_the_night_stops_or_is_over(running: Home) -> None:
    running.do(reminders.reminders_on, **HEARD)
    assert due_readings(running.look())
    running.do(night.stop_now)
    assert due_readings(running.look()) == ()
    running.do(comeoff.come_off)
    assert due_readings(running.look()) == ()
    state = _state(running)
    assert state is not None
    assert state.state == "off"


@pytest.mark.hazard("H75")
def test_a_reading_that_was_reminded_of_and_not_taken_stands_on_the_sheet(running: Home, off: Home) -> None:
    running.do(reminders.reminders_on, **HEARD)
    running.do(night.read, values=READING, when="start")
    running.clock.pass_time(timedelta(hours=5))
    running.do(comeoff.come_off)
    text = running.sheet()
    assert text.count("was not taken") == 3
    assert "was not taken (1 h after first blood)" in text
    assert "was not taken" not in off.sheet()
