"""Deeds of setting up that take a figure, a pack or a second reading."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest

from ebbwell.core.errors import EbbwellError
from ebbwell.deeds import rereading, setup
from ebbwell.deeds.typed_limits import past_limit, without_suggestions
from ebbwell.journal.kinds.marks import LotUsed, Measured
from ebbwell.journal.kinds.orders import SecondCheck
from ebbwell.procedure.holds import Status
from ebbwell.rulebook.typed import Question, say_question
from ebbwell.sim.household import BRAM, ILKA
from tests.deeds.homes import wrong
from tests.hazards.home import Home, asked, refused, rules


def _body(home: Home, entry: str) -> Any:
    fact = home.look().treatment.fact(entry)
    assert fact is not None
    return fact.body


def test_measure_keeps_value_unit_and_what_was_typed(weighing: Home) -> None:
    done = weighing.do(setup.measure, quantity="weight_before", typed="66.30 kg", device="hall scale")
    body = _body(weighing, done.entries[0])
    assert isinstance(body, Measured)
    assert (body.value, body.unit, body.typed) == ("66.30", "kg", "66.30 kg")
    assert (body.device, body.step, body.asked) == ("hall scale", "S29", ())


@pytest.mark.source(
    "fluids:4.5", detail="1 lb is 0.45359237 kg; 146 lb is 66.22 kg, shown as the scale shows it"
)
def test_measure_turns_pounds_into_kilograms_when_they_are_named(weighing: Home) -> None:
    done = weighing.do(setup.measure, quantity="weight_before", typed="146", unit="lb")
    body = _body(weighing, done.entries[0])
    assert (body.value, body.unit, body.typed) == ("66.2", "kg", "146 lb")


def test_measure_keeps_less_than_where_the_instrument_says_so(night: Home) -> None:
    night.until("S5")
    test = {"quantity": "total_chlorine", "place": "tank1", "method": "meter", "control": "coloured"}
    done = night.do(setup.measure, typed="<0.02", **test)
    body = _body(night, done.entries[0])
    assert (body.value, body.below, body.typed) == ("0.02", True, "<0.02")
    night.until("S6")
    with wrong("quantity.no_less_than"):
        night.do(setup.measure, quantity="feed_conductivity", typed="<600")


def test_measure_not_measured_is_kept_with_its_reason_and_meets_nothing(weighing: Home) -> None:
    done = weighing.do(setup.measure, quantity="weight_before", not_measured="scale is flat")
    body = _body(weighing, done.entries[0])
    assert (body.value, body.not_measured) == ("", "scale is flat")
    assert (weighing.status("S29"), weighing.why("S29")) == (Status.BARRED, "hold.not_measured")


def test_measure_again_replaces_only_what_was_seen(weighing: Home) -> None:
    first = weighing.do(setup.measure, quantity="weight_before", typed="66.3").entries
    second = weighing.do(setup.measure, quantity="weight_before", typed="66.1").entries
    assert weighing.status("S29") is Status.UNSETTLED
    weighing.do(setup.measure, quantity="weight_before", typed="66.2", instead_of=first + second)
    assert weighing.status("S29") is Status.MET
    assert set(weighing.look().treatment.replaced) >= {*first, *second}


def test_measure_the_same_twice_is_no_disagreement(weighing: Home) -> None:
    weighing.do(setup.measure, quantity="weight_before", typed="66.3")
    weighing.do(setup.measure, quantity="weight_before", typed="66.30")
    assert weighing.status("S29") is Status.MET


def test_measure_asks_and_keeps_the_question_with_the_entry(weighing: Home) -> None:
    before = len(weighing.entries())
    with asked("decimal") as caught:
        weighing.do(setup.measure, quantity="body_temperature", typed="366")
    assert len(weighing.entries()) == before
    keys = tuple(q.key for q in caught.value.questions)
    done = weighing.do(setup.measure, quantity="body_temperature", typed="366", sure=keys)
    assert _body(weighing, done.entries[0]).asked == keys
    assert "kept_though_unlikely" in rules(done.findings)


@pytest.mark.source("practice:a0", detail="37.8 C and over stop; true values are never talked down")
def test_no_other_number_is_offered_for_one_past_a_limit(weighing: Home) -> None:
    desk = weighing.look()
    about = (("quantity", "body_temperature"), ("value", "39.6 C"))
    guessed = Question("digits", 1, (*about, ("suggestion", "36.9 C")), Decimal("36.9"))
    passed = past_limit(desk, "body_temperature", Decimal("39.6"), "C")
    (told,) = without_suggestions([guessed], passed)
    assert (told.key, told.suggestion) == ("past_limit", None)
    assert "The limit for calling is 37.8 C" in say_question(told)
    assert "36.9" not in say_question(told)
    assert past_limit(desk, "body_temperature", Decimal("36.9"), "C") is None
    assert without_suggestions([guessed], None) == (guessed,)
    slip = Question("outside_last", 2, about)
    assert without_suggestions([guessed, slip], passed) == (guessed, slip)


@pytest.mark.parametrize(
    ("inputs", "key"),
    [
        ({"quantity": "pulse", "typed": ""}, "number.empty"),
        ({"quantity": "pulse", "typed": "seventy"}, "number.not_plain"),
        ({"quantity": "pulse", "typed": "7o"}, "unit.unknown"),
        ({"quantity": "pulse", "typed": "-70"}, "quantity.never_below"),
        ({"quantity": "weight_before", "typed": "66.3", "unit": "mmHg"}, "unit.other_kind"),
        ({"quantity": "glucose", "typed": "6"}, "unit.needed"),
        ({"quantity": "mood", "typed": "6"}, "quantity.unknown"),
    ],
)
def test_measure_refuses_what_cannot_be_read(weighing: Home, inputs: dict[str, str], key: str) -> None:
    with pytest.raises(EbbwellError) as caught:
        weighing.do(setup.measure, **inputs)
    assert caught.value.key == key


def test_measure_refuses_a_value_whose_step_is_not_open(night: Home) -> None:
    with refused("refuse.shut"):
        night.do(setup.measure, quantity="total_chlorine", place="tank1", typed="0.03", method="meter")


def test_measure_says_what_the_rules_find(night: Home) -> None:
    night.until("S5")
    done = night.do(
        setup.measure,
        quantity="total_chlorine",
        place="tank1",
        typed="0.15",
        method="meter",
        sure=("outside_asked",),
    )
    assert "chlorine_tank1_over" in rules(done.findings)
    assert night.status("S5") is Status.BARRED


def test_use_lot_keeps_the_label_as_read(night: Home) -> None:
    night.until("S13")
    label = {"code": " T-H2 ", "lot": " T6605 ", "expiry": "2027-01-31", "scanned": True}
    done = night.do(setup.use_lot, item="tubing", **label)
    assert _body(night, done.entries[0]) == LotUsed(
        item="tubing", code="T-H2", lot="T6605", expiry="2027-01-31", scanned=True, step="S13"
    )
    assert (done.findings, night.status("S13")) == ((), Status.MET)


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"intact": False}, "hold.lot.seal"),
        ({"expiry": "31 Jan"}, "hold.lot.expiry_unreadable"),
        ({"expiry": ""}, "hold.lot.expiry_unreadable"),
        ({"expiry": "2026-04-28"}, "hold.lot.expired"),
        ({"code": "D-20"}, "hold.lot.code"),
    ],
)
@pytest.mark.source("practice:b", detail="expired, unreadable expiry, broken seal: the pack isn't used")
def test_use_lot_keeps_a_pack_that_cannot_be_used_and_stays_shut(
    night: Home, change: dict[str, Any], why: str
) -> None:
    night.until("S12")
    label = {"code": "D-18", "lot": "D4410", "expiry": "2027-01-31", "scanned": True}
    done = night.do(setup.use_lot, item="dialyser", **{**label, **change})
    assert rules(done.findings) == ["pack_not_for_tonight"]
    assert dict(done.findings[0].params)["why"] == why
    assert (night.status("S12"), night.why("S12")) == (Status.BARRED, why)
    night.do(setup.use_lot, item="dialyser", instead_of=done.entries, **label)
    assert night.status("S12") is Status.MET


def test_use_lot_on_its_last_day_is_taken(night: Home) -> None:
    night.until("S12")
    done = night.do(
        setup.use_lot, item="dialyser", code="d-18", lot="D4410", expiry="2026-04-29", scanned=True
    )
    assert done.findings == ()


def test_use_lot_without_a_readable_lot_is_care(night: Home) -> None:
    night.until("S13")
    done = night.do(setup.use_lot, item="tubing", code="T-H2", expiry="2027-01-31", scanned=True)
    assert [(f.rule, f.grade.value) for f in done.findings] == [("lot_unreadable", "care")]
    assert night.status("S13") is Status.MET


def test_use_lot_refuses_a_pack_before_its_turn(night: Home) -> None:
    with refused("refuse.shut"):
        night.do(setup.use_lot, item="dialyser", code="D-18", lot="D4410", expiry="2027-01-31")


def _first(night: Home) -> None:
    night.until("S5")
    night.do(
        setup.measure, quantity="total_chlorine", place="tank1", typed="0.03", method="meter", lot="CT7712"
    )
    assert night.status("S5") is Status.SECOND


def test_second_check_by_another_person_meets_the_step(night: Home) -> None:
    _first(night)
    values = {"total_chlorine@tank1": "0.030"}
    with refused("refuse.skill.set_up"):
        night.do(rereading.second_check, by="visitor", step="S5", how="person", values=values)
    done = night.do(rereading.second_check, by=ILKA, step="S5", how="person", values=values)
    body = _body(night, done.entries[0])
    assert isinstance(body, SecondCheck)
    assert (body.agrees, body.how) == (True, "person")
    assert night.status("S5") is Status.MET


def test_second_check_by_photo_keeps_the_name_of_the_photo(night: Home) -> None:
    _first(night)
    values = {"total_chlorine@tank1": "0.03"}
    done = night.do(rereading.second_check, step="S5", how="photo", values=values, photo="p1.jpg")
    assert _body(night, done.entries[0]).values["photo"] == "p1.jpg"
    assert night.status("S5") is Status.MET


def test_second_check_that_differs_is_kept_and_shuts(night: Home) -> None:
    _first(night)
    values = {"total_chlorine@tank1": "0.08"}
    done = night.do(rereading.second_check, step="S5", how="photo", values=values, photo="p1.jpg")
    assert rules(done.findings) == ["second_check_differs"]
    assert _body(night, done.entries[0]).agrees is False
    assert night.status("S5") is Status.BARRED


def test_second_check_left_blank_does_not_agree(night: Home) -> None:
    _first(night)
    done = night.do(rereading.second_check, step="S5", how="photo", values={}, photo="p1.jpg")
    assert _body(night, done.entries[0]).agrees is False
    assert night.status("S5") is Status.BARRED


@pytest.mark.source(
    "practice:e", detail="H13: the second person isn't the first; a second look comes 20 s later"
)
def test_second_check_refuses_one_that_is_none(night: Home) -> None:
    night.until("S5")
    values = {"total_chlorine@tank1": "0.03"}
    with refused("refuse.no_first"):
        night.do(rereading.second_check, step="S5", how="person", values=values)
    _first(night)
    with refused("refuse.same_person"):
        night.do(rereading.second_check, by=BRAM, step="S5", how="person", values=values)
    with refused("refuse.too_soon"):
        night.do(rereading.second_check, step="S5", how="reread", values=values)
    with wrong("enter.photo"):
        night.do(rereading.second_check, step="S5", how="photo", values=values)
    with wrong("enter.how"):
        night.do(rereading.second_check, step="S5", how="by heart", values=values)
    assert night.status("S5") is Status.SECOND


def test_second_look_alone_does_not_do_for_a_colour_strip(night: Home) -> None:
    _first(night)
    night.clock.pass_time(timedelta(seconds=20))
    values = {"total_chlorine@tank1": "0.03"}
    night.do(rereading.second_check, step="S5", how="reread", values=values)
    assert night.status("S5") is Status.SECOND


def test_second_look_names_what_it_looked_at_so_a_new_value_needs_a_new_one(night: Home) -> None:
    _first(night)
    night.pass_step("S5")
    assert night.status("S5") is Status.MET
    seen = tuple(f.id for f in night.look().treatment.at_slot("measured", "total_chlorine", "tank1"))
    night.do(
        setup.measure, quantity="total_chlorine", place="tank1", typed="0.04", method="meter", instead_of=seen
    )
    assert night.status("S5") is Status.SECOND


@pytest.mark.parametrize(
    ("code", "status"), [("T-H2", Status.MET), ("t-h2", Status.MET), ("T-H3", Status.BARRED)]
)
def test_second_check_by_scan_reads_the_code_of_a_pack_typed_by_hand(
    night: Home, code: str, status: Status
) -> None:
    night.until("S13")
    night.do(setup.use_lot, item="tubing", code="T-H2", lot="T6605", expiry="2027-01-31")
    assert night.status("S13") is Status.SECOND
    night.do(rereading.second_check, step="S13", how="scan", values={"tubing": code})
    assert night.status("S13") is status


def test_second_check_takes_codes_letter_for_letter(night: Home) -> None:
    night.until("S13")
    night.do(setup.use_lot, item="tubing", code="007", lot="T6605", expiry="2027-01-31")
    done = night.do(rereading.second_check, step="S13", how="scan", values={"tubing": "7"})
    assert rules(done.findings) == ["second_check_differs"]
