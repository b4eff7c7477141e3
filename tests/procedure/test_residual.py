"""A residual test counts only for what it came after, wherever the disinfection is written down."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from ebbwell.deeds import record, setup, upkeep
from ebbwell.deeds.connect import connect
from ebbwell.procedure.holds import Status
from ebbwell.sim.checker.search import path_of
from ebbwell.sim.homes import HOMES
from ebbwell.sim.household import BRAM
from tests.hazards.home import Home, beside, moved_in, refused

EARLIER = timedelta(hours=2)


def bleached(home: Home) -> datetime:
    """A chemical disinfection that ended just now."""
    ended = home.clock.now().at
    started = ended - timedelta(minutes=40)
    home.do(upkeep.disinfect, what="machine", agent="hypochlorite", started_at=started, ended_at=ended)
    return ended


def at_residual_test(*, inside: bool) -> Home:
    """At the residual test, after a chemical disinfection before the night was opened, or inside it."""
    home = moved_in()
    if not inside:
        bleached(home)
    home.do(setup.open_night)
    if inside:
        bleached(home)
    home.until("S8")
    return home


@pytest.mark.hazard("H10")
@pytest.mark.source("practice:e", detail="H10: a chemical since the last negative shuts the hold point")
@pytest.mark.parametrize("inside", [False, True])
def test_a_residual_test_dated_before_the_chemical_meets_nothing(inside: bool) -> None:
    home = at_residual_test(inside=inside)
    before = home.clock.now().at - EARLIER
    home.do(setup.measure, quantity="residual_disinfectant", typed="negative", at=before)
    assert home.status("S8") is Status.STALE
    home.pass_step("S8")
    assert home.status("S8") is Status.MET


@pytest.mark.hazard("H10")
@pytest.mark.parametrize("inside", [False, True])
def test_a_residual_test_corrected_to_before_the_chemical_shuts_the_gate(inside: bool) -> None:
    home = at_residual_test(inside=inside)
    home.pass_step("S8")
    assert home.status("S8") is Status.MET
    home.set_up()
    (test,) = home.look().treatment.at_slot("measured", "residual_disinfectant", "")
    earlier = (test.at - EARLIER).isoformat()
    home.do(record.correct, of=test.id, changes={"at": earlier}, reason="read off the log")
    assert home.status("S8") is Status.STALE
    with refused("refuse.gate"):
        home.do(connect)


@pytest.mark.hazard("H10")
def test_a_chemical_told_of_by_another_store_reopens_the_residual_test() -> None:
    home = moved_in()
    other = beside(home)
    bleached(home)
    home.do(setup.open_night)
    home.until("S8")
    home.pass_step("S8")
    assert home.status("S8") is Status.MET
    bleached(other)
    home.house.take_in(other.entries())
    assert {"S7", "S8", "S8a"} <= home.bars()


@pytest.mark.hazard("H10")
def test_a_residual_test_taken_back_leaves_its_step_open() -> None:
    world = path_of(None, HOMES["fistula, no heparin, liquid, a chemical used"])[-1].fork()
    fact = world.desk.treatment.at_slot("measured", "residual_disinfectant", "")[0]
    world.house.do(record.withdraw, by=BRAM, of=fact.id, reason="it was not so")
    bars = {bar.step for bar in world.moved().desk.bars}
    assert "S8" in bars
