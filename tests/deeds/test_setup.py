"""Deeds of setting up: opening, answers, what was seen, ticks, waits, settings, skips, what happened."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from ebbwell.deeds import comeoff, orders, record, rereading, setup
from ebbwell.deeds.another_night import NIGHT_WAS_RUN
from ebbwell.deeds.desk import Asked
from ebbwell.journal.kinds.marks import Answer, Choice, Skipped, Tick
from ebbwell.journal.kinds.orders import Pinned
from ebbwell.procedure.holds import Status
from ebbwell.sim.household import ILKA, PRESCRIPTION, TOVE, UNIT
from ebbwell.state.night import Phase
from tests.deeds.homes import wrong
from tests.hazards.home import MINUTE, Home, refused, rules


def test_open_night_pins_steps_limits_and_formulas(home: Home) -> None:
    home.do(setup.open_night)
    desk = home.look()
    assert desk.phase is Phase.SETTING_UP
    body = desk.treatment.of("pinned")[0].body
    assert isinstance(body, Pinned)
    assert body.night == "2026-04-29"
    assert (body.procedure_digest, body.rulebook_digest) == (desk.procedure.digest, desk.rulebook.digest)
    texts = [f.body.texts for f in desk.standing.of("pinned") if isinstance(f.body, Pinned)]
    assert texts == [{desk.procedure.digest: desk.procedure.text, desk.rulebook.digest: desk.rulebook.text}]


def test_open_night_keeps_the_texts_once(home: Home) -> None:
    home.do(setup.open_night)
    home.do(comeoff.call_off, words="water is off")
    home.do(setup.open_night)
    assert len(home.look().standing.of("pinned")) == 1


def test_open_night_refuses_a_second_one(night: Home, running: Home) -> None:
    for home in (night, running):
        with refused("refuse.night_open"):
            home.do(setup.open_night)


def test_open_night_refuses_before_the_disinfection_of_the_last(off: Home) -> None:
    with refused("refuse.last_night"):
        off.do(setup.open_night)
    off.pass_step("C16")
    with pytest.raises(Asked) as caught:
        off.do(setup.open_night)
    assert [q.key for q in caught.value.questions] == [NIGHT_WAS_RUN], "asked once, the same evening"
    off.do(setup.open_night, sure=(NIGHT_WAS_RUN,))
    assert off.look().phase is Phase.SETTING_UP


def test_answer_is_kept_with_who_said_it(night: Home) -> None:
    done = night.do(setup.answer, question="ill", answer="no", words="a bit tired", said_by="person")
    fact = night.look().treatment.fact(done.entries[0])
    assert fact is not None
    assert fact.body == Answer(question="ill", answer="no", words="a bit tired", said_by="person", step="S0")


def test_answer_refuses_other_words_and_unknown_questions(night: Home) -> None:
    with wrong("enter.option"):
        night.do(setup.answer, question="ill", answer="perhaps")
    with wrong("enter.no_step"):
        night.do(setup.answer, question="hungry", answer="no")
    with wrong("enter.future"):
        night.do(setup.answer, question="ill", answer="no", at=night.clock.now().at + 3 * MINUTE)


def test_answer_asks_for_words_of_a_test_that_failed_first(night: Home) -> None:
    night.until("S21")
    with wrong("enter.words"):
        night.do(setup.answer, question="tests_failed_first", answer="yes")
    night.do(setup.answer, question="tests_failed_first", answer="yes", words="air in the line")
    night.pass_step("S21")
    assert night.status("S21") is Status.MET


@pytest.mark.source("practice:b", detail="S21: a failed test is never passed on another try without a note")
def test_answer_refuses_no_where_a_failed_test_is_on_record(night: Home) -> None:
    night.until("S21")
    failed = night.do(setup.choose, step="S21", name="machine_tests", option="failed").entries[0]
    night.do(setup.answer, question="tests_failed_first", answer="no")
    night.do(setup.choose, step="S21", name="machine_tests", option="passed", instead_of=(failed,))
    assert night.status("S21") is Status.BARRED
    with wrong("enter.test_failed_before"):
        night.do(setup.answer, question="tests_failed_first", answer="no")


def test_a_slip_put_right_is_no_failed_machine_test(night: Home) -> None:
    night.until("S21")
    slip = night.do(setup.choose, step="S21", name="machine_tests", option="failed").entries[0]
    night.do(record.correct, of=slip, changes={"option": "passed"}, reason="pressed the wrong one")
    night.do(setup.answer, question="tests_failed_first", answer="no")
    assert night.status("S21") is Status.MET


def test_answer_refuses_without_a_night(home: Home) -> None:
    with refused("refuse.no_night"):
        home.do(setup.answer, question="ill", answer="no")
    with refused("refuse.no_night"):
        home.do(setup.answer, question="clock_right", answer="yes")


def test_answer_refuses_somebody_who_is_not_entered(night: Home) -> None:
    with refused("refuse.skill.set_up"):
        night.do(setup.answer, by="visitor", question="ill", answer="no")
    night.do(setup.answer, by=TOVE, question="ill", answer="no")


def test_choose_keeps_what_was_seen(night: Home) -> None:
    night.until("S4")
    done = night.do(setup.choose, step="S4", name="filter_gauges", option="changed")
    fact = night.look().treatment.fact(done.entries[0])
    assert fact is not None
    assert fact.body == Choice(step="S4", name="filter_gauges", option="changed")


def test_choose_refuses_words_that_are_not_there(night: Home) -> None:
    night.until("S4")
    with wrong("enter.option"):
        night.do(setup.choose, step="S4", name="filter_gauges", option="fine")
    with wrong("enter.option"):
        night.do(setup.choose, step="S4", name="alarm_limits", option="set_as_taught")
    with wrong("enter.step"):
        night.do(setup.choose, step="S99", name="filter_gauges", option="changed")
    with refused("refuse.shut"):
        night.do(setup.choose, step="S31", name="tape", option="no_slack")


def test_choose_refuses_a_step_that_tonight_does_not_need(night: Home) -> None:
    night.until("S1")
    with refused("refuse.not_needed"):
        night.do(setup.choose, step="S18b", name="no_heparin", option="no_heparin_tonight")


def test_choose_refuses_what_comes_after_connecting(ready: Home) -> None:
    with refused("refuse.shut"):
        ready.do(setup.choose, step="C18", name="stock_used", option="as_opened")
    with refused("refuse.not_connected"):
        ready.do(setup.start_wait, step="S32")


def test_choose_beside_an_older_word_is_a_disagreement(night: Home) -> None:
    night.until("S4")
    first = night.do(setup.choose, step="S4", name="softener_salt", option="low").entries
    second = night.do(setup.choose, step="S4", name="softener_salt", option="enough").entries
    night.do(setup.choose, step="S4", name="filter_gauges", option="as_usual")
    assert night.status("S4") is Status.UNSETTLED
    night.do(setup.choose, step="S4", name="softener_salt", option="enough", instead_of=first + second)
    assert night.status("S4") is Status.MET


def test_tick_meets_a_step_of_a_tick(night: Home) -> None:
    night.until("S1")
    done = night.do(setup.tick, step="S1", note="floor dry")
    fact = night.look().treatment.fact(done.entries[0])
    assert fact is not None
    assert fact.body == Tick(step="S1", note="floor dry")
    assert night.status("S1") is Status.MET


def test_tick_refuses_a_step_that_asks_for_more(night: Home) -> None:
    night.until("S4")
    with refused("refuse.not_a_tick"):
        night.do(setup.tick, step="S4")
    assert night.status("S4") is Status.OPEN


def test_tick_refuses_a_step_that_waits_for_another(night: Home) -> None:
    with refused("refuse.shut"):
        night.do(setup.tick, step="S1")


def test_start_wait_is_over_after_its_minutes(night: Home) -> None:
    night.until("S3")
    night.do(setup.choose, step="S3", name="supply_pressure", option="as_usual")
    began = night.clock.now().at
    night.do(setup.start_wait, step="S3", at=began)
    assert night.look().views["S3"].until == began + 15 * MINUTE
    night.clock.pass_time(began + 15 * MINUTE - night.clock.now().at - timedelta(seconds=1))
    assert night.status("S3") is Status.WAITING
    night.clock.pass_time(timedelta(seconds=1))
    assert night.status("S3") is Status.MET


def test_start_wait_again_begins_anew(night: Home) -> None:
    night.until("S3")
    night.do(setup.choose, step="S3", name="supply_pressure", option="as_usual")
    night.do(setup.start_wait, step="S3")
    night.clock.pass_time(14 * MINUTE)
    night.do(setup.start_wait, step="S3")
    night.clock.pass_time(14 * MINUTE)
    assert night.status("S3") is Status.WAITING
    assert len(night.look().treatment.of("waited")) == 1


def test_start_wait_refuses_a_step_without_one(night: Home) -> None:
    night.until("S1")
    with refused("refuse.no_wait"):
        night.do(setup.start_wait, step="S1")
    with wrong("enter.future"):
        night.do(setup.start_wait, step="S3", at=night.clock.now().at + timedelta(hours=1))


def test_set_machine_meets_its_step_when_it_reads_as_planned(weighing: Home) -> None:
    weighing.until("S26")
    weighing.pass_step("S26")
    assert weighing.status("S26") is Status.MET


def test_set_machine_keeps_a_setting_that_differs_and_stays_shut(weighing: Home) -> None:
    weighing.until("S26")
    weighing.pass_step("S26")
    old = tuple(f.id for f in weighing.look().treatment.at_slot("measured", "blood_flow", "setting"))
    done = weighing.do(setup.set_machine, line="blood_flow", typed="320", instead_of=old)
    assert (weighing.status("S26"), weighing.why("S26")) == (Status.BARRED, "hold.setting_differs")
    weighing.do(setup.set_machine, line="blood_flow", typed="230", instead_of=done.entries)
    assert weighing.status("S26") is Status.MET


def test_set_machine_takes_time_as_hours_and_minutes(weighing: Home) -> None:
    weighing.until("S26")
    done = weighing.do(setup.set_machine, line="treatment_minutes", typed="7:30")
    fact = weighing.look().treatment.fact(done.entries[0])
    assert getattr(fact.body if fact else None, "value", "") == "450"


def test_set_machine_refuses_a_step_that_is_not_open_and_unknown_lines(night: Home, weighing: Home) -> None:
    with refused("refuse.shut"):
        night.do(setup.set_machine, line="blood_flow", typed="230")
    weighing.until("S26")
    with wrong("enter.no_step"):
        weighing.do(setup.set_machine, line="needle_gauge", typed="15")
    with wrong("number.not_plain"):
        weighing.do(setup.set_machine, line="blood_flow", typed="fast")


def test_skip_keeps_the_reason(night: Home) -> None:
    night.until("S1")
    done = night.do(setup.skip, step="S1", reason=" visitors in the room ")
    fact = night.look().treatment.fact(done.entries[0])
    assert fact is not None
    assert fact.body == Skipped(step="S1", reason="visitors in the room")
    assert night.status("S1") is Status.SKIPPED


def test_skip_refuses_hold_points_and_empty_reasons(night: Home) -> None:
    night.until("S1")
    with refused("refuse.never_skip"):
        night.do(setup.skip, step="S3", reason="late")
    with wrong("enter.reason"):
        night.do(setup.skip, step="S1", reason="  ")


def test_skip_of_the_meter_needs_a_name_at_the_unit(night: Home) -> None:
    night.until("S23c")
    with wrong("enter.unit_name"):
        night.do(setup.skip, step="S23c", reason="the meter is broken")
    assert night.status("S23c") is Status.OPEN
    night.do(setup.skip, step="S23c", reason="the meter is broken", unit="Nurse on call")
    assert night.status("S23c") is Status.SKIPPED


@pytest.mark.parametrize(
    ("what", "reopened"),
    [
        ("water_restart", {"S3", "S5", "S5b", "S6"}),
        ("carbon_changed", {"S5", "S5b"}),
        ("set_opened", {"S13", "S15", "S19", "S25"}),
        ("machine_restart", {"S21", "S24", "S26"}),
    ],
)
def test_happened_reopens_what_it_undoes(ready: Home, what: str, reopened: set[str]) -> None:
    assert ready.bars() == set()
    ready.do(setup.happened, what=what)
    assert reopened <= ready.bars()


@pytest.mark.source("practice:b", detail="a changed order reopens what was read against it, and nothing else")
@pytest.mark.parametrize(
    ("line", "value", "reopened", "kept"),
    [
        ("blood_flow", "220", {"S26"}, {"S9", "S9b", "S10", "S12", "S18", "S18d"}),
        ("dialyser", "D-20", {"S12", "S26"}, {"S9", "S10", "S18"}),
        ("heparin_strength", "5000", {"S18", "S18d", "S26"}, {"S9", "S12"}),
        ("treatment_minutes", "420", {"S9b", "S18d", "S26"}, {"S9", "S12", "S18"}),
    ],
)
def test_a_line_by_phone_reopens_the_steps_that_rest_on_it(
    ready: Home, line: str, value: str, reopened: set[str], kept: set[str]
) -> None:
    done = ready.do(orders.amend_line, line=line, value=value, giver=UNIT, read_back=value)
    ready.do(orders.check_order, by=ILKA, of=done.entries[0], values={line: value}, how="person")
    again = {step for step, view in ready.look().views.items() if view.missing}
    assert reopened <= again
    assert not kept & again


@pytest.mark.source("practice:b", detail="a new order: everything read against it is read anew")
def test_a_new_order_reopens_every_step_that_rests_on_it(ready: Home) -> None:
    ready.do(orders.transcribe, number="9", giver=UNIT, valid_from="2026-04-29", lines=PRESCRIPTION)
    assert {"S9", "S9b", "S10", "S12", "S18", "S18d", "S26"} <= ready.bars()


def test_happened_refuses_a_word_that_reopens_nothing(ready: Home) -> None:
    with wrong("enter.option"):
        ready.do(setup.happened, what="water_restrat")
    assert ready.look().gate_open


def test_happened_refuses_only_without_a_night(home: Home, off: Home) -> None:
    with refused("refuse.no_night"):
        home.do(setup.happened, what="water_restart")
    off.do(setup.happened, what="water_restart")


@pytest.mark.parametrize(("minutes", "late"), [(20, []), (21, ["written_late"])])
@pytest.mark.source("practice:e", detail="H42: from 20 minutes on an entry is marked late")
def test_what_is_written_long_after_says_so(night: Home, minutes: int, late: list[str]) -> None:
    night.clock.pass_time(timedelta(minutes=30))
    seen = night.clock.now().at + timedelta(seconds=5) - timedelta(minutes=minutes)
    done = night.do(setup.answer, question="ill", answer="no", at=seen)
    assert rules(done.findings) == late


@pytest.mark.parametrize(
    ("deed", "inputs"),
    [
        (setup.tick, {"step": "S1"}),
        (setup.choose, {"step": "S4", "name": "filter_gauges", "option": "changed"}),
        (setup.start_wait, {"step": "S3"}),
        (setup.skip, {"step": "S1", "reason": "late"}),
        (setup.set_machine, {"line": "blood_flow", "typed": "230"}),
        (setup.measure, {"quantity": "pulse", "typed": "70"}),
        (setup.measure, {"quantity": "oxygen_saturation", "typed": "97"}),
        (setup.use_lot, {"item": "saline", "lot": "S1"}),
        (setup.use_lot, {"item": "gloves", "lot": "G1"}),
        (rereading.second_check, {"step": "S5", "how": "scan", "values": {}}),
    ],
)
def test_nothing_is_marked_without_a_night(home: Home, deed: Any, inputs: dict[str, Any]) -> None:
    before = len(home.entries())
    with refused("refuse.no_night"):
        home.do(deed, **inputs)
    assert len(home.entries()) == before
