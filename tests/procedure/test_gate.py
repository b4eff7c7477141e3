"""The gate to connecting: each reason that keeps it shut, by its key."""

from __future__ import annotations

from datetime import timedelta

import pytest

from ebbwell.deeds import comeoff, orders, people, record, setup, upkeep
from ebbwell.deeds import night as deeds
from ebbwell.procedure.gate import Bar, step_bar
from ebbwell.procedure.holds import Status, StepView
from ebbwell.sim.household import PRESCRIPTION, UNIT
from tests.hazards.home import Home, beside, moved_in, night_open


@pytest.fixture
def ready() -> Home:
    """The gate is open."""
    home = night_open()
    home.set_up()
    assert home.look().bars == ()
    return home


def _keys(home: Home) -> dict[str, Bar]:
    return {bar.key: bar for bar in home.look().bars}


def test_a_night_that_is_not_being_set_up_has_no_gate(ready: Home) -> None:
    assert "bar.not_setting_up" in _keys(moved_in())
    ready.do(deeds.stop_now)
    assert "bar.not_setting_up" in _keys(ready)
    ready.do(comeoff.call_off, words="felt ill")
    assert "bar.not_setting_up" in _keys(ready)


@pytest.mark.hazard("H73")
def test_two_stores_that_both_took_over_shut_the_gate(ready: Home) -> None:
    left, right = beside(ready, seed=98), beside(ready, seed=99)
    left.do(people.take_over_here, words="the laptop broke")
    right.do(people.take_over_here, words="the laptop broke")
    assert "bar.no_holder" not in _keys(left)
    left.house.take_in(right.entries())
    assert "bar.no_holder" in _keys(left)
    assert not left.look().gate_open


def test_an_order_that_waits_shuts_it_and_names_what_waits(ready: Home) -> None:
    entry = ready.do(orders.amend_line, line="blood_flow", value="220", giver=UNIT, read_back="220").entries[
        0
    ]
    bar = _keys(ready)["bar.no_prescription"]
    assert bar.entries == (entry,)


def test_two_values_shut_it_and_both_are_named(ready: Home) -> None:
    old = ready.look().treatment.at_slot("measured", "oxygen_saturation", "")
    assert old == ()
    first = ready.do(setup.measure, quantity="oxygen_saturation", typed="97").entries
    second = ready.do(setup.measure, quantity="oxygen_saturation", typed="95").entries
    bar = _keys(ready)["bar.unsettled"]
    assert bar.entries == first + second
    assert bar.about.startswith("oxygen_saturation")
    ready.do(record.settle, of=first + second, holds=second[0], reason="cold finger at first")
    assert ready.look().gate_open


def test_a_recall_shuts_it_at_the_pack(ready: Home) -> None:
    ready.do(upkeep.recall_lot, item="dialyser", lot="D4410", told_by="supplier")
    assert _keys(ready)["bar.stale"].step in ready.bars()
    assert "S12" in ready.bars()


def test_a_clock_that_jumped_shuts_it(ready: Home) -> None:
    ready.do(setup.happened, what="water_restart")
    ready.clock.step_wall(timedelta(hours=-1))
    assert not ready.look().gate_open


@pytest.mark.parametrize(
    ("status", "key"),
    [
        (status, f"bar.{status.value}")
        for status in Status
        if status.value not in ("met", "skipped", "not_needed")
    ],
)
def test_each_state_of_a_step_has_its_own_reason(status: Status, key: str) -> None:
    step = night_open().look().procedure.step("S5")
    bar = step_bar(StepView(step, status, by=("a",), why="hold.limit"))
    assert bar == Bar(key, step="S5", entries=("a",), about="hold.limit")


def test_an_open_gate_is_open_for_the_short_look_too(ready: Home) -> None:
    assert ready.look().gate_open
    ready.do(setup.happened, what="carbon_changed")
    assert not ready.look().gate_open
    assert next(bar.step for bar in ready.look().bars) == "S5"


def test_a_prescription_not_yet_checked_shuts_it(ready: Home) -> None:
    ready.do(orders.transcribe, number="4", giver=UNIT, valid_from="2026-04-29", lines=PRESCRIPTION)
    assert {"bar.no_prescription", "bar.barred"} <= set(_keys(ready))
