"""Units that a household chooses: how a bare number is read, what is said back, and that nothing drifts."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.core.errors import UnitError
from ebbwell.core.findings import say_finding
from ebbwell.core.quantity import Quantity
from ebbwell.rulebook.evaluate import evaluate
from ebbwell.rulebook.load import load_rulebook
from ebbwell.rulebook.own_units import (
    CHOICES,
    PLACES,
    choice_of,
    entered,
    field_unit,
    in_own,
    in_units,
    item_of,
    said,
    said_apart,
    typed_unit,
)
from ebbwell.rulebook.typed import check_typed, read_line, read_quantity, say_question

D = Decimal
BOOK = load_rulebook()
YARD = in_units(BOOK, (("weight", "lb"), ("temperature", "F"), ("glucose", "mg/dL")))


def test_text_and_digest_are_the_same_and_rules_too() -> None:
    assert (YARD.text, YARD.digest) == (BOOK.text, BOOK.digest)
    assert YARD.rules() == BOOK.rules()
    assert YARD != BOOK
    assert in_units(BOOK, ()) is BOOK


def test_what_can_be_chosen_is_what_is_typed_in_two_units() -> None:
    found = {q.id: choice_of(q) for q in BOOK.quantities() if choice_of(q)}
    assert found == {
        "weight_before": "weight",
        "weight_after": "weight",
        "target_weight": "weight",
        "body_temperature": "temperature",
        "fluid_temperature": "temperature",
        "glucose": "glucose",
    }
    assert {line.id: choice_of(line) for line in BOOK.lines() if choice_of(line)} == {
        "target_weight": "weight",
        "fluid_temperature": "temperature",
    }
    for name, units in CHOICES.items():
        for quantity, choice in found.items():
            assert choice != name or BOOK.quantity(quantity).unit == units[0]


@pytest.mark.source("fluids:4.5", detail="1 lb is 0.45359237 kg exactly: 142.2 lb are 64.5008 kg")
def test_a_bare_number_is_in_the_households_unit() -> None:
    assert read_quantity(YARD, "weight_before", "142.2") == (D("64.5"), False, "kg")
    assert read_quantity(YARD, "weight_before", "142.2 lb") == (D("64.5"), False, "kg")
    assert read_quantity(YARD, "weight_before", "64.5 kg") == (D("64.5"), False, "kg")
    assert read_quantity(BOOK, "weight_before", "64.5") == (D("64.5"), False, "kg")
    assert read_line(YARD, "target_weight", "142.2") == "64.5"
    assert read_line(YARD, "target_weight", "64.5 kg") == "64.5"


@pytest.mark.source(
    "practice:a0", detail="glucose 4.5 to 15 mmol/L is 80 to 270 mg/dL, 1.0 to 45 is 18 to 810"
)
@pytest.mark.parametrize(("mmol", "mg"), [("4.5", "81"), ("15", "270"), ("1.0", "18"), ("45", "811")])
def test_blood_sugar_in_both_units(mmol: str, mg: str) -> None:
    assert abs(read_quantity(YARD, "glucose", mg)[0] - D(mmol)) < D("0.05")
    assert in_own(YARD, BOOK.quantity("glucose"), D(mmol)) == (D(mg), "mg/dL")


@pytest.mark.source("practice:a0", detail="F typed, 95 to 106, is 35.0 to 41.1 C")
@pytest.mark.parametrize(("f", "c"), [("95", "35.0"), ("106", "41.1"), ("98.6", "37.0"), ("100", "37.8")])
def test_temperature_in_both_units(f: str, c: str) -> None:
    value, _, unit = read_quantity(YARD, "body_temperature", f)
    assert unit == "C"
    assert value.quantize(D("0.1")) == D(c)


@pytest.mark.hazard("H28")
def test_blood_sugar_without_a_choice_still_needs_its_unit() -> None:
    pounds_only = in_units(BOOK, (("weight", "lb"),))
    for book in (BOOK, pounds_only):
        with pytest.raises(UnitError):
            read_quantity(book, "glucose", "80")
        assert typed_unit(book, BOOK.quantity("glucose")) == ""
        assert field_unit(book, "glucose") == "mmol/L / mg/dL"
    assert field_unit(YARD, "glucose") == "mg/dL"


def test_the_field_says_the_unit_that_its_bare_number_is_read_in() -> None:
    for quantity in BOOK.quantities():
        for book in (BOOK, YARD):
            unit = typed_unit(book, quantity)
            if not unit or quantity.words or quantity.unit in ("tries", "of 10"):
                continue
            bare = read_quantity(book, quantity.id, "37")
            assert bare == read_quantity(book, quantity.id, f"37 {unit}"), quantity.id
            assert field_unit(book, quantity.id) == unit


def numbers(low: int, high: int, places: int) -> st.SearchStrategy[Decimal]:
    return st.integers(low * 10**places, high * 10**places).map(lambda n: D(n).scaleb(-places))


@pytest.mark.parametrize(
    ("name", "unit", "low", "high"),
    [("weight_before", "lb", 44, 661), ("body_temperature", "F", 86, 110), ("glucose", "mg/dL", 18, 810)],
)
@pytest.mark.hazard("H6")
def test_what_was_typed_comes_back_whole(name: str, unit: str, low: int, high: int) -> None:
    @given(numbers(low, high, PLACES[unit]))
    def comes_back(typed: Decimal) -> None:
        kept, _, _ = read_quantity(YARD, name, f"{typed} {unit}")
        assert in_own(YARD, BOOK.quantity(name), kept) == (typed, unit)
        again, _, _ = read_quantity(YARD, name, str(in_own(YARD, BOOK.quantity(name), kept)[0]))
        assert again == kept

    comes_back()


@given(numbers(45, 661, 1))
def test_a_target_weight_from_a_paper_in_pounds_comes_back_whole(typed: Decimal) -> None:
    line = BOOK.line("target_weight")
    kept = D(read_line(YARD, "target_weight", str(typed)))
    assert in_own(YARD, line, kept)[0] == typed


def test_said_back_with_both() -> None:
    weight = BOOK.quantity("weight_before")
    assert said(YARD, weight, D("64.5")) == "142.2 lb (64.5 kg)"
    assert said(BOOK, weight, D("64.5")) == "64.5 kg"
    assert said_apart(YARD, weight, D("0.5")) == "1.1 lb (0.5 kg)"
    assert said_apart(YARD, BOOK.quantity("body_temperature"), D("0.5")) == "0.9 F (0.5 C)"
    assert said_apart(BOOK, weight, D("0.5")) == "0.5 kg"


def test_what_was_typed_is_kept_with_its_unit_where_it_was_changed() -> None:
    assert entered(YARD, "weight_before", "142.2") == "142.2 lb"
    assert entered(BOOK, "weight_before", "142.2 lb") == "142.2 lb"
    assert entered(BOOK, "weight_before", "142.2", "lb") == "142.2 lb"
    assert entered(YARD, "weight_before", "64.5 kg") == ""
    assert entered(BOOK, "weight_before", "64.5") == ""
    assert entered(YARD, "pulse", "70") == ""
    assert entered(YARD, "fluid_temperature", "97.7") == "97.7 F"
    assert item_of(BOOK, "no_such_thing") is None


@pytest.mark.hazard("H6")
def test_a_number_off_an_instrument_in_the_usual_unit_is_asked_about() -> None:
    value, _, _ = read_quantity(YARD, "weight_before", "66.3")
    (asked, *_) = check_typed(YARD, "weight_before", value, others={"weight_after@last": D("64.5")})
    assert asked.key == "other_unit"
    words = say_question(asked)
    assert "66.3 lb" in words
    assert "66.3 kg" in words
    cold, _, _ = read_quantity(YARD, "body_temperature", "37.0")
    assert check_typed(YARD, "body_temperature", cold)[0].key == "other_unit"


def test_the_asked_range_is_told_in_the_households_unit() -> None:
    value, _, _ = read_quantity(YARD, "glucose", "300")
    (asked,) = check_typed(YARD, "glucose", value)
    words = say_question(asked)
    assert "300 mg/dL" in words
    assert "270 mg/dL (15 mmol/L)" in words


def test_a_finding_tells_values_and_limits_in_the_households_unit() -> None:
    hot = Quantity(D("38.0"), "C")
    (found,) = (f for f in evaluate(YARD, {"body_temperature": hot}) if f.rule == "body_temperature_high")
    assert "100.4 F (38.0 C)" in say_finding(found)
    assert found.grade is evaluate(BOOK, {"body_temperature": hot})[0].grade
    after = {"weight_after": Quantity(D("65.5"), "kg"), "weight_after@expected": Quantity(D("64.5"), "kg")}
    (off,) = (f for f in evaluate(YARD, after) if f.rule == "weight_after_off")
    params = dict(off.params)
    assert params["value"] == "144.4 lb (65.5 kg)"
    assert params["change"] == "2.2 lb (1.0 kg)"
    assert params["limit"] == "1.1 lb (0.5 kg)"


@given(numbers(30, 43, 1))
def test_a_choice_of_units_changes_no_judgement(celsius: Decimal) -> None:
    facts = {"body_temperature": Quantity(celsius, "C"), "fluid_temperature": Quantity(celsius, "C")}
    ours = [(f.rule, f.grade, f.fact) for f in evaluate(BOOK, facts)]
    assert [(f.rule, f.grade, f.fact) for f in evaluate(YARD, facts)] == ours
