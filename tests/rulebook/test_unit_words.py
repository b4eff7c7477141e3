"""mL typed for units of heparin, or the other way round: said in the words of the field, and nothing is converted."""

from __future__ import annotations

import pytest

from ebbwell.core.errors import AmbiguousNumber, InputError, UnitError
from ebbwell.papers.spoken import error_words
from ebbwell.rulebook.load import load_rulebook
from ebbwell.rulebook.typed import read_line, read_quantity

BOOK = load_rulebook()

LINES = (
    ("heparin_strength", "1000 units", "how many units each mL holds"),
    ("heparin_strength", "1 mL", "how many units each mL holds"),
    ("heparin_strength", "5000 units/5 mL", "how many units each mL holds"),
    ("heparin_strength", "1000 mg/mL", "how many units each mL holds"),
    ("heparin_first_dose", "1.5 mL", "Type the dose in units"),
    ("heparin_first_dose", "25 units/kg", "Type the dose in units"),
    ("heparin_rate", "0.9 mL/h", "Type the units for each hour"),
    ("heparin_rate", "900 units", "Type the units for each hour"),
    ("heparin_dead_space", "1000 units", "how many mL the heparin line holds"),
    ("heparin_stop_before_end", "60 mL", "Type the minutes, or the hours"),
)

QUANTITIES = (
    ("heparin_strength", "1000 units", "how many units each mL holds"),
    ("heparin_rate_ml", "900 units/h", "in mL/h"),
    ("heparin_rate_ml", "0.9 mL", "in mL/h"),
    ("heparin_given", "900 units", "how many mL the heparin pump shows"),
    ("heparin_first_dose", "1.5 mL", "Type the dose in units"),
)


@pytest.mark.source("fluids:0", detail="refuse, don't guess: heparin without units per mL")
@pytest.mark.parametrize(("line", "typed", "words"), LINES)
def test_a_line_in_another_unit_is_refused_in_its_own_words(line: str, typed: str, words: str) -> None:
    with pytest.raises(UnitError) as caught:
        read_line(BOOK, line, typed)
    said = error_words(caught.value)
    assert said.startswith(f"{typed} ")
    assert words in said


@pytest.mark.source("fluids:0", detail="refuse, don't guess: heparin without units per mL")
@pytest.mark.parametrize(("quantity", "typed", "words"), QUANTITIES)
def test_a_value_in_another_unit_is_refused_in_its_own_words(quantity: str, typed: str, words: str) -> None:
    with pytest.raises(UnitError) as caught:
        read_quantity(BOOK, quantity, typed)
    said = error_words(caught.value)
    assert said.startswith(f"{typed} ")
    assert words in said


def test_other_fields_keep_the_words_for_all_units() -> None:
    for quantity, typed, key in (
        ("venous_pressure", "120 mL", "unit.other_kind"),
        ("pulse", "70 apples", "unit.unknown"),
    ):
        with pytest.raises(UnitError) as caught:
            read_quantity(BOOK, quantity, typed)
        assert caught.value.key == key


@pytest.mark.source("fluids:3.3", detail="1,000, 5,000 and 25,000 units/mL are all sold")
@pytest.mark.parametrize("typed", ["5,000", "1,000", "25,000", "1.000"])
@pytest.mark.parametrize("field", ["heparin_strength", "heparin_first_dose", "heparin_rate"])
def test_a_mark_for_thousands_is_never_guessed_at(field: str, typed: str) -> None:
    for read in (read_line, read_quantity):
        if field == "heparin_rate" and read is read_quantity:
            continue
        with pytest.raises(AmbiguousNumber):
            read(BOOK, field, typed)


@pytest.mark.parametrize(
    ("line", "typed", "stored"),
    [
        ("heparin_strength", "1000 units/mL", "1000"),
        ("heparin_strength", "1000 IU/mL", "1000"),
        ("heparin_first_dose", "1500 units", "1500"),
        ("heparin_rate", "900 units/h", "900"),
        ("heparin_stop_before_end", "1 h", "60"),
        ("heparin_dead_space", "1.0 mL", "1.0"),
    ],
)
def test_the_right_unit_may_be_typed_with_the_number(line: str, typed: str, stored: str) -> None:
    assert read_line(BOOK, line, typed) == stored


@pytest.mark.source("practice:a0", detail="first dose 0-10,000 units; rate 0-3,000 units/h")
@pytest.mark.parametrize(("line", "typed"), [("heparin_first_dose", "10001"), ("heparin_rate", "3001")])
def test_too_many_units_send_back_to_the_paper(line: str, typed: str) -> None:
    with pytest.raises(InputError) as caught:
        read_line(BOOK, line, typed)
    assert caught.value.key == "line.outside"
