"""The household's own texts: signed words in force until their date, and a number that is never guessed."""

from __future__ import annotations

from datetime import timedelta

import pytest

from ebbwell.deeds import record, texts
from ebbwell.journal.kinds.house import SITUATIONS, EmergencyDetails, FieldOrder, FirstAction
from ebbwell.papers.first_actions import emergency_lines, first_action_lines, unit_calls
from ebbwell.sim.elsewhere import START_OF_CHAIN, written_elsewhere
from ebbwell.state.fields import READING_ORDER, field_order
from ebbwell.state.texts import emergency, first_action
from tests.deeds.homes import wrong
from tests.hazards.home import Home

SIGNED = {
    "situation": "bleeding",
    "words": "Pump off. Clamp. Press. Call us.",
    "signed_by": "Northmere Kidney Unit",
    "signed_on": "2026-04-01",
}
HOUSE = {"number": "00 000", "address": "3 Saltmarsh Row", "how_to_find": "blue door, light on"}


def _lines(home: Home, situation: str = "bleeding") -> tuple[str, ...]:
    desk = home.look()
    return first_action_lines(desk.standing, situation, desk.now)


@pytest.mark.source(
    "practice:d", detail="needle out, air, alarm that returns, low pressure, power, wet mat, chest"
)
def test_write_first_action_is_shown_with_signer_and_date(home: Home) -> None:
    assert len(SITUATIONS) == 8
    home.do(texts.write_first_action, **SIGNED)
    assert _lines(home) == (SIGNED["words"], "Signed: Northmere Kidney Unit, 1 April 2026")
    assert first_action(home.look().standing, "air", home.clock.now()) is None


@pytest.mark.hazard("H58")
@pytest.mark.parametrize("situation", SITUATIONS)
def test_without_signed_words_there_are_three_verbs_and_no_more(home: Home, situation: str) -> None:
    assert _lines(home, situation) == ("Stop. Clamp. Call. As you were taught.",)


@pytest.mark.hazard("H74")
def test_words_are_void_after_their_last_day_at_home(home: Home) -> None:
    home.do(texts.write_first_action, **SIGNED, valid_until="2026-04-29")
    assert _lines(home)[0] == SIGNED["words"]
    home.clock.pass_time(timedelta(hours=5, minutes=50))
    assert home.clock.now().at.isoformat() < "2026-04-29T23:00"
    assert _lines(home)[0] == SIGNED["words"]
    home.clock.pass_time(timedelta(minutes=15))
    first, why = _lines(home)
    assert first.startswith("Stop. Clamp. Call.")
    assert "past their date" in why


def test_write_first_action_takes_the_place_of_the_text_before(home: Home) -> None:
    home.do(texts.write_first_action, **SIGNED)
    done = home.do(texts.write_first_action, **{**SIGNED, "words": "Clamp first."})
    assert _lines(home)[0] == "Clamp first."
    home.do(record.withdraw, of=done.entries[0], reason="the unit took it back")
    assert _lines(home) == ("Stop. Clamp. Call. As you were taught.",)


def test_two_texts_that_differ_show_neither(home: Home) -> None:
    home.do(texts.write_first_action, **SIGNED)
    other = FirstAction(**{**SIGNED, "words": "Something else."})
    home.house.take_in([written_elsewhere(home.house, None, other, START_OF_CHAIN)])
    assert _lines(home)[0] == "Stop. Clamp. Call. As you were taught."
    home.do(texts.write_first_action, **SIGNED)
    assert _lines(home)[0] == SIGNED["words"]


def test_write_first_action_refuses_what_nobody_signed(home: Home) -> None:
    for field, value, key in (
        ("situation", "sunburn", "enter.option"),
        ("words", " ", "enter.words"),
        ("signed_by", "", "enter.signed_by"),
        ("signed_on", "spring", "enter.signed_on"),
        ("signed_on", "2026-05-01", "enter.signed_on"),
        ("valid_until", "2026-03-31", "enter.valid_until"),
        ("valid_until", "soon", "enter.valid_until"),
    ):
        with wrong(key):
            home.do(texts.write_first_action, **{**SIGNED, field: value})


def test_enter_emergency_details_is_read_out(home: Home) -> None:
    home.do(texts.enter_emergency_details, **HOUSE)
    assert emergency(home.look().standing) == EmergencyDetails(**HOUSE)
    assert emergency_lines(home.look().standing) == (
        "Number to call: 00 000",
        "Say this address: 3 Saltmarsh Row",
        "How to find the door: blue door, light on",
    )
    home.do(texts.enter_emergency_details, number="11 111", address="4 Saltmarsh Row")
    assert emergency_lines(home.look().standing)[0] == "Number to call: 11 111"


def test_enter_emergency_details_keeps_the_numbers_of_the_unit(home: Home) -> None:
    numbers = {"unit_number": "+00 100", "unit_hours": "8 to 18", "unit_other": "00 101"}
    home.do(texts.enter_emergency_details, **HOUSE, **numbers)
    assert emergency_lines(home.look().standing)[3:] == (
        "Your unit: +00 100 (8 to 18)",
        "Your unit at other hours: 00 101",
    )
    day, other = unit_calls(home.look().standing)
    assert (day.tel, other.tel) == ("+00100", "00101")
    home.do(texts.enter_emergency_details, **HOUSE, unit_other="00 101")
    (only,) = unit_calls(home.look().standing)
    assert only.words == "Your unit at other hours: 00 101"
    home.do(texts.enter_emergency_details, **HOUSE)
    assert unit_calls(home.look().standing) == ()


@pytest.mark.hazard("H36")
@pytest.mark.source("practice:e", detail="H36: empty number: not filled in, not a guess")
def test_a_number_that_nobody_entered_is_not_filled_in(home: Home) -> None:
    assert emergency(home.look().standing) is None
    (line,) = emergency_lines(home.look().standing)
    assert "not filled in" in line
    assert not any(char.isdigit() for char in line)


@pytest.mark.hazard("H36")
def test_two_numbers_that_differ_are_not_chosen_from(home: Home) -> None:
    home.do(texts.enter_emergency_details, **HOUSE)
    other = EmergencyDetails(**{**HOUSE, "number": "11 111"})
    home.house.take_in([written_elsewhere(home.house, None, other, START_OF_CHAIN)])
    assert "not filled in" in emergency_lines(home.look().standing)[0]


def test_enter_emergency_details_can_be_put_right(home: Home) -> None:
    entry = home.do(texts.enter_emergency_details, **HOUSE).entries[0]
    home.do(record.correct, of=entry, changes={"number": "00 001"}, reason="one digit was wrong")
    held = emergency(home.look().standing)
    assert held is not None
    assert held.number == "00 001"


def test_enter_emergency_details_refuses_a_number_without_digits(home: Home) -> None:
    with wrong("enter.phone_number"):
        home.do(texts.enter_emergency_details, number="the unit", address="3 Saltmarsh Row")
    with wrong("enter.phone_number"):
        home.do(texts.enter_emergency_details, **HOUSE, unit_number="the ward")
    with wrong("enter.address"):
        home.do(texts.enter_emergency_details, number="00 000", address=" ")


def test_order_fields_sets_which_fields_are_asked_and_in_which_order(home: Home) -> None:
    assert field_order(home.look().standing) == READING_ORDER
    home.do(texts.order_fields, fields=("venous_pressure", "pulse"))
    assert field_order(home.look().standing) == ("venous_pressure", "pulse")
    entry = home.do(texts.order_fields, fields=("pulse",)).entries[0]
    assert field_order(home.look().standing) == ("pulse",)
    home.do(record.withdraw, of=entry, reason="back to the usual")
    assert field_order(home.look().standing) == READING_ORDER


def test_order_fields_refuses_a_name_that_is_no_quantity(home: Home) -> None:
    for fields in ((), ("pulse", "pulse"), ("moon",)):
        with wrong("enter.fields"):
            home.do(texts.order_fields, fields=fields)


def test_the_usual_order_names_quantities_alone(home: Home) -> None:
    known = {quantity.id for quantity in home.look().rulebook.quantities()}
    assert set(READING_ORDER) <= known
    other = FieldOrder(fields=("pulse",))
    home.do(texts.order_fields, fields=("systolic",))
    home.house.take_in([written_elsewhere(home.house, None, other, START_OF_CHAIN)])
    assert field_order(home.look().standing) == READING_ORDER
