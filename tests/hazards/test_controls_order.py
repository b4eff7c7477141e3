"""Controls about whose record it is and what the clinic ordered."""

from __future__ import annotations

from datetime import timedelta

import pytest

from ebbwell.cli.tonight import tonight_lines
from ebbwell.core.errors import InputError
from ebbwell.deeds import orders, rereading, setup
from ebbwell.deeds.connect import connect
from ebbwell.deeds.people import found_household
from ebbwell.journal.kinds.orders import Plan
from ebbwell.papers.heading import heading
from ebbwell.procedure.holds import Status
from ebbwell.sim.household import BRAM, NAME, PRESCRIPTION, UNIT, prescribe
from ebbwell.state.standing import household
from tests.hazards.home import moved_in, night_open, refused, rules

OTHER = {**PRESCRIPTION, "target_weight": "64.0"}


@pytest.mark.hazard("H1")
@pytest.mark.source(
    "practice:e", detail="H1: a deep link of A while in B is refused; the name is on every page"
)
def test_another_households_entries_stay_out() -> None:
    ours, theirs = night_open(), night_open(seed=2)
    theirs.do(found_household, name="Elsewhere Lane", zone="Europe/Dublin")
    before = len(ours.entries())
    taken = ours.house.take_in(theirs.entries())
    assert not taken.new
    assert {why for _, why in taken.refused} == {"entry.other_household"}
    assert len(ours.entries()) == before
    with pytest.raises(InputError, match=r"enter\.treatment"):
        ours.house.look(treatment=theirs.look().treatment_id)
    with pytest.raises(InputError, match=r"enter\.treatment"):
        ours.house.do(setup.tick, step="S1", treatment=theirs.look().treatment_id)


@pytest.mark.hazard("H1")
def test_the_name_is_on_every_page_and_sheet() -> None:
    home = night_open()
    desk = home.look()
    assert any(NAME in line for line in heading(household(desk.standing)))
    assert any(line.startswith(NAME) for line in tonight_lines(desk)[:3])
    assert NAME in home.sheet()


@pytest.mark.hazard("H2")
@pytest.mark.source(
    "practice:e", detail="H2: a version changed between plan and connect shuts until planned again"
)
def test_a_newer_prescription_voids_plan_and_reading() -> None:
    home = night_open()
    home.set_up()
    assert home.bars() == set()
    prescribe(home.house, home.clock, "4", OTHER)
    assert {"S2", "S26"} <= home.bars()
    with refused("refuse.gate"):
        home.do(connect)
    with refused("refuse.other_paper"):
        home.do(orders.read_back, version_read="3")
    home.do(orders.read_back, version_read="4")
    home.set_up()
    plan = home.look().treatment.last("plan")
    assert plan is not None
    assert isinstance(plan.body, Plan)
    assert plan.body.figures["removal_volume"].startswith("2.8")
    home.do(connect)


@pytest.mark.hazard("H2")
def test_one_line_changed_by_phone_voids_the_plan() -> None:
    home = night_open()
    home.set_up()
    done = home.do(orders.amend_line, line="target_weight", value="64.0", giver=UNIT, read_back="64.0")
    assert "bar.no_prescription" in home.bars()
    home.clock.pass_time(timedelta(seconds=30))
    home.do(orders.check_order, of=done.entries[0], values={"target_weight": "64.0"}, how="reread")
    assert {"S2", "S26"} <= home.bars()


@pytest.mark.hazard("H3")
@pytest.mark.source("practice:e", detail="H3: first pass 64.5, second pass 65.4: not in force")
def test_two_passes_that_differ_are_not_in_force() -> None:
    home = moved_in()
    day = home.clock.now().at.date().isoformat()
    lines = {**PRESCRIPTION, "target_weight": "64.5"}
    first = home.do(orders.transcribe, number="4", giver=UNIT, valid_from=day, lines=lines)
    home.clock.pass_time(timedelta(seconds=30))
    again = {**PRESCRIPTION, "target_weight": "65.4"}
    done = home.do(orders.check_order, of=first.entries[0], values=again, how="reread")
    assert rules(done.findings) == ["second_check_differs"]
    order = home.look().scene.order
    assert order is not None
    assert order.waiting == first.entries
    home.do(setup.open_night)
    home.pass_step("S0")
    home.pass_step("S0b")
    with refused("refuse.second_check_waits"):
        home.do(orders.read_back, version_read="4")
    assert "bar.no_prescription" in home.bars()


@pytest.mark.hazard("H13")
@pytest.mark.source(
    "practice:e", detail="H13: at least 20 s, and another person or a re-read that is declared"
)
def test_a_second_reading_of_the_paper_is_one() -> None:
    home = moved_in()
    day = home.clock.now().at.date().isoformat()
    first = home.house.do(orders.transcribe, by=BRAM, number="4", giver=UNIT, valid_from=day, lines=OTHER)
    check = {"of": first.entries[0], "values": OTHER}
    with refused("refuse.same_person"):
        home.house.do(orders.check_order, by=BRAM, how="person", **check)
    home.clock.pass_time(timedelta(seconds=19))
    with refused("refuse.too_soon"):
        home.house.do(orders.check_order, by=BRAM, how="reread", **check)
    with pytest.raises(InputError, match=r"enter\.how"):
        home.house.do(orders.check_order, by=BRAM, how="", **check)
    home.clock.pass_time(timedelta(seconds=1))
    home.house.do(orders.check_order, by=BRAM, how="reread", **check)


@pytest.mark.hazard("H13")
def test_a_second_reading_of_a_step_is_one() -> None:
    home = night_open()
    home.until("S18")
    home.house.do(setup.measure, by=BRAM, quantity="heparin_strength", typed="1000")
    assert home.status("S18") is Status.SECOND
    again = {"step": "S18", "values": {"heparin_strength": "1000"}}
    with refused("refuse.same_person"):
        home.house.do(rereading.second_check, by=BRAM, how="person", **again)
    home.clock.pass_time(timedelta(seconds=19))
    with refused("refuse.too_soon"):
        home.house.do(rereading.second_check, by=BRAM, how="reread", **again)
    home.clock.pass_time(timedelta(seconds=1))
    home.house.do(rereading.second_check, by=BRAM, how="reread", **again)
    assert home.status("S18") is Status.MET


@pytest.mark.hazard("H76")
@pytest.mark.source("practice:e", detail="H76: an entry that nobody signed stays unnamed")
def test_an_unsigned_entry_stays_unnamed() -> None:
    home = night_open()
    done = home.house.do(setup.happened, what="water_restart", words="it was off for a minute")
    held = home.house.store.held(done.entries[0])
    assert held is not None
    assert held.envelope.by == "bedside"
    assert "bedside, not named" in home.sheet()
    with refused("refuse.skill.set_up"):
        home.house.do(setup.answer, question="ill", answer="no")
