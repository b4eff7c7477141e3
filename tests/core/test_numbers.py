"""One parser for typed numbers: what it reads, what it refuses, and in which words."""

from decimal import Decimal, localcontext

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.core.errors import AmbiguousNumber, InputError
from ebbwell.core.numbers import MAX_TYPED, parse_bound, parse_decimal, parse_limit, plain, without_noise
from ebbwell.core.text import say
from ebbwell.core.thousands import thousands

ARABIC_INDIC = "\u0664\u066b\u0663"
EASTERN = "\u06f6\u06f6.\u06f3"
DEVANAGARI = "\u096a,\u0969"


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        ("4,3", "4.3"),
        ("4.3", "4.3"),
        (" 66.3\t", "66.3"),
        ("0", "0"),
        ("-90", "-90"),
        ("\N{MINUS SIGN}90", "-90"),
        ("\N{EN DASH}90", "-90"),
        ("+7", "7"),
        (ARABIC_INDIC, "4.3"),
        (EASTERN, "66.3"),
        (DEVANAGARI, "4.3"),
        ("1500", "1500"),
        ("1,50", "1.50"),
        ("0,500", "0.500"),
        (".03", "0.03"),
        (",03", "0.03"),
        ("-.5", "-0.5"),
        (",500", "0.500"),
        ("1500,250", "1500.250"),
        ("11 250", "11250"),
        ("11\N{NO-BREAK SPACE}250", "11250"),
        ("4\N{NARROW NO-BREAK SPACE}300", "4300"),
        ("1\N{THIN SPACE}234 567", "1234567"),
        ("-11 250,5", "-11250.5"),
        ("\N{NO-BREAK SPACE}64.8\N{NO-BREAK SPACE}", "64.8"),
    ],
)
def test_reads(typed: str, value: str) -> None:
    assert str(parse_decimal(typed)) == value


@pytest.mark.parametrize(
    ("typed", "key"),
    [
        ("", "number.empty"),
        ("   ", "number.empty"),
        ("1.234,5", "number.two_marks"),
        ("1,234.5", "number.two_marks"),
        ("1.234.567", "number.two_marks"),
        ("4 3", "number.not_plain"),
        ("4 30", "number.not_plain"),
        ("4  300", "number.not_plain"),
        ("0 300", "number.not_plain"),
        ("1 234.567.8", "number.two_marks"),
        ("4'300", "number.not_plain"),
        ("1e5", "number.not_plain"),
        ("NaN", "number.not_plain"),
        ("inf", "number.not_plain"),
        ("-Infinity", "number.not_plain"),
        ("0x10", "number.not_plain"),
        ("1_000", "number.not_plain"),
        ("1/2", "number.not_plain"),
        ("1:34", "number.not_plain"),
        ("66.3 kg", "number.not_plain"),
        ("--4", "number.not_plain"),
        (".", "number.not_plain"),
        (",", "number.not_plain"),
        ("-.", "number.not_plain"),
        ("5.", "number.not_plain"),
        ("\N{SUPERSCRIPT TWO}", "number.not_plain"),
        ("\N{VULGAR FRACTION ONE HALF}", "number.not_plain"),
        ("\N{FACE WITH TEARS OF JOY}", "number.not_plain"),
        ("4\N{FACE WITH TEARS OF JOY}3", "number.not_plain"),
        ("4\n3", "number.not_plain"),
        ("9" * (MAX_TYPED + 1), "number.too_long"),
        ("9" * 10_240, "number.too_long"),
        ("x" * 10_240, "number.too_long"),
    ],
)
@pytest.mark.hazard("H7")
def test_refuses_in_words(typed: str, key: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_decimal(typed)
    assert caught.value.key == key
    words = say(key, **caught.value.params)
    assert words.startswith("Enter ")
    assert len(words) < 200


@pytest.mark.parametrize(
    ("typed", "first", "second"),
    [
        ("1,500", "1.5", "1500"),
        ("1.500", "1.5", "1500"),
        ("25,000", "25", "25000"),
        ("100.000", "100", "100000"),
        ("-1,250", "-1.25", "-1250"),
        ("1,234", "1.234", "1234"),
    ],
)
@pytest.mark.hazard("H7")
def test_two_readings_are_both_shown(typed: str, first: str, second: str) -> None:
    with pytest.raises(AmbiguousNumber) as caught:
        parse_decimal(typed)
    assert f"{first} or {second}" in say(caught.value.key, **caught.value.params)
    assert caught.value.exit_code == 11


def test_a_field_of_three_places_settles_the_reading() -> None:
    assert parse_decimal("1,500", places=3) == Decimal("1.5")
    with pytest.raises(AmbiguousNumber):
        parse_decimal("1,500", places=2)


@pytest.mark.parametrize(
    ("typed", "value", "below"), [("<0.1", "0.1", True), ("< 0,1", "0.1", True), ("0.1", "0.1", False)]
)
def test_below(typed: str, value: str, below: bool) -> None:
    assert parse_limit(typed) == (Decimal(value), below)


@pytest.mark.parametrize(
    ("typed", "value", "sign"),
    [
        ("> 8", "8", ">"),
        (">=8,5", "8.5", ">"),
        ("\N{GREATER-THAN OR EQUAL TO} 1500", "1500", ">"),
        ("<0.1", "0.1", "<"),
        ("4.3", "4.3", ""),
    ],
)
def test_a_bound_has_its_sign(typed: str, value: str, sign: str) -> None:
    assert parse_bound(typed) == (Decimal(value), sign)


@pytest.mark.parametrize("typed", [">", "> <5", "<>5", ">x", ">>5", "> 1.2.3", "< >5"])
def test_a_sign_needs_one_number_behind_it(typed: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_bound(typed)
    assert caught.value.key == "number.empty" or caught.value.params["typed"] == typed


@pytest.mark.parametrize("typed", ["<", "<<1", "<x", "> 1"])
def test_below_nothing(typed: str) -> None:
    with pytest.raises(InputError):
        parse_limit(typed)


@given(st.decimals(allow_nan=False, allow_infinity=False, places=2, min_value=-99999, max_value=99999))
def test_what_is_shown_reads_back(value: Decimal) -> None:
    assert parse_decimal(plain(value)) == value
    assert parse_decimal(plain(value).replace(".", ",")) == value


@given(st.text(max_size=60))
def test_any_text_is_read_or_refused(typed: str) -> None:
    words = ""
    value = Decimal(0)
    try:
        value = parse_decimal(typed)
    except InputError as refused:
        words = say(refused.key, **refused.params)
    assert bool(words) or value.is_finite()


@pytest.mark.source("arithmetic")
@pytest.mark.parametrize(
    ("value", "short"),
    [
        ("451.5000000000000000000000000000001", "451.5"),
        ("450.0000000000000000000000000000001", "450"),
        ("0.33333333333333333333", "0.333333333333"),
        ("7.00", "7.00"),
        ("7.0000001", "7.0000001"),
        ("1e-20", "0"),
    ],
)
def test_a_quotients_last_digits_are_left_off(value: str, short: str) -> None:
    with localcontext() as small:
        small.prec = 6
        assert str(without_noise(Decimal(value))) == short


@pytest.mark.hazard("H7")
def test_a_blank_in_a_field_of_three_places_may_be_a_missed_mark() -> None:
    assert parse_decimal("1 500", places=0) == parse_decimal("1 500", places=2) == 1500
    with pytest.raises(InputError) as caught:
        parse_decimal("1 500", places=3)
    assert caught.value.key == "number.not_plain"


@pytest.mark.hazard("H7")
@given(st.integers(10_000, 999_999_999))
def test_a_number_as_it_is_shown_is_read_as_the_same_one(number: int) -> None:
    assert parse_decimal(thousands(str(number))) == number
