"""Hold points: what lets one pass, how long it stays passed, and what opens it again."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from msgspec.structs import replace

from ebbwell.deeds import comeoff, orders, record, setup
from ebbwell.deeds.another_night import NIGHT_WAS_RUN
from ebbwell.deeds.plan import PLAN_STEP, advised
from ebbwell.journal.kinds.orders import Advice
from ebbwell.procedure.holds import PASSED, Status
from ebbwell.procedure.scene import later
from ebbwell.sim.household import PRESCRIPTION
from tests.hazards.home import MINUTE, Home, beside, moved_in, night_open

SECOND = timedelta(seconds=1)
KEEPS = timedelta(hours=4)
"""How long a chlorine result keeps. Source: fluids:1.3."""


@pytest.fixture
def home() -> Home:
    """A night open and set up as far as the chlorine tests."""
    home = night_open()
    home.until("S9")
    return home


def _tested_at(home: Home) -> datetime:
    return home.look().treatment.at_slot("measured", "total_chlorine", "tank1")[0].at


def _cover(home: Home) -> timedelta:
    return timedelta(minutes=float(home.look().rulebook.limit("needles_to_connect").value))


def _to(home: Home, at: datetime) -> None:
    home.clock.pass_time(at - home.clock.now().at)


@pytest.mark.hazard("H9")
@pytest.mark.source("fluids:1.3", detail="a chlorine result keeps for four hours at most")
def test_a_result_must_cover_the_time_to_first_blood(home: Home) -> None:
    last = _tested_at(home) + KEEPS - _cover(home)
    _to(home, last)
    assert home.status("S5") is Status.MET
    home.clock.pass_time(SECOND)
    assert home.status("S5") is Status.STALE
    assert home.look().views["S9"].waits_for == ("S5",)


def test_until_says_when_a_result_goes_stale(home: Home) -> None:
    assert home.look().views["S5"].until == _tested_at(home) + KEEPS


@pytest.mark.parametrize("minutes", [-30, 30])
@pytest.mark.hazard("H18")
@pytest.mark.source("practice:e", detail="H18: after a step of the clock, times since aren't known")
def test_a_stepped_clock_makes_timed_holds_unknown(home: Home, minutes: int) -> None:
    home.clock.step_wall(timedelta(minutes=minutes))
    views = home.look().views
    assert (views["S0"].status, views["S0"].why) == (Status.NOT_KNOWN, "hold.clock")
    assert (views["S5"].status, views["S5"].why) == (Status.SHUT, "hold.clock")
    assert views["S4"].why == ""


def test_a_step_of_two_minutes_is_let_by_and_more_is_not(home: Home) -> None:
    home.clock.step_wall(2 * MINUTE)
    assert home.status("S5") is Status.MET
    home.clock.step_wall(SECOND)
    assert home.why("S5") == "hold.clock"


def test_after_a_restart_someone_compares_the_clock(home: Home) -> None:
    home.clock.restart("boot-2")
    assert home.why("S5") == "hold.clock"
    home.do(setup.answer, question="clock_right", answer="no")
    assert home.why("S5") == "hold.clock"
    seen = tuple(f.id for f in home.look().treatment.at_slot("answer", "clock_right"))
    home.do(setup.answer, question="clock_right", answer="yes", instead_of=seen)
    assert home.status("S5") is Status.MET
    home.clock.restart("boot-3")
    assert home.why("S5") == "hold.clock"


def test_a_wait_counts_from_its_start_and_not_through_a_stepped_clock() -> None:
    home = night_open()
    home.until("S3")
    home.do(setup.choose, step="S3", name="supply_pressure", option="as_usual")
    home.do(setup.start_wait, step="S3")
    assert home.status("S3") is Status.WAITING
    home.clock.step_wall(timedelta(hours=1))
    assert home.why("S3") == "hold.clock"
    assert not home.look().views["S3"].passed


@pytest.mark.parametrize(
    ("what", "steps"),
    [
        ("water_restart", {"S3", "S5", "S5b", "S6"}),
        ("carbon_changed", {"S5", "S5b"}),
        ("machine_restart", {"S21", "S24", "S25", "S26", "S26b"}),
    ],
)
def test_only_what_an_event_undoes_is_done_again(home: Home, what: str, steps: set[str]) -> None:
    before = {v.step.id: v.status for v in home.look().views.values()}
    home.do(setup.happened, what=what)
    after = home.look().views
    changed = {step for step, was in before.items() if was is Status.MET and not after[step].passed}
    assert steps <= changed
    assert {step for step in changed if after[step].status is not Status.SHUT} <= steps


def test_done_again_it_is_met_again(home: Home) -> None:
    home.do(setup.happened, what="carbon_changed")
    assert home.status("S5") is Status.STALE
    home.pass_step("S5")
    assert home.status("S5") is Status.MET


@pytest.mark.hazard("H22")
def test_two_values_are_unsettled_until_one_holds(home: Home) -> None:
    again = {"quantity": "total_chlorine", "place": "tank1", "method": "meter"}
    home.do(setup.measure, typed="0.05", **again)
    assert home.status("S5") is Status.UNSETTLED
    ids = tuple(f.id for f in home.look().treatment.at_slot("measured", "total_chlorine", "tank1"))
    home.do(record.settle, of=ids, holds=ids[0], reason="the second cup was old")
    assert home.status("S5") is Status.MET


def test_advice_lets_a_step_pass_that_the_unit_may_decide_on() -> None:
    home = night_open()
    for question in home.look().procedure.step("S0").options:
        answer = home.look().procedure.step("S0").wants[question][0]
        home.do(setup.answer, question=question, answer="yes" if question == "ill" else answer)
    view = home.look().views["S0"]
    assert (view.status, view.why) == (Status.BARRED, "hold.answer")
    home.do(orders.advise, who="Nurse on call", words="Come in.", about=("S0",), allows=False)
    assert home.status("S0") is Status.BARRED
    home.do(orders.advise, who="Nurse on call", words="Go on.", about=("S0",), allows=True)
    assert home.status("S0") is Status.MET
    seen = tuple(f.id for f in home.look().treatment.at_slot("answer", "fall"))
    home.do(setup.answer, question="fall", answer="yes", instead_of=seen)
    assert home.status("S0") is Status.BARRED


@pytest.mark.parametrize("outcome", ["no_answer", "not_called"])
def test_a_call_in_vain_lets_no_step_pass_even_where_its_entry_says_so(outcome: str) -> None:
    home = night_open()
    for question in home.look().procedure.step("S0").options:
        answer = home.look().procedure.step("S0").wants[question][0]
        home.do(setup.answer, question=question, answer="yes" if question == "ill" else answer)
    entry = Advice(who="nobody", words="Go on.", about=("S0", PLAN_STEP), allows=True, outcome=outcome)
    home.do(lambda desk: desk.add(entry))
    assert home.status("S0") is Status.BARRED
    assert not advised(home.look(), PLAN_STEP)
    home.do(lambda desk: desk.add(replace(entry, outcome="said")))
    assert home.status("S0") is Status.MET
    assert advised(home.look(), PLAN_STEP)


def test_advice_lets_no_chlorine_pass(home: Home) -> None:
    seen = tuple(f.id for f in home.look().treatment.at_slot("measured", "total_chlorine", "tank1"))
    again = {"quantity": "total_chlorine", "place": "tank1", "method": "meter", "typed": "0.15"}
    home.do(setup.measure, instead_of=seen, sure=("outside_asked",), **again)
    home.do(orders.advise, who="Nurse on call", words="Go on.", about=("S5",), allows=True)
    view = home.look().views["S5"]
    assert (view.status, view.why) == (Status.BARRED, "hold.limit")
    assert "chlorine_tank1_over" in {finding.rule for finding in view.findings}


@pytest.mark.hazard("H8")
@pytest.mark.source(
    "fluids:1.3", detail="rule 3: after tank 2 also over 0.1, the night is called off, tell the unit"
)
def test_a_failed_test_after_the_last_tank_needs_the_units_word_beside_a_new_test() -> None:
    home = night_open()
    home.until("S5b")
    test = {"quantity": "total_chlorine", "place": "tank2", "method": "meter"}
    done = home.do(setup.measure, typed="0.13", sure=("outside_asked",), **test)
    assert home.why("S5b") == "hold.limit"
    home.clock.pass_time(timedelta(minutes=11))
    home.do(setup.measure, typed="0.02", instead_of=done.entries, **test)
    view = home.look().views["S5b"]
    assert (view.status, view.why, view.until) == (Status.BARRED, "hold.unit_after_fail", None)
    assert view.unit_may
    home.do(orders.advise, who="Nurse on call", words="Not tonight.", about=("S5b",), allows=False)
    assert home.status("S5b") is Status.BARRED
    home.do(orders.advise, who="Nurse on call", words="Go on.", about=("S5b",), allows=True)
    assert home.status("S5b") is Status.SECOND
    home.do(
        setup.measure, typed="0.13", sure=("outside_asked",), instead_of=home.look().views["S5b"].by, **test
    )
    home.clock.pass_time(timedelta(minutes=11))
    home.do(setup.measure, typed="0.02", instead_of=home.look().views["S5b"].by, **test)
    assert home.why("S5b") == "hold.unit_after_fail"


@pytest.mark.hazard("H8")
def test_another_night_opened_the_same_evening_still_needs_the_units_word() -> None:
    home = night_open()
    home.until("S5b")
    test = {"quantity": "total_chlorine", "place": "tank2", "method": "meter"}
    home.do(setup.measure, typed="0.13", sure=("outside_asked",), **test)
    home.do(comeoff.call_off, words="the water")
    home.clock.pass_time(timedelta(minutes=20))
    home.do(setup.open_night, sure=(NIGHT_WAS_RUN,))
    home.until("S5b")
    home.do(setup.measure, typed="0.02", **test)
    assert home.why("S5b") == "hold.unit_after_fail"
    home.clock.pass_time(timedelta(hours=24))
    home.do(comeoff.call_off, words="another day")
    home.do(setup.open_night, sure=(NIGHT_WAS_RUN,))
    home.until("S5b")
    home.do(setup.measure, typed="0.02", **test)
    assert home.status("S5b") is Status.SECOND


def test_a_step_is_open_only_behind_passed_ones() -> None:
    home = night_open()
    for _ in range(400):
        desk = home.look()
        for view in desk.views.values():
            behind = [desk.views[before] for before in view.step.after]
            if view.status is Status.NOT_NEEDED:
                continue
            assert (view.status is Status.SHUT) is any(not before.passed for before in behind), view.step.id
            assert view.waits_for == tuple(b.step.id for b in behind if not b.passed)
        if desk.gate_open:
            return
        home.move()
    raise AssertionError("the gate never opens")


@pytest.mark.source(
    "practice:a0", detail="rule 4: validity is judged before the needles go in, later it only warns"
)
def test_with_the_needles_in_nothing_goes_stale() -> None:
    home = night_open()
    home.set_up()
    home.clock.pass_time(timedelta(hours=5))
    assert home.look().gate_open


@pytest.mark.hazard("H57")
def test_marks_from_elsewhere_meet_nothing(home: Home) -> None:
    other = beside(home)
    assert other.look().views["S0"].status in (Status.MET, Status.OPEN)
    twin = beside(night_open(), seed=7)
    assert twin.status("S0") is Status.OPEN
    assert "S0" in {bar.step for bar in twin.look().bars}


def test_passed_is_met_left_out_or_not_needed() -> None:
    assert {status.value for status in PASSED} == {"met", "skipped", "not_needed"}


def test_later_goes_by_the_chain_and_across_chains_by_time(home: Home) -> None:
    facts = home.look().treatment.of("answer")
    assert later(facts[1], facts[0])
    assert not later(facts[0], facts[1])
    assert not later(facts[0], facts[0])


def test_a_catheter_night_asks_for_no_needles() -> None:
    lines = {k: v for k, v in PRESCRIPTION.items() if k not in ("needle_gauge", "needle_method")}
    home = moved_in({**lines, "access": "catheter"})
    home.do(setup.open_night)
    statuses = {step: home.status(step) for step in ("S0b", "S29c", "S30", "S30a", "S30b")}
    assert set(statuses.values()) == {Status.NOT_NEEDED}
    assert home.status("S29d") is not Status.NOT_NEEDED
    assert home.status("S30c") is not Status.NOT_NEEDED
