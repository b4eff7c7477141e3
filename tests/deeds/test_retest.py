"""A failed chlorine test: the water runs ten minutes before a new one counts, whatever is done with the old one."""

from __future__ import annotations

from datetime import timedelta

import pytest

from ebbwell.core.ids import SeededIds
from ebbwell.deeds import comeoff, record, rereading, setup
from ebbwell.house import House
from ebbwell.procedure.holds import Status
from ebbwell.sim import hands
from ebbwell.sim.household import BRAM, USUAL
from tests.hazards.home import Home, refused

SURE = ("outside_asked", "digits", "past_limit", "tenfold")
"""What the program asks about such a value is answered "as typed"."""


def _test(home: Home, typed: str, port: str = "tank1") -> str:
    seen = tuple(f.id for f in home.look().treatment.at_slot("measured", "total_chlorine", port))
    done = home.do(
        setup.measure,
        quantity="total_chlorine",
        place=port,
        typed=typed,
        method="meter",
        instead_of=seen,
        sure=SURE,
    )
    return done.entries[0]


@pytest.fixture
def failed(ready: Home) -> Home:
    """A night set up, then tank 1 tested again and over the limit."""
    _test(ready, "0.13")
    return ready


def _counts(home: Home, step: str = "S5") -> bool:
    """Whether the newest test is taken, its second reading aside."""
    return home.look().views[step].status in (Status.MET, Status.SECOND)


@pytest.mark.source("fluids:1.3", detail="rule 2: over 0.1, run 10 min, draw again with fresh reagent")
def test_a_new_test_counts_only_after_ten_minutes(failed: Home) -> None:
    at = failed.clock.now().at
    assert failed.look().views["S5"].until == at + timedelta(minutes=10)
    failed.clock.pass_time(timedelta(seconds=30))
    _test(failed, USUAL["total_chlorine@tank1"])
    view = failed.look().views["S5"]
    assert (view.status, view.why, view.until) == (
        Status.BARRED,
        "hold.retest_soon",
        at + timedelta(minutes=10),
    )
    failed.clock.pass_time(timedelta(minutes=9))
    _test(failed, USUAL["total_chlorine@tank1"])
    assert not _counts(failed)
    failed.clock.pass_time(timedelta(minutes=1))
    _test(failed, USUAL["total_chlorine@tank1"])
    assert _counts(failed)


def test_time_alone_does_not_make_an_early_test_count(failed: Home) -> None:
    _test(failed, "0.02")
    failed.clock.pass_time(timedelta(minutes=11))
    assert not _counts(failed)


def test_taking_the_failed_test_back_does_not_help(ready: Home) -> None:
    wrong = _test(ready, "0.13")
    ready.do(record.withdraw, of=wrong, reason="looks wrong")
    _test(ready, "0.02")
    assert not _counts(ready)


def test_a_slip_put_right_is_no_failed_test(ready: Home) -> None:
    slip = _test(ready, "0.20")
    ready.do(record.correct, of=slip, changes={"value": "0.02"}, reason="typed the point wrong", sure=SURE)
    assert _counts(ready)


def test_a_clock_put_forward_is_not_ten_minutes_of_water(failed: Home) -> None:
    failed.clock.step_wall(timedelta(hours=1))
    failed.do(setup.answer, question="clock_right", answer="yes")
    with refused("refuse.shut"):
        _test(failed, "0.02")
    assert not _counts(failed)


def test_the_other_tank_is_judged_by_its_own_tests(failed: Home) -> None:
    failed.clock.pass_time(timedelta(seconds=30))
    _test(failed, "0.01", "tank2")
    assert _counts(failed, "S5b")


@pytest.mark.parametrize("again", ["0.2", "0.13"])
def test_a_second_reader_over_the_limit_is_a_failed_test(ready: Home, again: str) -> None:
    _test(ready, "0.02")
    ready.clock.pass_time(timedelta(seconds=30))
    at = ready.clock.now().at
    ready.do(
        rereading.second_check, step="S5", how="photo", photo="p", values={"total_chlorine@tank1": again}
    )
    view = ready.look().views["S5"]
    assert (view.status, view.why) == (Status.BARRED, "hold.retest_soon")
    assert view.until is not None
    assert timedelta(0) <= view.until - at - timedelta(minutes=10) < timedelta(seconds=30)
    ready.clock.pass_time(timedelta(minutes=11))
    _test(ready, "0.02")
    assert _counts(ready)


# -- the evening after -----------------------------------------------------------------------------------------------


def _evening_after(home: Home) -> None:
    """The night is called off, and another one opened at once; the water has run all the while."""
    home.do(comeoff.call_off, words="the water is not right")
    home.do(setup.open_night)
    for _ in range(200):
        desk = home.look()
        if not desk.views["S5"].waits_for:
            return
        moves = (hands.move_for(desk, desk.views[step]) for step in desk.procedure.before("S5"))
        move = next((move for move in moves if move is not None), None)
        assert move is not None
        if move.deed is setup.start_wait:
            home.do(setup.start_wait, step=move.step, at=desk.now.at - timedelta(minutes=16))
        else:
            hands.play(home.house, move)
    raise AssertionError("S5 never opens")


@pytest.mark.source("fluids:1.3", detail="rule 2: over 0.1, run 10 min, draw again with fresh reagent")
def test_a_night_called_off_after_a_failed_test_does_not_end_the_ten_minutes(failed: Home) -> None:
    at = failed.clock.now().at
    _evening_after(failed)
    assert failed.clock.now().at - at < timedelta(minutes=2)
    _test(failed, "0.02")
    view = failed.look().views["S5"]
    assert (view.status, view.why, view.until) == (
        Status.BARRED,
        "hold.retest_soon",
        at + timedelta(minutes=10),
    )
    failed.clock.pass_time(timedelta(minutes=10))
    assert not _counts(failed)
    _test(failed, "0.02")
    assert _counts(failed)


@pytest.mark.source("fluids:1.3", detail="rule 2: over 0.1, run 10 min, draw again with fresh reagent")
def test_a_failed_test_taken_back_or_read_by_a_second_reader_counts_the_evening_after(ready: Home) -> None:
    _test(ready, "0.02")
    ready.clock.pass_time(timedelta(seconds=30))
    values = {"total_chlorine@tank1": "0.2"}
    ready.do(rereading.second_check, step="S5", how="photo", photo="p", values=values)
    _evening_after(ready)
    _test(ready, "0.02")
    assert ready.look().views["S5"].why == "hold.retest_soon"
    other = _test(ready, "0.13", "tank1")
    ready.do(record.withdraw, of=other, reason="looks wrong")
    at = ready.clock.now().at
    _evening_after(ready)
    _test(ready, "0.02")
    until = ready.look().views["S5"].until
    assert until is not None
    assert until > at + timedelta(minutes=9)


def test_a_test_of_the_night_after_says_nothing_of_the_night_before(ready: Home) -> None:
    first = ready.look().treatment_id
    before = ready.look().views["S5"].why
    _evening_after(ready)
    _test(ready, "0.13")
    assert ready.house.look(treatment=first).views["S5"].why == before


def test_a_state_read_again_from_the_store_remembers_the_evening_before(failed: Home) -> None:
    _evening_after(failed)
    _test(failed, "0.02")
    again = House(failed.house.store, failed.clock, SeededIds(3))
    assert again.look(by=BRAM).views["S5"].why == "hold.retest_soon"
