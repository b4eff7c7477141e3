"""Ways round a guard that the deeds close: by a side door, by a correction, by taking back what took place."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from ebbwell.deeds import comeoff, night, orders, people, record, rereading, setup, upkeep
from ebbwell.deeds.another_night import NIGHT_WAS_RUN
from ebbwell.deeds.connect import already_running, connect
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.mend import FIELDS
from ebbwell.journal.kinds import known_kinds
from ebbwell.journal.kinds.marks import Corrected, Measured, Skipped
from ebbwell.journal.kinds.night import CameOff, Given, Reading
from ebbwell.procedure.holds import Status
from ebbwell.sim.household import BRAM, ILKA, PRESCRIPTION, TOVE, UNIT
from ebbwell.state.night import Phase, carer_in_charge, pump_stopped
from tests.deeds import homes
from tests.deeds.homes import wrong
from tests.hazards.home import MINUTE, Home, beside, refused


@pytest.mark.hazard("H11")
@pytest.mark.source("practice:e", detail="H11: the rule is in the deed that writes")
def test_a_setting_is_not_measured_past_its_step(night: Home) -> None:
    with wrong("enter.no_step"):
        night.do(setup.measure, quantity="blood_flow", place="setting", typed="230")
    assert not night.look().treatment.of("measured")


@pytest.mark.hazard("H11")
def test_a_question_is_not_answered_under_another_step(night: Home) -> None:
    with wrong("enter.no_step"):
        night.do(setup.answer, question="tests_failed_first", answer="no", step="S0")
    with refused("refuse.shut"):
        night.do(setup.answer, question="tests_failed_first", answer="no")


@pytest.mark.hazard("H13")
@pytest.mark.source("practice:e", detail="H13: at least 20 s, or another person")
def test_a_word_that_it_was_scanned_is_no_second_reading_of_a_vial(night: Home) -> None:
    night.until("S18")
    night.do(setup.measure, quantity="heparin_strength", typed="1000")
    with wrong("enter.how"):
        night.do(rereading.second_check, step="S18", how="scan", values={"heparin_strength": "1000"})
    assert night.status("S18") is Status.SECOND


@pytest.mark.hazard("H3")
@pytest.mark.hazard("H13")
@pytest.mark.source("practice:e", detail="H3: first pass 64.5, second 65.4: not in force")
def test_a_second_check_that_differs_is_not_corrected_into_one_that_agrees(home: Home) -> None:
    paper = {"number": "4", "giver": UNIT, "valid_from": "2026-04-29", "lines": PRESCRIPTION}
    first = home.do(orders.transcribe, **paper).entries[0]
    again = {**PRESCRIPTION, "target_weight": "65.4"}
    check = home.do(orders.check_order, by=ILKA, of=first, values=again, how="person").entries[0]
    with wrong("enter.field"):
        home.do(record.correct, of=check, changes={"agrees": "true"}, reason="it does")
    order = home.look().scene.order
    assert order is not None
    assert order.waiting == (first,)


@pytest.mark.hazard("H26")
@pytest.mark.hazard("H61")
def test_no_figure_of_a_plan_is_corrected(ready: Home) -> None:
    plan = ready.look().treatment.of("plan")[0].id
    with wrong("enter.field"):
        ready.do(record.correct, of=plan, changes={"figures.fluid_to_remove": "5.0 L"}, reason="more came on")


@pytest.mark.parametrize(
    ("kind", "changes"),
    [
        ("pinned", {"procedure_digest": "0" * 64}),
        ("readback", {"shown.target_weight": "60"}),
        ("measured", {"quantity": "systolic"}),
        ("measured", {"place": "tank1"}),
        ("measured", {"value.of": "3"}),
        ("choice", {"step": "S30"}),
        ("tick", {"step": "S14"}),
        ("lot_used", {"scanned": "true"}),
        ("second_check", {"of": "x"}),
        ("waited", {"step": "S22"}),
        ("answer", {"answer": "perhaps"}),
    ],
)
@pytest.mark.hazard("H11")
def test_what_an_entry_is_about_is_not_corrected(ready: Home, kind: str, changes: dict[str, str]) -> None:
    fact = ready.look().treatment.of(kind)[0]
    with wrong("enter.option" if changes.get("answer") else "enter.field"):
        ready.do(record.correct, of=fact.id, changes=changes, reason="a slip")
    assert not ready.look().treatment.of("corrected")
    assert ready.look().gate_open


def test_only_known_kinds_and_their_own_fields_can_be_corrected() -> None:
    kinds = known_kinds()
    assert FIELDS.keys() <= kinds.keys()
    for kind, fields in FIELDS.items():
        assert fields <= set(kinds[kind].__struct_fields__), kind
        assert not fields & {"allows", "agrees", "signed_off", "scanned", "rests_on", "of", "step", "stage"}


def test_a_corrected_time_stands_on_the_homes_clock_and_has_been(ready: Home) -> None:
    fact = ready.look().treatment.at_slot("measured", "pulse", "")[0]
    with wrong("enter.field"):
        ready.do(record.correct, of=fact.id, changes={"at": "half past six"}, reason="wrong time")
    with wrong("enter.future"):
        ready.do(record.correct, of=fact.id, changes={"at": "2027-01-01T09:00"}, reason="wrong time")
    ready.do(record.correct, of=fact.id, changes={"at": "2026-04-29T18:30"}, reason="wrong time")
    now = ready.look().treatment.at_slot("measured", "pulse", "")[0]
    assert now.at == datetime.fromisoformat("2026-04-29T17:30+00:00")


def test_a_corrected_setting_is_read_as_its_line(ready: Home) -> None:
    fact = ready.look().treatment.at_slot("measured", "sodium", "setting")[0]
    with wrong("line.outside"):
        ready.do(record.correct, of=fact.id, changes={"value": "1370"}, reason="read it again")
    ready.do(record.correct, of=fact.id, changes={"value": "138"}, reason="read it again")
    assert (ready.status("S26"), ready.why("S26")) == (Status.BARRED, "hold.setting_differs")


@pytest.mark.hazard("H38")
def test_a_value_found_later_takes_the_place_of_not_measured(weighing: Home) -> None:
    done = weighing.do(setup.measure, quantity="weight_before", not_measured="the scale was flat")
    weighing.do(record.correct, of=done.entries[0], changes={"value": "66.3"}, reason="read off the scale")
    body = weighing.look().treatment.at_slot("measured", "weight_before", "")[0].body
    assert isinstance(body, Measured)
    assert (body.value, body.unit, body.not_measured) == ("66.3", "kg", "")


def test_an_amount_is_corrected_to_a_number_only(running: Home) -> None:
    done = running.do(night.give, what="saline", typed="200", unit="mL")
    with wrong("number.not_plain"):
        running.do(record.correct, of=done.entries[0], changes={"amount": "a cup"}, reason="a guess")
    running.do(record.correct, of=done.entries[0], changes={"amount": "250,0"}, reason="read the bag")
    body = running.look().treatment.of("given")[0].body
    assert isinstance(body, Given)
    assert body.amount == "250.0"


def test_a_corrected_time_of_coming_off_can_be_read(off: Home) -> None:
    fact = off.look().treatment.of("came_off")[0]
    with wrong("enter.field"):
        off.do(record.correct, of=fact.id, changes={"times.pump_stopped": "early"}, reason="looked again")
    at = off.clock.now().at - 10 * MINUTE
    off.do(record.correct, of=fact.id, changes={"times.pump_stopped": at.isoformat()}, reason="looked again")
    assert pump_stopped(off.look().treatment) == at


@pytest.mark.hazard("H2")
def test_a_line_changed_by_phone_outlives_a_correction_of_the_prescription(home: Home) -> None:
    amended = home.do(
        orders.amend_line, line="target_weight", value="64.0", giver=UNIT, read_back="64.0"
    ).entries[0]
    home.do(orders.check_order, by=ILKA, of=amended, values={"target_weight": "64"}, how="person")
    paper = home.look().standing.of("prescription")[0]
    done = home.do(record.correct, of=paper.id, changes={"giver": "Night team"}, reason="another name")
    home.do(orders.check_order, by=ILKA, of=done.entries[0], values=PRESCRIPTION, how="person")
    order = home.look().scene.order
    assert order is not None
    assert order.waiting == ()
    assert order.lines["target_weight"] == "64.0"


@pytest.mark.hazard("H24")
def test_a_recall_is_found_however_its_letters_are_typed(night: Home) -> None:
    night.until("S12")
    night.pass_step("S12")
    night.do(upkeep.recall_lot, item="dialyser", lot=" d4410", told_by=UNIT)
    assert night.status("S12") is not Status.MET
    pack = {"code": "D-18", "lot": "D4410", "expiry": "2027-06-30", "scanned": True}
    night.do(
        setup.use_lot, item="dialyser", instead_of=(night.look().treatment.of("lot_used")[-1].id,), **pack
    )
    assert night.why("S12") == "hold.lot.recalled"


@pytest.mark.hazard("H55")
def test_an_offer_taken_back_or_taken_up_is_not_taken_up_again(running: Home) -> None:
    six = ("well", "calm", "7.5 h", "all", "C1", "none")
    first = running.do(people.offer_hand_over, to_person=TOVE, six_lines=six).entries[0]
    running.do(record.withdraw, of=first, reason="she is asleep")
    with refused("refuse.no_offer"):
        running.do(people.accept_hand_over, by=TOVE, offer=first)
    offer = running.do(people.offer_hand_over, to_person=TOVE, six_lines=six).entries[0]
    accepted = running.do(people.accept_hand_over, by=TOVE, offer=offer).entries[0]
    back = running.do(people.offer_hand_over, by=TOVE, to_person=BRAM, six_lines=six).entries[0]
    running.do(people.accept_hand_over, by=BRAM, offer=back)
    with refused("refuse.no_offer"):
        running.do(people.accept_hand_over, by=TOVE, offer=offer)
    with refused("refuse.cannot_withdraw"):
        running.do(record.withdraw, of=accepted, reason="a slip")
    assert carer_in_charge(running.look().treatment) == BRAM


def test_blood_written_down_by_mistake_is_put_right_forwards_and_never_taken_back(ready: Home) -> None:
    ran = ready.do(already_running).entries[0]
    with refused("refuse.blood_stays"):
        ready.do(record.withdraw, of=ran, reason="a slip of the thumb")
    assert ready.look().phase is Phase.RUNNING
    ready.do(record.correct, of=ran, changes={"words": "no blood ran"}, reason="a slip of the thumb")
    ready.do(comeoff.come_off, blood_returned="none", words="no blood ran")
    ready.do(comeoff.person_safe, sure=(comeoff.UNSAID,))
    desk = ready.look()
    left = [v.step.id for v in desk.views.values() if v.step.gate == "close" and not v.passed]
    ready.do(comeoff.close, because=dict.fromkeys(left, "no blood ran"))
    ready.do(setup.open_night, sure=(NIGHT_WAS_RUN,))
    assert ready.look().phase is Phase.SETTING_UP
    assert len(ready.bars()) > 30
    with refused("refuse.gate"):
        ready.do(connect)


@pytest.mark.hazard("H73")
@pytest.mark.source("practice:e", detail="H73: a takeover reopens all")
def test_a_takeover_is_not_taken_back_to_revive_old_marks(ready: Home) -> None:
    other = beside(ready)
    other.do(people.take_over_here, words="the first computer broke")
    ready.house.take_in(other.entries())
    mine = ready.do(people.take_over_here, words="it works again").entries[0]
    assert len(ready.bars()) > 30
    with refused("refuse.cannot_withdraw"):
        ready.do(record.withdraw, of=mine, reason="a slip")
    with wrong("enter.field"):
        ready.do(record.correct, of=mine, changes={"stage": "offered"}, reason="a slip")
    with refused("refuse.gate"):
        ready.do(connect)


def test_connecting_is_not_dated_ahead(ready: Home) -> None:
    with wrong("enter.future"):
        ready.do(connect, at=ready.clock.now().at + timedelta(hours=1))
    ready.do(connect)


def test_a_time_without_a_zone_never_reaches_the_record(running: Home) -> None:
    before = len(running.entries())
    with pytest.raises(ValueError, match="zone"):
        running.do(night.stop_now, at=datetime(2026, 4, 29, 21, 0))  # noqa: DTZ001
    assert len(running.entries()) == before


@pytest.mark.hazard("H56")
@pytest.mark.source("practice:e", detail="H56: nothing blocks coming off, whatever another store sent")
def test_entries_that_make_no_sense_lock_nobody_out() -> None:
    home = homes.fork(homes.running())
    home.do(night.read, values={"systolic": "120", "diastolic": "70"}, when="start")
    other = beside(home)
    first = home.look().treatment.of("reading")[0].id
    pulse = home.look().treatment.at_slot("measured", "pulse", "")[0].id

    def nonsense(desk: Desk) -> None:
        desk.add(Measured(quantity="weight_before", value="heavy", unit="kg"))
        desk.add(Measured(quantity="systolic", value="NaN", unit="mmHg"))
        desk.add(Measured(quantity="blood_flow", place="setting", value="fast", unit="mL/min"))
        desk.add(Given(what="saline", amount="some", unit="mL"))
        desk.add(Reading(values={"fluid_removed": "much", "systolic": "Infinity"}))
        desk.add(CameOff(times={"pump_stopped": "at dawn"}, blood_returned="all"))
        desk.add(Corrected(of=first, changes={"values": "none"}), replaces=(first,))
        desk.add(Corrected(of=pulse, changes={"at": "yesterday"}), replaces=(pulse,))

    other.do(nonsense)
    home.house.take_in(other.entries())
    values = {"systolic": "118", "diastolic": "70", "fluid_removed": "1.00"}
    home.do(night.read, values=values, sure=("past_limit", "outside_expected"))
    home.do(comeoff.come_off)
    home.do(comeoff.person_safe, sure=(comeoff.UNSAID,))
    assert "pulse" not in home.look().scene.facts
    assert [entry.envelope.kind for entry in home.look().treatment.not_understood()] == ["corrected"] * 2
    assert home.sheet()


def _second_look(home: Home) -> None:
    values = {"total_chlorine@tank1": "0.03"}
    home.do(rereading.second_check, by=ILKA, step="S5", how="person", values=values)


def _tested_water() -> tuple[Home, str]:
    home = homes.opened()
    home.until("S9")
    return home, home.look().treatment.at_slot("measured", "total_chlorine", "tank1")[0].id


@pytest.mark.hazard("H9")
@pytest.mark.source("practice:e", detail="H9: a chlorine result from before the carbon change")
def test_a_correction_makes_no_result_newer_than_the_carbon() -> None:
    home, result = _tested_water()
    home.do(setup.happened, what="carbon_changed")
    home.do(record.correct, of=result, changes={"lot": "CT7713"}, reason="read the lot again")
    assert home.status("S5") is Status.STALE
    home.pass_step("S5")
    assert home.status("S5") is Status.MET


@pytest.mark.hazard("H9")
@pytest.mark.hazard("H42")
@pytest.mark.parametrize("restarted", [False, True])
def test_a_result_written_down_late_is_no_newer_than_the_carbon(restarted: bool) -> None:
    home, result = _tested_water()
    seen = home.clock.now().at
    home.clock.pass_time(10 * MINUTE)
    home.do(setup.happened, what="carbon_changed")
    if restarted:
        home.clock.restart("boot-2")
        home.do(setup.answer, question="clock_right", answer="yes")
    again = {"quantity": "total_chlorine", "place": "tank1", "typed": "0.03", "method": "meter"}
    late = home.do(setup.measure, at=seen, instead_of=(result,), **again).entries[0]
    assert home.status("S5") is Status.STALE
    home.clock.pass_time(MINUTE)
    home.do(setup.measure, instead_of=(late,), at=home.clock.now().at - timedelta(seconds=30), **again)
    assert home.status("S5") is Status.SECOND
    _second_look(home)
    assert home.status("S5") is Status.MET


@pytest.mark.hazard("H18")
@pytest.mark.source("practice:e", detail="H18: after a jump of the clock the time since isn't known")
def test_a_correction_makes_no_time_known_that_a_jump_of_the_clock_took() -> None:
    home, result = _tested_water()
    home.clock.step_wall(timedelta(hours=-1))
    home.do(record.correct, of=result, changes={"lot": "CT7713"}, reason="read the lot again")
    assert home.why("S5") == "hold.clock"


@pytest.mark.hazard("H57")
@pytest.mark.source("practice:e", detail="H57: merged entries are facts; they meet no hold point")
def test_correcting_a_merged_value_does_not_make_it_ones_own(night: Home) -> None:
    night.until("S29")
    other = beside(night)

    def offline(desk: Desk) -> None:
        desk.add(Measured(quantity="weight_before", value="66.3", unit="kg", step="S29"))

    other.do(offline)
    night.house.take_in(other.entries())
    theirs = night.look().treatment.at_slot("measured", "weight_before", "")[0].id
    night.do(record.correct, of=theirs, changes={"value": "66.4"}, reason="read it again")
    assert not night.look().views["S29"].passed


@pytest.mark.hazard("H73")
def test_correcting_a_mark_from_before_a_takeover_does_not_revive_it(ready: Home) -> None:
    other = beside(ready)
    other.do(people.take_over_here, words="the first computer broke")
    theirs = other.look().treatment.at_slot("choice", "S4", "filter_gauges")[0].id
    other.do(record.correct, of=theirs, changes={"option": "changed"}, reason="looked again")
    assert other.look().views["S4"].by == ()


def test_correcting_what_was_said_of_the_needles_leaves_the_time_they_went_in(ready: Home) -> None:
    marks = ready.look().treatment.at_slot("choice", "S30", "flashback")
    ready.clock.pass_time(10 * MINUTE)
    ready.do(record.correct, of=marks[0].id, changes={"option": "both_needles"}, reason="looked again")
    assert ready.bars() == set()


@pytest.mark.parametrize("unit", ["ml", "mL", " millilitres "])
@pytest.mark.hazard("H27")
@pytest.mark.source("practice:e", detail="H27: saline forgotten; each amount counts")
def test_what_was_given_counts_however_its_unit_is_spelled(running: Home, unit: str) -> None:
    running.do(night.give, what="saline", typed="200", unit=unit)
    running.do(night.give, what="a medicine", typed="2", unit=" tablets")
    bodies = [f.body for f in running.look().treatment.of("given") if isinstance(f.body, Given)]
    assert [body.unit for body in bodies[-2:]] == ["mL", "tablets"]


@pytest.mark.hazard("H11")
@pytest.mark.source("practice:e", detail="H11: the rule is in the deed that writes")
def test_blood_is_not_dated_before_what_the_gate_rests_on(ready: Home) -> None:
    ready.clock.pass_time(MINUTE)
    with refused("refuse.before_checks"):
        ready.do(connect, at=ready.clock.now().at - timedelta(hours=1))
    ready.do(connect, at=ready.clock.now().at - timedelta(seconds=5))
    assert len(ready.look().treatment.of("connected")) == 1


@pytest.mark.hazard("H27")
@pytest.mark.source("practice:e", detail="H27: saline forgotten; each amount counts")
def test_a_unit_put_right_counts_in_the_spelling_that_sums_go_by(running: Home) -> None:
    given = running.do(night.give, what="saline", typed="250", unit="L").entries[0]
    running.do(record.correct, of=given, changes={"unit": "ml"}, reason="it was millilitres")
    body = running.look().treatment.of("given")[-1].body
    assert isinstance(body, Given)
    assert body.unit == "mL"


def test_a_quantity_of_a_newer_program_stops_no_reading_and_no_coming_off(running: Home) -> None:
    def newer(desk: Desk) -> None:
        desk.add(Measured(quantity="of_next_year", value="3", unit="mL"))

    other = beside(running)
    other.do(newer)
    running.house.take_in(other.entries())
    running.do(night.read, values={"systolic": "130", "diastolic": "74"})
    running.do(comeoff.come_off)
    running.do(comeoff.person_safe, sure=(comeoff.UNSAID,))
    assert len(running.look().treatment.of("safe")) == 1


@pytest.mark.hazard("H51")
def test_a_lost_text_of_the_rules_stops_nothing_once_blood_runs(running: Home) -> None:
    shipped = running.house.rulebook
    most = shipped.limit("rejection_least").highest
    running.house.rulebook = shipped.with_limits({"rejection_least": most})
    state = running.house.state
    state.standing = state.standing.copy()
    state.standing.replaced |= {f.id: frozenset({"lost"}) for f in state.standing.of("pinned")}
    state.standing._live = None
    running.do(night.read, values={"systolic": "130", "diastolic": "74"})
    running.do(night.stop_now)
    running.do(comeoff.come_off)
    assert len(running.look().treatment.of("came_off")) == 1


def test_no_step_is_left_out_of_a_closed_sheet_without_a_word(off: Home) -> None:
    off.pass_step("C12")
    off.pass_step("C16")
    left = [v.step.id for v in off.look().views.values() if v.step.gate == "close" and not v.passed]
    off.do(comeoff.close, because={**dict.fromkeys(left, "not done in this test"), "C12": " "})
    treatment = off.entries()[-1].envelope.treatment
    skips = [f.body for f in off.house.look(treatment=treatment).treatment.of("skipped")]
    assert [body for body in skips if isinstance(body, Skipped) and not body.reason] == []
    assert "C12" not in {body.step for body in skips if isinstance(body, Skipped)}
