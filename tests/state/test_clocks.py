"""How far time is known, and nights on which the clocks change."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from ebbwell.core.clock import Moment, SetClock, elapsed, in_step
from ebbwell.core.ids import SeededIds
from ebbwell.deeds import comeoff, record, setup
from ebbwell.deeds.connect import connect
from ebbwell.deeds.plan import draught
from ebbwell.house import House
from ebbwell.journal.store.memory import MemoryStore
from ebbwell.papers.sheet import run_time
from ebbwell.procedure.holds import Status
from ebbwell.sim.household import move_in
from tests.hazards.home import MINUTE, Home
from tests.state.book import START

NIGHT = timedelta(minutes=450)


@pytest.mark.hazard("H18")
@pytest.mark.source("practice:e", detail="H18: a jump of over 2 minutes between wall clock and boot clock")
@pytest.mark.parametrize(
    ("wall", "mono", "boots", "known"),
    [
        (timedelta(hours=4), timedelta(hours=4), ("a", "a"), True),
        (timedelta(hours=4), timedelta(hours=4, minutes=-2), ("a", "a"), True),
        (timedelta(hours=4), timedelta(hours=4, minutes=2), ("a", "a"), True),
        (timedelta(hours=4), timedelta(hours=4, minutes=2, milliseconds=1), ("a", "a"), False),
        (timedelta(hours=4), timedelta(hours=4, minutes=-2, milliseconds=-1), ("a", "a"), False),
        (timedelta(hours=1), timedelta(hours=4), ("a", "a"), False),
        (timedelta(hours=-3), timedelta(), ("a", "a"), False),
        (timedelta(), timedelta(), ("a", "a"), True),
        (timedelta(hours=4), timedelta(hours=4), ("a", "b"), None),
        (timedelta(hours=4), timedelta(hours=4), ("", ""), None),
        (timedelta(hours=4), timedelta(hours=4), ("a", ""), None),
        (timedelta(hours=4), timedelta(hours=4), ("", "a"), None),
    ],
)
def test_when_the_time_between_two_moments_is_known(
    wall: timedelta, mono: timedelta, boots: tuple[str, str], known: bool | None
) -> None:
    first = Moment(START, "Europe/Dublin", boots[0], 5_000)
    second = Moment(START + wall, "Europe/Dublin", boots[1], 5_000 + round(mono.total_seconds() * 1000))
    assert in_step(first, second) is known


CHANGES = (
    # zone, first day of the night, first blood in UTC, clock after 450 minutes
    ("Europe/London", "2026-03-28T21:30+00:00", "06:00 UTC+01:00"),
    ("Europe/London", "2026-10-24T21:30+01:00", "04:00 UTC+00:00"),
    ("America/New_York", "2026-03-07T21:30-05:00", "06:00 UTC-04:00"),
    ("America/New_York", "2026-10-31T21:30-04:00", "04:00 UTC-05:00"),
    ("Australia/Sydney", "2026-10-03T21:30+10:00", "06:00 UTC+11:00"),
    ("Australia/Sydney", "2026-04-04T21:30+11:00", "04:00 UTC+10:00"),
    ("America/Santiago", "2026-09-05T21:30-04:00", "06:00 UTC-03:00"),
    ("America/Santiago", "2026-04-04T21:30-03:00", "04:00 UTC-04:00"),
    ("Australia/Lord_Howe", "2026-10-03T21:30+10:30", "05:30 UTC+11:00"),
    ("Australia/Lord_Howe", "2026-04-04T21:30+11:00", "04:30 UTC+10:30"),
)


def evening(zone: str, first_blood: datetime) -> Home:
    """A night in a zone, opened three hours before first blood is meant to run."""
    clock = SetClock(first_blood - timedelta(hours=3, minutes=10), zone)
    ids = SeededIds(17)
    house = House(MemoryStore(ids), clock, ids)
    move_in(house, clock)
    home = Home(clock, house)
    home.do(setup.open_night)
    return home


@pytest.mark.hazard("H17")
@pytest.mark.source("arithmetic", detail="21:30 and 450 minutes, over a change of 60 or 30 minutes")
@pytest.mark.parametrize(("zone", "start", "finish"), CHANGES, ids=lambda v: v.replace("/", "_")[:30])
def test_a_night_of_450_minutes_is_that_long_when_the_clocks_change(
    zone: str, start: str, finish: str
) -> None:
    first_blood = datetime.fromisoformat(start)
    assert first_blood.utcoffset() == first_blood.astimezone(ZoneInfo(zone)).utcoffset()
    home = evening(zone, first_blood)
    home.set_up()
    left = first_blood - home.clock.now().at
    assert timedelta() < left
    home.clock.pass_time(left - 5 * MINUTE)
    home.set_up()
    home.clock.pass_time(first_blood - home.clock.now().at - timedelta(seconds=5))
    home.do(connect)
    desk = home.look()
    plan = draught(desk, drink=Decimal("0.2"), start_at=desk.now.at)
    assert plan.figures["finish_at"] == finish
    assert plan.tonight.finish_at == first_blood + NIGHT
    home.clock.pass_time(NIGHT - timedelta(seconds=5))
    home.do(comeoff.come_off)
    assert home.clock.now().at.astimezone(ZoneInfo(zone)).strftime("%H:%M") == finish[:5]
    desk = home.look()
    assert run_time(desk.treatment) == NIGHT
    off = desk.treatment.of("came_off")[0]
    assert elapsed(first_blood, off.at) == NIGHT
    assert "clock_not_trusted" not in home.findings()
    assert desk.past[desk.treatment_id or ""].night == start[:10]


@pytest.mark.hazard("H9")
@pytest.mark.hazard("H17")
@pytest.mark.source("fluids:1.3", detail="a chlorine result holds 4 hours")
@pytest.mark.parametrize(("zone", "start", "finish"), CHANGES, ids=lambda v: v.replace("/", "_")[:30])
def test_a_chlorine_result_holds_four_real_hours_over_the_change(zone: str, start: str, finish: str) -> None:
    change = next(
        at
        for minutes in range(600)
        if (at := datetime.fromisoformat(start) + timedelta(minutes=minutes))
        and at.astimezone(ZoneInfo(zone)).utcoffset() != datetime.fromisoformat(start).utcoffset()
    )
    home = evening(zone, change + timedelta(hours=1))
    home.until("S5")
    home.clock.pass_time(change - timedelta(hours=1) - home.clock.now().at)
    home.pass_step("S5")
    measured = home.look().treatment.at_slot("measured", "total_chlorine", "tank1")[0].at
    desk = home.look()
    assert desk.views["S5"].until == measured + timedelta(hours=4)
    last = measured + timedelta(hours=4) - desk.scene.cover
    home.clock.pass_time(last - home.clock.now().at)
    assert home.clock.now().at > change
    assert home.status("S5") is Status.MET
    home.clock.pass_time(timedelta(seconds=1))
    assert home.status("S5") is Status.STALE


@pytest.mark.hazard("H18")
def test_after_a_restart_a_word_about_the_clock_makes_time_known_again() -> None:
    home = evening("Europe/Dublin", START + timedelta(hours=5))
    home.until("S5")
    home.pass_step("S5")
    home.clock.restart("boot-2")
    assert (home.status("S0"), home.why("S0")) == (Status.NOT_KNOWN, "hold.clock")
    first = home.do(setup.answer, question="clock_right", answer="no").entries[0]
    assert home.status("S0") is Status.NOT_KNOWN
    seen = tuple(f.id for f in home.look().treatment.at_slot("answer", "clock_right"))
    home.do(setup.answer, question="clock_right", answer="yes", instead_of=seen)
    assert home.status("S5") is Status.MET
    home.clock.restart("boot-3")
    assert home.status("S0") is Status.NOT_KNOWN
    answers = home.look().treatment.at_slot("answer", "clock_right")
    assert first not in {fact.id for fact in answers}
    home.do(record.correct, of=answers[0].id, changes={"words": "by the oven"}, reason="left out")
    assert home.status("S0") is Status.NOT_KNOWN


@pytest.mark.hazard("H18")
def test_a_word_about_the_clock_is_no_word_about_a_clock_that_went_back_since() -> None:
    home = evening("Europe/Dublin", START + timedelta(hours=5))
    home.until("S5")
    home.pass_step("S5")
    home.clock.restart("boot-2")
    home.clock.step_wall(timedelta(hours=-1))
    home.do(setup.answer, question="clock_right", answer="yes")
    assert home.status("S0") is Status.NOT_KNOWN
    home.clock.step_wall(timedelta(hours=1))
    assert home.status("S0") is Status.NOT_KNOWN
