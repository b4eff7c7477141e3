"""Figures in the household's units: what stands beside them, and that rounding never hides a difference."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.core.quantity import Quantity
from ebbwell.core.reader import read_by
from ebbwell.core.thousands import thousands
from ebbwell.journal.kinds.marks import Measured
from ebbwell.journal.kinds.night import Reading
from ebbwell.papers.own_figures import (
    both,
    both_text,
    number_here,
    own,
    own_text,
    unit_here,
)
from ebbwell.papers.words import figure_value, limit_value, line_value, measured_words, reading_words
from ebbwell.rulebook.evaluate import evaluate
from ebbwell.rulebook.load import load_rulebook
from ebbwell.rulebook.own_units import in_units

D = Decimal
YARD = (("weight", "lb"), ("temperature", "F"), ("glucose", "mg/dL"))
BOOK = load_rulebook()
YARD_BOOK = in_units(BOOK, YARD)


def test_without_a_choice_a_figure_stays_as_it_is() -> None:
    for text in ("64.5 kg", "36.5 C", "4.75 mL/kg/h", "missing", "22:00", "", "1 + 34"):
        assert own_text(text) == both_text(text) == text


@pytest.mark.source("fluids:4.5", detail="1 lb is 0.45359237 kg: 64.5 kg / 0.45359237 is 142.198 lb")
def test_a_figure_of_the_order_keeps_its_own_beside_it() -> None:
    with read_by(YARD):
        assert own(D("64.5"), "kg") == own_text("64.5 kg") == figure_value("64.5 kg") == "142.2 lb"
        assert both(D("64.5"), "kg") == both_text("64.5 kg") == "142.2 lb (64.5 kg)"
        assert line_value("target_weight", "64.5") == "142.2 lb (64.5 kg)"


@pytest.mark.source("fluids:4.5", detail="1 lb is 0.45359237 kg: 64.5 kg / 0.45359237 is 142.198 lb")
def test_a_paper_for_the_clinic_has_the_ordered_figure_first() -> None:
    with read_by(YARD, kept_first=True):
        assert own_text("64.5 kg") == both_text("64.5 kg") == "64.5 kg = 142.2 lb"
        typed = Measured(quantity="weight_before", value="64.5", unit="kg", entered="142.2 lb")
        assert measured_words(typed) == "64.5 kg = 142.2 lb"
    with read_by(YARD):
        assert measured_words(typed) == "142.2 lb = 64.5 kg"


@pytest.mark.source(
    "arithmetic", detail="36.5 C x 9 / 5 + 32 is 97.7 F; 0.5 C apart is 0.9 F apart; 37.8 C is 100.04 F"
)
def test_warmth_and_a_difference_of_warmth() -> None:
    with read_by(YARD):
        assert own_text("36.5 C") == "97.7 F"
        assert number_here(D("0.5"), "C", apart=True) == "0.9"
        assert limit_value("fluid_temperature_off", "0.5", "C") == "0.9 F (0.5 C)"
        assert limit_value("body_temperature", "37.8", "C") == "100.0 F (37.8 C)"


@pytest.mark.source("practice:a0", detail="glucose 15 mmol/L is 270 mg/dL; sodium has no choice of unit")
def test_an_amount_in_a_litre_is_changed_only_for_blood_sugar() -> None:
    with read_by(YARD):
        assert own_text("15 mmol/L", "glucose") == "270 mg/dL"
        assert own_text("137 mmol/L") == "137 mmol/L"
        assert unit_here("mmol/L") == "mmol/L"
        sugar = Measured(quantity="glucose", value="15", unit="mmol/L")
        assert measured_words(sugar) == "270 mg/dL (15 mmol/L)"


def test_machine_settings_and_rates_for_each_kg_stay() -> None:
    with read_by(YARD):
        for text in ("307 mL/h", "300 mL/min", "13.8 mS/cm", "4.75 mL/kg/h", "23.3 units/kg", "2.3 L"):
            assert own_text(text) == both_text(text) == text


def fevers(celsius: Decimal) -> tuple[str, str]:
    """A body temperature over the line for calling, and that line, as the finding has them."""
    facts = {"body_temperature": Quantity(celsius, "C")}
    found = {one.rule: dict(one.params) for one in evaluate(YARD_BOOK, facts, only=["body_temperature"])}
    both_sides = [params for params in found.values() if "limit" in params]
    return both_sides[0]["value"], both_sides[0]["limit"]


@pytest.mark.hazard("H6")
@pytest.mark.source(
    "arithmetic", detail="37.81 C is 100.058 F and 37.8 C 100.04: 100.1 and 100.0 with one decimal"
)
@pytest.mark.source(
    "arithmetic", detail="37.801 C is 100.0418 F: 100.0 and 100.04 are the line's figures too"
)
@pytest.mark.parametrize(
    ("celsius", "shown"),
    [
        ("37.81", ("100.1 F (37.81 C)", "100.0 F (37.8 C)")),
        ("37.801", ("100.042 F (37.801 C)", "100.040 F (37.8 C)")),
    ],
)
def test_a_finding_shows_both_sides_with_the_same_decimals(celsius: str, shown: tuple[str, str]) -> None:
    assert fevers(D(celsius)) == shown


@pytest.mark.hazard("H6")
@given(st.integers(37_801, 42_000).map(lambda n: D(n).scaleb(-3)))
def test_what_is_over_the_line_is_never_shown_at_it(celsius: Decimal) -> None:
    value, line = (D(text.split()[0]) for text in fevers(celsius))
    assert value > line
    assert value.as_tuple().exponent == line.as_tuple().exponent


@pytest.mark.source("arithmetic", detail="36.6 C x 9 / 5 + 32 is 97.88 F")
def test_a_reading_typed_in_the_kept_unit_has_the_household_s_first() -> None:
    body = Reading(values={"body_temperature": "36.6", "pulse": "70"})
    with read_by(YARD):
        assert "97.9 F (36.6 C)" in reading_words(body)
    assert "36.6 C" in reading_words(body)


@pytest.mark.source(
    "common practice", detail="no source: digits in threes from five digits on, no mark in four"
)
@pytest.mark.parametrize(
    ("plain", "shown"),
    [
        ("11250 units", "11\u00a0250 units"),
        ("1500 units", "1500 units"),
        ("1234567 CFU/mL", "1\u00a0234\u00a0567 CFU/mL"),
        ("25000 units/mL", "25\u00a0000 units/mL"),
        ("0.12345 L", "0.12345 L"),
        ("H31025 code", "H31025 code"),
        ("12345.67 L", "12\u00a0345.67 L"),
    ],
)
def test_thousands_have_a_mark_that_is_no_decimal_one(plain: str, shown: str) -> None:
    assert thousands(plain) == shown
