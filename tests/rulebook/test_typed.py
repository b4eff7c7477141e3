"""Typed figures: what is asked, what is suggested, what is refused, and the lines of a prescription."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.core import text
from ebbwell.core.errors import AmbiguousNumber, InputError, UnitError
from ebbwell.core.numbers import plain
from ebbwell.rulebook.load import load_rulebook
from ebbwell.rulebook.typed import Question, check_typed, read_line, read_quantity, say_question

BOOK = load_rulebook()
D = Decimal
WEIGHTS = [D("64.0"), D("65.1"), D("66.3"), D("66.9"), D("64.4")]


def asked(
    quantity: str,
    value: str,
    own: list[Decimal] | None = None,
    expected: str | None = None,
    others: Mapping[str, str] | None = None,
) -> tuple[Question, ...]:
    awaited = D(expected) if expected else None
    fields = {key: D(one) for key, one in (others or {}).items()}
    return check_typed(BOOK, quantity, D(value), own=own or (), expected=awaited, others=fields)


def refusal(ask: Callable[[], object]) -> InputError | None:
    """The refusal, once its words were found; None where nothing is refused."""
    try:
        ask()
    except InputError as refused:
        text.say(refused.key, **refused.params)
        return refused
    return None


def keys(questions: tuple[Question, ...]) -> list[tuple[str, int]]:
    return [(question.key, question.level) for question in questions]


@pytest.mark.source("practice:e", detail="H5: 46.8 typed with a history of 64 to 67 is asked")
@pytest.mark.hazard("H5")
def test_swapped_digits_are_asked_about_and_no_weight_is_named() -> None:
    (question,) = asked("weight_before", "46.8", own=WEIGHTS)
    assert (question.key, question.level, question.suggestion) == ("digits", 1, D("64.8"))
    (after,) = asked("weight_after", "46.8", expected="64.5", others={"weight_before": "66.3"})
    assert (after.key, after.suggestion) == ("digits", D("64.8"))
    assert say_question(after) == (
        "You typed 46.8 kg for weight after. Did two digits change places? Read it again and type what you see."
    )


@pytest.mark.source("practice:e", detail="H5: only a value that is odd itself is asked about")
def test_digits_are_asked_about_only_where_the_value_is_odd_itself() -> None:
    # 64.6 turned round is 66.4, the middle of the other nights; 66.4 turned round is 64.6, nearer to the last weight.
    others = {"weight_after@last": "64.5", "target_weight": "64.5", "days_since_last": "2"}
    usual = [D("66.3"), D("66.4"), D("66.5"), D("66.4"), D("66.4")]
    for typed in ("64.6", "66.4", "67.4"):
        assert asked("weight_before", typed, own=usual, others=others) == ()
    (question,) = asked("weight_before", "68.4", own=usual, others=others)
    assert (question.key, question.level) == ("digits", 1)
    assert "64.8" not in say_question(question), "a true 68.4 is not talked down"


@pytest.mark.source("arithmetic", detail="71.0 turned round is 17.0, 01.7 or 70.1: none lies near 66.4")
def test_an_odd_value_that_no_turn_explains_is_told_beside_its_own_past() -> None:
    (question,) = asked("weight_before", "71.0", own=WEIGHTS)
    assert (question.key, question.level, question.suggestion) == ("outside_own", 1, None)


@pytest.mark.source("practice:e", detail="H6: 143 typed, 64.9 awaited, suggests 64.9 kg and waits")
@pytest.mark.hazard("H6")
def test_pounds_are_recognised() -> None:
    for question in (
        *asked("weight_before", "143", expected="64.9"),
        *asked("weight_before", "143", others={"weight_after@last": "64.9"}),
        *asked("weight_before", "143", own=[D("64.9")] * 5),
        *asked("weight_before", "143", others={"target_weight": "64.9"}),
    ):
        assert (question.key, question.level, question.suggestion) == ("pounds", 1, D("64.9"))


@pytest.mark.source("practice:e", detail="H39: 150 typed for arterial pressure is asked")
@pytest.mark.hazard("H39")
def test_arterial_pressure_without_its_minus() -> None:
    question, again = asked("arterial_pressure", "150")
    assert again.level == 2
    assert (question.key, question.suggestion) == ("minus", D(-150))
    assert asked("arterial_pressure", "-150") == ()


@pytest.mark.source("practice:e", detail="H40: 70/130 asks whether they are swapped; after above before asks")
@pytest.mark.hazard("H40")
def test_swapped_fields() -> None:
    (upper,) = asked("systolic", "70", others={"diastolic": "130"})
    assert (upper.key, upper.suggestion) == ("swapped", D(130))
    (lower,) = asked("diastolic", "130", others={"systolic": "70"})
    assert lower.key == "swapped"
    (product,) = asked("product_conductivity", "620", others={"feed_conductivity": "12"})[:1]
    assert product.key == "swapped"
    (after,) = asked("weight_after", "66.9", others={"weight_before": "66.3"})
    assert after.key == "too_near"
    (venous,) = asked("venous_pressure", "-90", others={"arterial_pressure": "120"})
    assert venous.key == "swapped"
    assert asked("systolic", "128", others={"diastolic": "76"}) == ()


@pytest.mark.source("practice:e", detail="H41: 98.6 is asked as 37.0")
@pytest.mark.hazard("H41")
def test_fahrenheit() -> None:
    questions = asked("body_temperature", "98.6")
    assert keys(questions) == [("fahrenheit", 1), ("outside_last", 2)]
    assert questions[0].suggestion == D("37.0")
    assert read_quantity(BOOK, "body_temperature", "98.6 F") == (D("37.0"), False, "C")


@pytest.mark.source("practice:a0", detail="asked ranges of the field dictionary")
@pytest.mark.parametrize(
    ("quantity", "inside", "outside"),
    [
        ("systolic", ("90", "180"), ("89", "181")),
        ("diastolic", ("45", "105"), ("44", "106")),
        ("pulse", ("50", "110"), ("49", "111")),
        ("body_temperature", ("35.5", "37.5"), ("35.4", "37.6")),
        ("oxygen_saturation", ("92", "100"), ("91",)),
        ("glucose", ("4.5", "15"), ("4.4", "15.1")),
        ("total_chlorine", ("0.00", "0.05"), ("0.06",)),
        ("hardness", ("17",), ("18",)),
        ("fluid_ph", ("6.9", "7.6"), ("6.8", "7.7")),
        ("fluid_temperature", ("35.0", "37.5"), ("34.9", "37.6")),
        ("fluid_to_remove", ("3.5",), ("3.6",)),
        ("treatment_minutes", ("300", "600"), ("299", "601")),
        ("saline_given", ("500",), ("510",)),
        ("drinks", ("1000",), ("1050",)),
        ("bleeding_minutes", ("15",), ("16",)),
        ("needle_tries", ("1",), ("2",)),
        ("pain", ("4",), ("5",)),
    ],
)
def test_asked_range(quantity: str, inside: tuple[str, ...], outside: tuple[str, ...]) -> None:
    assert [asked(quantity, value) for value in inside] == [()] * len(inside)
    for value in outside:
        (question,) = asked(quantity, value)
        assert question.level == 1
        assert value in say_question(question)


@pytest.mark.source("practice:a0", detail="last ranges of the field dictionary")
@pytest.mark.parametrize(
    ("quantity", "low", "high"),
    [
        ("weight_before", "20.0", "300.0"),
        ("systolic", "40", "280"),
        ("diastolic", "20", "180"),
        ("pulse", "20", "250"),
        ("body_temperature", "30.0", "43.0"),
        ("arterial_pressure", "-400", None),
        ("venous_pressure", "-100", "500"),
        ("transmembrane_pressure", "-150", "600"),
        ("fluid_ph", "5.0", "9.0"),
    ],
)
def test_last_range_is_asked_twice_and_never_refused(quantity: str, low: str, high: str | None) -> None:
    for end, sign in ((low, -1), (high, 1)):
        if end is None:
            continue
        assert [q.level for q in asked(quantity, end)].count(2) == 0
        far = asked(quantity, str(D(end) + sign))
        assert far[-1].level == 2
        assert say_question(far[-1]).startswith("Look once more.")


@pytest.mark.source("practice:a0", detail="last weight after -0.5 kg to +5 % or +1.5 kg a day")
def test_weight_before_against_the_last_weight_after() -> None:
    last = {"weight_after@last": "64.5"}
    assert asked("weight_before", "64.0", others=last) == ()
    assert keys(asked("weight_before", "63.9", others=last)) == [("outside_near", 1)]
    assert asked("weight_before", "67.7", others=last) == ()
    assert len(asked("weight_before", "67.8", others=last)) == 1
    assert asked("weight_before", "66.0", others={**last, "days_since_last": "1"}) == ()
    assert len(asked("weight_before", "66.1", others={**last, "days_since_last": "1"})) == 1


@pytest.mark.source("practice:a0", detail="own +-40 mmHg; own x 2 minutes; own -2 points of rejection")
def test_own_past() -> None:
    own = [D(-90), D(-95), D(-85), D(-90)]
    assert asked("arterial_pressure", "-130", own=own) == ()
    assert keys(asked("arterial_pressure", "-131", own=own)) == [("outside_own", 1)]
    assert keys(asked("bleeding_minutes", "13", own=[D(6), D(6), D(6)])) == [("outside_own_high", 1)]
    assert keys(asked("rejection", "95", own=[D("97.5")] * 3)) == [("outside_own_low", 1)]
    assert asked("arterial_pressure", "-131", own=own[:2]) == ()


@pytest.mark.source("arithmetic", detail="-85 is the highest of -90, -95, -85, and -95 the lowest")
def test_own_nights_are_told_as_they_were_read_and_in_the_order_of_the_dial() -> None:
    (arterial,) = asked("arterial_pressure", "-166", own=[D(-90), D(-95), D(-85)])
    assert "On other nights it was between -85 mmHg and -95 mmHg." in say_question(arterial)
    (venous,) = asked("venous_pressure", "177", own=[D(118), D("120"), D(131)])
    assert "On other nights it was between 118 mmHg and 131 mmHg." in say_question(venous)
    (even,) = asked("venous_pressure", "199", own=[D(120)] * 3)
    assert "On other nights it was 120 mmHg." in say_question(even)
    (bleeding,) = asked("bleeding_minutes", "13", own=[D(6), D(5), D(6)])
    assert "On other nights it was 6 min or less." in say_question(bleeding)


@pytest.mark.source("practice:e", detail="H13, H29: a blind reading isn't told the value it is compared with")
@pytest.mark.hazard("H13")
def test_blind_fields_never_tell_what_is_awaited() -> None:
    for quantity, value, expected in (
        ("heparin_strength", "5000", "1000"),
        ("heparin_rate_ml", "4.5", "0.9"),
        ("blood_flow", "320", "230"),
        ("fluid_to_remove", "3.2", "2.3"),
    ):
        (question,) = asked(quantity, value, expected=expected)
        assert (question.key, question.suggestion) == ("not_as_expected", None)
        assert expected not in say_question(question).replace(value, "")


@pytest.mark.hazard("H8")
def test_chlorine_is_never_offered_a_lower_reading() -> None:
    for value in ("0.1", "0.15", "0.5", "1", "5"):
        assert all(question.suggestion is None for question in asked("total_chlorine", value))


@pytest.mark.parametrize(
    ("quantity", "value"),
    [("weight_before", "-1"), ("rejection", "100.1"), ("oxygen_saturation", "101"), ("pain", "11"), ("pulse", "NaN"),
     ("systolic", "Infinity"), ("treatment_minutes", "-450"), ("fluid_ph", "15")],
)  # fmt: skip
def test_what_cannot_be_true_is_refused_in_words(quantity: str, value: str) -> None:
    with pytest.raises(InputError) as caught:
        asked(quantity, value)
    assert text.say(caught.value.key, **caught.value.params)


@pytest.mark.source("practice:e", detail="H7: one parser; 1,500 is refused with both readings")
@pytest.mark.hazard("H7")
def test_reading_numbers() -> None:
    assert read_quantity(BOOK, "weight_before", "66,3") == (D("66.3"), False, "kg")
    assert read_quantity(BOOK, "weight_before", " 66.30 kg ") == (D("66.30"), False, "kg")
    assert read_quantity(BOOK, "weight_before", "143 lb") == (D("64.9"), False, "kg")
    assert read_quantity(BOOK, "weight_before", "143", "lb") == (D("64.9"), False, "kg")
    assert read_quantity(BOOK, "total_chlorine", "<0,02") == (D("0.02"), True, "mg/L")
    assert read_quantity(BOOK, "treatment_minutes", "7:30") == (D(450), False, "min")
    assert read_quantity(BOOK, "treatment_minutes", "7.5 h") == (D(450), False, "min")
    assert read_quantity(BOOK, "arterial_pressure", "\N{MINUS SIGN}90") == (D(-90), False, "mmHg")
    assert read_quantity(BOOK, "systolic", "١٢٨") == (D(128), False, "mmHg")
    with pytest.raises(AmbiguousNumber):
        read_quantity(BOOK, "saline_given", "1,500")


@pytest.mark.source(
    "practice:a0", detail="glucose: number alone refused; 80 mg/dL is 4.44 mmol/L, 4.4 would be 79"
)
@pytest.mark.hazard("H28")
def test_units_that_must_be_named() -> None:
    with pytest.raises(UnitError):
        read_quantity(BOOK, "glucose", "80")
    assert read_quantity(BOOK, "glucose", "80 mg/dL") == (D("4.44"), False, "mmol/L")
    for typed, unit in (("66.3 cm", None), ("66.3 stone", None), ("66.3 kg", "lb")):
        with pytest.raises(UnitError) as caught:
            read_quantity(BOOK, "weight_before", typed, unit)
        assert text.say(caught.value.key, **caught.value.params)


@pytest.mark.parametrize(
    "typed", ["", " ", "4 3", "1.234,5", "🙂", "1e5", "NaN", "9" * 10_000, "-", "<", "kg"]
)
def test_bad_input_is_refused_in_words(typed: str) -> None:
    with pytest.raises(InputError) as caught:
        read_quantity(BOOK, "weight_before", typed)
    assert text.say(caught.value.key, **caught.value.params)


def test_less_than_only_where_an_instrument_says_so() -> None:
    with pytest.raises(InputError, match="no_less_than"):
        read_quantity(BOOK, "weight_before", "<66")


@pytest.mark.source("fluids:2.1", detail="1 + 34 is 35 parts; 1:34 may mean 34 or 35")
def test_dilution_in_parts() -> None:
    assert read_line(BOOK, "acid_parts", "1 + 34") == "35"
    assert read_line(BOOK, "acid_parts", "35x") == "35"
    assert read_line(BOOK, "acid_parts", "36.83") == "36.83"
    for typed in ("1:34", "34", "44", "1:35"):
        with pytest.raises(InputError, match="parts_two_ways"):
            read_line(BOOK, "acid_parts", typed)


@pytest.mark.parametrize(
    ("line", "typed", "stored"),
    [
        ("treatment_minutes", "7:30", "450"),
        ("treatment_minutes", "7.5 h", "450"),
        ("target_weight", "64,5", "64.5"),
        ("removal_cap", "7 mL/kg/h", "7"),
        ("anticoagulant", "Heparin", "heparin"),
        ("anticoagulant", "no heparin", "none"),
        ("connection", "prime to drain", "prime_to_drain"),
        ("needle_gauge", "15", "15"),
        ("calcium", "1,50", "1.50"),
        ("arterial_limit", "-180", "-180"),
        ("rinse_back", "300 mL", "0.3"),
        ("pattern", " every  other night ", "every other night"),
    ],
)
def test_lines(line: str, typed: str, stored: str) -> None:
    assert read_line(BOOK, line, typed) == stored
    assert read_line(BOOK, line, stored) == stored


@pytest.mark.parametrize(
    ("line", "typed"),
    [
        ("treatment_minutes", "-450"),
        ("treatment_minutes", "1926"),
        ("target_weight", "645"),
        ("removal_cap", "70"),
        ("potassium", "20"),
        ("anticoagulant", "yes"),
        ("arterial_limit", "180"),
        ("heparin_strength", "1,000"),
        ("dialyser", "x" * 300),
        ("dialyser", "   "),
        ("sodium", "137 kg"),
    ],
)
def test_lines_refused_with_the_words_of_the_label(line: str, typed: str) -> None:
    with pytest.raises(InputError) as caught:
        read_line(BOOK, line, typed)
    words = text.say(caught.value.key, **caught.value.params)
    if caught.value.key.startswith("line."):
        assert text.say(f"line.{line}") in words


def test_heparin_lines_are_needed_with_heparin_only() -> None:
    rate = BOOK.line("heparin_rate")
    assert rate.needed({"anticoagulant": "heparin"})
    assert not rate.needed({"anticoagulant": "none"})
    assert BOOK.line("sodium").needed({})


def test_direction_of_risk() -> None:
    assert BOOK.line("removal_cap").looser("7", "8")
    assert not BOOK.line("removal_cap").looser("8", "7")
    assert BOOK.line("arterial_limit").looser("-180", "-200")
    assert BOOK.line("potassium").looser("2", "3")
    assert BOOK.line("potassium").looser("3", "2")
    assert not BOOK.line("reading_schedule").looser("a", "b")
    assert BOOK.line("access").looser("fistula", "catheter")


IDS = st.sampled_from([quantity.id for quantity in BOOK.quantities()])
NUMBERS = st.decimals(-500, 2000, places=2)


@given(IDS, NUMBERS, st.lists(NUMBERS, max_size=12), st.none() | NUMBERS, NUMBERS)
def test_any_value_is_asked_about_or_refused_in_words(
    id: str, value: Decimal, own: list[Decimal], expected: Decimal | None, other: Decimal
) -> None:
    quantity = BOOK.quantity(id)
    names = [n for n in (quantity.more_than, quantity.less_than, quantity.swaps_with) if n]
    names += [near.other for near in quantity.near]
    others = dict.fromkeys(names, other)
    refused = refusal(lambda: check_typed(BOOK, id, value, own=own, expected=expected, others=others))
    if refused:
        assert refused.key in ("quantity.never_below", "quantity.never_above")
        return
    questions = check_typed(BOOK, id, value, own=own, expected=expected, others=others)
    assert len(questions) <= 2
    for question in questions:
        assert plain(value) in say_question(question)
        assert question.suggestion != value
    outside = not quantity.last_low <= value <= quantity.last_high  # type: ignore[operator]
    assert any(question.level == 2 for question in questions) is outside


@given(IDS, st.text(max_size=60), st.none() | st.sampled_from(["kg", "lb", "mmHg", "C", "F", "x"]))
def test_any_text_is_read_or_refused_in_words(id: str, typed: str, unit: str | None) -> None:
    if refusal(lambda: read_quantity(BOOK, id, typed, unit)) is None:
        assert read_quantity(BOOK, id, typed, unit)[0].is_finite()


@given(st.sampled_from([line.id for line in BOOK.lines()]), st.text(max_size=60))
def test_any_line_is_read_or_refused_in_words(id: str, typed: str) -> None:
    if refusal(lambda: read_line(BOOK, id, typed)) is None:
        stored = read_line(BOOK, id, typed)
        assert read_line(BOOK, id, stored) == stored


@pytest.mark.parametrize(
    ("typed", "whole"),
    [("1 : 1.83 : 34", "36.83"), ("1 + 1.225 + 32.775", "35.000"), ("1:1,775:42,2", "44.975")],
)
@pytest.mark.source("fluids:F1", detail="acid : bicarbonate : water of the families; 36.83 is fluids:F2")
def test_a_dilution_of_three_numbers_reads_one_way(typed: str, whole: str) -> None:
    assert read_line(BOOK, "acid_parts", typed) == whole
