"""What a number box says of a text that is no single number, and what it takes as one."""

from __future__ import annotations

from decimal import Decimal

import pytest

from ebbwell.core.errors import EbbwellError, InputError
from ebbwell.core.numbers import parse_decimal, parse_limit
from ebbwell.core.units import convert, in_water
from ebbwell.papers.spoken import error_words
from ebbwell.rulebook.load import load_rulebook
from ebbwell.rulebook.typed import read_quantity

BOOK = load_rulebook()


def told(quantity: str, typed: str) -> str:
    """What is said of a text in the box of a quantity."""
    with pytest.raises(EbbwellError) as caught:
        read_quantity(BOOK, quantity, typed)
    return error_words(caught.value)


@pytest.mark.parametrize(
    "typed",
    ["0.1-0.2", "0.1 - 0.2", "0,1\N{EN DASH}0,2", "0.1 to 0.2", "<0.1-0.2", "0.1-0.2 mg/L"],
)
def test_two_numbers_are_refused_as_two(typed: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_limit(typed)
    assert caught.value.key == "number.two"


@pytest.mark.parametrize(
    ("typed", "number"), [(">2", "2"), ("> 2", "2"), (">=2", "2"), ("\N{GREATER-THAN OR EQUAL TO}2", "2")]
)
def test_more_than_is_refused_and_the_sign_named(typed: str, number: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_decimal(typed)
    assert (caught.value.key, caught.value.params["number"]) == ("number.more_than", number)


@pytest.mark.parametrize(
    ("typed", "value"), [("-5", "-5"), ("-0.1", "-0.1"), ("+3", "3"), ("11 250", "11250"), (".03", "0.03")]
)
def test_a_single_number_is_never_taken_for_two(typed: str, value: str) -> None:
    assert parse_decimal(typed) == Decimal(value)


def test_less_than_that_cannot_be_read_is_told_as_it_was_typed() -> None:
    for typed in ("<=0.1", "<abc"):
        with pytest.raises(InputError) as caught:
            parse_limit(typed)
        assert error_words(caught.value).endswith(f"You typed {typed}")


@pytest.mark.source("fluids:1.1", detail="keep the sign for less than")
@pytest.mark.parametrize("typed", ["<0.1", "< 0.1", "<0,1 mg/L", "<0.1 ppm"])
def test_chlorine_less_than_keeps_its_sign(typed: str) -> None:
    assert read_quantity(BOOK, "total_chlorine", typed) == (Decimal("0.1"), True, "mg/L")


@pytest.mark.source("arithmetic", detail="fluids 0: 1 mg/L in water is 1 ppm, 1 ug/L is 1 ppb")
def test_parts_by_mass_in_water() -> None:
    assert read_quantity(BOOK, "total_chlorine", "0.1 ppm") == (Decimal("0.1"), False, "mg/L")
    assert (
        read_quantity(BOOK, "total_chlorine", "100 PPB")[0]
        == convert(Decimal(100), "ug/L", "mg/L")
        == Decimal("0.1")
    )
    assert in_water("mmol/L") == "mmol/L"


@pytest.mark.hazard("H8")
@pytest.mark.parametrize(
    ("typed", "words"),
    [
        (">2", "Is 2 itself over your limit? Then enter 2."),
        (">0.05", "write >0.05 as the reason why it was not measured"),
        ("0.1-0.2", "Between two steps of the test, enter the higher one. You typed 0.1-0.2"),
        ("TNTC", "For no colour, enter < and the first step of the test, like <0.1. You typed TNTC"),
        ("no colour", "You typed no colour"),
        ("0.1?", "Enter the number in mg/L, which is the same as ppm. You typed 0.1?"),
        ("0.1 mmHg", "Enter the number in mg/L"),
    ],
)
def test_the_box_for_chlorine_says_what_to_do(typed: str, words: str) -> None:
    assert words in told("total_chlorine", typed)


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("<600", "type the number itself, without the < sign"),
        (">2000", "Enter the number itself, without the > sign, like 66.3. You typed >2000"),
        ("600-620", "You typed two: 600 and 620"),
        ("TNTC", "Enter just the number, like 66.3. You typed TNTC"),
        ("620 ppm", "620 ppm is no conductivity. Set the meter to uS/cm or mS/cm."),
    ],
)
def test_another_box_of_the_water_says_what_to_do(typed: str, words: str) -> None:
    assert words in told("feed_conductivity", typed)
