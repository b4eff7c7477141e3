"""Choosing units: between nights only; what is typed is kept with its unit; two choices disagree openly."""

from __future__ import annotations

from decimal import Decimal

import pytest

from ebbwell.deeds import night, orders, record, setup
from ebbwell.deeds.desk import Asked
from ebbwell.deeds.units import choose_units
from ebbwell.journal.kinds.marks import Measured
from ebbwell.journal.kinds.night import Reading
from ebbwell.journal.kinds.units import UnitsChosen
from ebbwell.papers.describe import describe
from ebbwell.papers.night_now import last_values
from ebbwell.rulebook.load import load_rulebook
from ebbwell.sim.elsewhere import written_elsewhere
from ebbwell.sim.household import UNIT
from ebbwell.state.units import chosen_units
from tests.deeds.homes import wrong
from tests.hazards.home import Home, moved_in, refused

D = Decimal
YARD = {"weight": "lb", "temperature": "F", "glucose": "mg/dL"}


def chosen(home: Home, **units: str) -> str:
    return home.do(choose_units, **{**YARD, **units}).entries[0]


def test_before_a_choice_the_rulebook_is_the_shipped_one(home: Home) -> None:
    assert home.look().rulebook == load_rulebook()


def test_choose_units_says_how_bare_numbers_are_read(home: Home) -> None:
    chosen(home)
    assert chosen_units(home.look().standing) == tuple(YARD.items())
    assert home.look().rulebook.digest == load_rulebook().digest
    assert describe(home.look().standing.of("units_chosen")[0].body).endswith("lb, F, mg/dL")
    chosen(home, glucose="")
    assert dict(chosen_units(home.look().standing)) == {"weight": "lb", "temperature": "F"}
    (fact,) = home.look().standing.of("units_chosen")
    assert fact.entry.envelope.replaces


@pytest.mark.parametrize("units", [{"weight": "stone"}, {"temperature": "K"}, {"glucose": "lb"}])
def test_choose_units_refuses_a_unit_that_is_none_of_them(home: Home, units: dict[str, str]) -> None:
    with wrong("enter.option"):
        chosen(home, **units)


def test_choose_units_refuses_what_is_chosen_already(home: Home) -> None:
    chosen(home)
    with wrong("enter.units_same"):
        chosen(home)


@pytest.mark.hazard("H6")
def test_choose_units_refuses_while_a_night_is_open(home: Home) -> None:
    home.do(setup.open_night)
    with refused("refuse.units_tonight"):
        chosen(home)


def test_taken_back_the_fields_are_as_before(home: Home) -> None:
    entry = chosen(home)
    home.do(record.withdraw, of=entry, reason="a mistake")
    assert chosen_units(home.look().standing) == ()


@pytest.mark.hazard("H6")
def test_two_choices_made_apart_hold_for_nobody_until_one_is_picked(home: Home) -> None:
    mine = chosen(home)
    other = UnitsChosen(weight="kg", temperature="C")
    home.house.take_in([written_elsewhere(home.house, None, other)])
    assert chosen_units(home.look().standing) == ()
    assert home.look().rulebook == load_rulebook()
    both = tuple(fact.id for fact in home.look().standing.of("units_chosen"))
    home.do(record.settle, of=both, holds=mine, reason="we weigh in pounds")
    assert chosen_units(home.look().standing) == tuple(YARD.items())


def test_a_unit_of_a_newer_program_is_left_out(home: Home) -> None:
    strange = UnitsChosen(weight="stone", temperature="F")
    home.house.take_in([written_elsewhere(home.house, None, strange)])
    assert chosen_units(home.look().standing) == (("temperature", "F"),)


def test_a_weight_in_pounds_is_kept_in_kilograms_and_as_typed() -> None:
    home = moved_in()
    chosen(home)
    home.do(setup.open_night)
    home.until("S29")
    home.do(setup.measure, quantity="weight_before", typed="146.2", sure=("outside_own", "outside_near_high"))
    (fact,) = home.look().treatment.at_slot("measured", "weight_before", "")
    assert isinstance(fact.body, Measured)
    assert (fact.body.value, fact.body.unit, fact.body.typed) == ("66.3", "kg", "146.2")
    assert describe(fact.body).endswith("146.2 lb = 66.3 kg")


@pytest.mark.hazard("H6")
def test_kilograms_typed_where_pounds_are_read_are_asked_about() -> None:
    home = moved_in()
    chosen(home)
    home.do(setup.open_night)
    home.until("S29")
    with pytest.raises(Asked) as caught:
        home.do(setup.measure, quantity="weight_before", typed="66.3")
    assert "other_unit" in {question.key for question in caught.value.questions}
    home.do(setup.measure, quantity="weight_before", typed="66.3 kg")
    (fact,) = home.look().treatment.at_slot("measured", "weight_before", "")
    assert getattr(fact.body, "value", "") == "66.3"
    assert describe(fact.body).endswith(": 66.3 kg")


def test_a_correction_is_read_in_the_same_unit_and_shows_both() -> None:
    home = moved_in()
    chosen(home)
    home.do(setup.open_night)
    home.until("S29")
    done = home.do(setup.measure, quantity="weight_before", typed="66.3 kg")
    home.do(record.correct, of=done.entries[0], changes={"value": "146.4"}, reason="misread")
    (fact,) = home.look().treatment.at_slot("measured", "weight_before", "")
    assert describe(fact.body).endswith("146.4 lb = 66.4 kg")
    home.do(record.correct, of=fact.id, changes={"value": "66.4 kg"}, reason="off the scale")
    (fact,) = home.look().treatment.at_slot("measured", "weight_before", "")
    assert describe(fact.body).endswith(": 66.4 kg")


def test_a_row_keeps_what_was_typed_and_the_night_page_reads_it_back() -> None:
    home = moved_in()
    chosen(home)
    home.do(setup.open_night)
    values = {"body_temperature": "98.7", "glucose": "120", "pulse": "70"}
    home.do(night.read, values=values)
    (fact,) = home.look().treatment.of("reading")
    assert isinstance(fact.body, Reading)
    assert fact.body.entered == {"body_temperature": "98.7 F", "glucose": "120 mg/dL"}
    assert fact.body.values == {"body_temperature": "37.06", "glucose": "6.66", "pulse": "70"}
    words = describe(fact.body)
    assert "98.7 F = 37.06 C" in words
    assert "120 mg/dL = 6.66 mmol/L" in words
    home.do(record.correct, of=fact.id, changes={"values.glucose": "130"}, reason="misread")
    (fact,) = home.look().treatment.of("reading")
    assert "130 mg/dL = 7.2 mmol/L" in describe(fact.body)


def test_the_last_value_of_a_field_stands_in_the_households_unit(running: Home) -> None:
    before = {one.quantity: (one.value, one.unit) for one in last_values(running.look())}
    assert before["pulse"][1] == "/min"
    assert all(unit not in ("F", "lb") for _, unit in before.values())


def test_the_order_is_typed_and_shown_in_pounds(home: Home) -> None:
    chosen(home)
    home.do(orders.amend_line, line="target_weight", value="141.1", giver=UNIT, read_back="141.1 lb")
    (fact,) = home.look().standing.of("line_amended")
    assert getattr(fact.body, "value", "") == "64"
    home.do(orders.amend_line, line="target_weight", value="64.5 kg", giver=UNIT, read_back="142.2")
    assert getattr(home.look().standing.of("line_amended")[0].body, "value", "") == "64.5"
