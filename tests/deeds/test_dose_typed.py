"""A dose of heparin as typed once it was given: with its unit, beside the order, asked about where the two differ."""

from __future__ import annotations

from decimal import Decimal

import pytest

from ebbwell.core.text import say
from ebbwell.deeds import orders, record
from ebbwell.deeds.desk import Asked
from ebbwell.deeds.dose_typed import ordered_dose, read_ready_dose
from ebbwell.deeds.night import give
from ebbwell.journal.kinds.night import Given
from ebbwell.rulebook.typed import say_question
from ebbwell.sim.household import PRESCRIPTION
from ebbwell.state.night_thinner import READY_DOSE
from tests.deeds.homes import wrong
from tests.hazards.home import Home, night_open, rules

WITHOUT = {name: value for name, value in PRESCRIPTION.items() if not name.startswith("heparin")}
SAID = "4000 IU at the start"


def low(said: str = SAID) -> Home:
    """A night with one dose of low molecular heparin, connected."""
    home = night_open({**WITHOUT, "anticoagulant": "low_molecular", "low_molecular_dose": said})
    home.connected()
    return home


def doubted(home: Home, **inputs: str) -> str:
    """What is asked before it is kept, in words."""
    with pytest.raises(Asked) as caught:
        home.do(give, **inputs)
    (question,) = caught.value.questions
    assert not [f for f in home.look().treatment.of("given") if f.body.what == inputs["what"]]  # type: ignore[attr-defined]
    return say_question(question)


@pytest.mark.source("fluids:3.4", detail="units differ between products, IU anti-Xa or mg: never convert")
@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("4000 IU", ("4000", "IU")),
        ("4000iu", ("4000", "IU")),
        ("4 000 IU", ("4 000", "IU")),
        (" 3500 I.U. ", ("3500", "IU")),
        ("3500 IU anti-Xa", ("3500", "IU")),
        ("40 mg", ("40", "mg")),
        ("0.5 MG", ("0.5", "mg")),
        ("5000 units", ("5000", "units")),
    ],
)
def test_a_ready_dose_is_read_with_the_unit_of_its_label(typed: str, read: tuple[str, str]) -> None:
    assert read_ready_dose(typed) == read


@pytest.mark.parametrize(
    "typed", ["4000", "0.4 mL", "0.4ml", "4000 IU/mL", "IU", "one syringe", "", "4000 g", "mg 40"]
)
def test_give_refuses_a_ready_dose_without_its_unit_and_one_in_millilitres(typed: str) -> None:
    home = low()
    with wrong("enter.ready_dose"):
        home.do(give, what=READY_DOSE, typed=typed, unit="")
    words = say("enter.ready_dose", typed=typed)
    assert "the number, then IU, units or mg" in words
    assert "mL" in words


@pytest.mark.source("fluids:3.4", detail="never converted; the order's own words beside it")
def test_give_keeps_the_ready_dose_as_ordered_with_who_ordered_it() -> None:
    home = low()
    done = home.do(give, what=READY_DOSE, typed="4000 IU", unit="")
    (fact,) = home.look().treatment.of("given")
    order = home.look().scene.order
    assert order is not None
    giver = order.body.giver
    assert fact.body == Given(what=READY_DOSE, amount="4000", unit="IU", medicine=True, ordered_by=giver)
    assert rules(done.findings) == []
    assert f"low molecular heparin: 4000 IU. Ordered by {giver} (ordered {SAID})" in home.sheet()


@pytest.mark.source(
    "fluids:3.1", detail="unusual: differs from the prescription by any amount, show both side by side"
)
@pytest.mark.parametrize("typed", ["400 IU", "4500 IU", "4000 mg", "4000 units", "40 mg"])
def test_give_asks_about_a_ready_dose_that_is_not_the_ordered_one(typed: str) -> None:
    home = low()
    words = doubted(home, what=READY_DOSE, typed=typed, unit="")
    assert f"You typed {typed}. The order says: {SAID}." in words
    home.do(give, what=READY_DOSE, typed=typed, unit="", sure=("ready_dose_apart",))
    (fact,) = home.look().treatment.of("given")
    assert isinstance(fact.body, Given)
    assert f"{fact.body.amount} {fact.body.unit}" == typed, "what went in can always be written down"


@pytest.mark.parametrize("said", ["as on the paper", "2000 IU, then 2000 IU after 4 h"])
def test_give_asks_nothing_where_the_order_says_no_one_dose(said: str) -> None:
    home = low(said)
    home.do(give, what=READY_DOSE, typed="4000 IU", unit="")
    assert f"(ordered {said})" in home.sheet(), "both stand side by side all the same"


@pytest.mark.source("arithmetic", detail="1,500 units of 1,000 units/mL are 1.5 mL")
def test_give_asks_about_a_first_dose_typed_in_millilitres(running: Home) -> None:
    words = doubted(running, what="heparin_first_dose", typed="1.5", unit="units")
    assert "You typed 1.5 units. The order says 1500 units, which is 1.5 mL of the ordered strength." in words
    assert "type the units" in words
    running.do(give, what="heparin_first_dose", typed="1500", unit="units")


@pytest.mark.source(
    "fluids:3.1", detail="unusual: differs from the prescription by any amount, show both side by side"
)
@pytest.mark.parametrize("typed", ["7500", "1499", "0", "150"])
def test_give_asks_about_a_first_dose_that_is_not_the_ordered_one(running: Home, typed: str) -> None:
    words = doubted(running, what="heparin_first_dose", typed=typed, unit="units")
    assert f"You typed {typed} units. The order says 1500 units." in words
    running.do(give, what="heparin_first_dose", typed=typed, unit="units", sure=("dose_apart",))
    assert f"first heparin dose: {typed} units (ordered 1500)" in running.sheet()


@pytest.mark.parametrize("typed", ["1500 units", "1500 IU", "1500u", "1500"])
def test_give_takes_a_first_dose_with_its_unit(running: Home, typed: str) -> None:
    running.do(give, what="heparin_first_dose", typed=typed, unit="units")
    (fact,) = running.look().treatment.of("given")
    assert isinstance(fact.body, Given)
    assert (fact.body.amount, fact.body.unit) == ("1500", "units")


def test_give_refuses_a_first_dose_in_millilitres_in_words(running: Home) -> None:
    with wrong("unit.of.heparin_first_dose"):
        running.do(give, what="heparin_first_dose", typed="1.5 mL", unit="units")
    with wrong("number.ambiguous"):
        running.do(give, what="heparin_first_dose", typed="1,500", unit="units")


def test_a_dose_put_right_is_read_and_asked_about_like_a_fresh_one(running: Home) -> None:
    running.do(give, what="heparin_first_dose", typed="1500", unit="units")
    (fact,) = running.look().treatment.of("given")
    put_right = {"of": fact.id, "reason": "read wrongly"}
    with wrong("unit.of.heparin_first_dose"):
        running.do(record.correct, changes={"amount": "1.5 mL"}, **put_right)
    with pytest.raises(Asked) as caught:
        running.do(record.correct, changes={"amount": "1.5"}, **put_right)
    assert [q.key for q in caught.value.questions] == ["dose_in_ml"]
    running.do(record.correct, changes={"amount": "1400"}, sure=("dose_apart",), **put_right)
    (fact,) = running.look().treatment.of("given")
    assert getattr(fact.body, "amount", "") == "1400"


def test_the_unit_of_a_ready_dose_put_right_is_one_of_its_label() -> None:
    home = low()
    home.do(give, what=READY_DOSE, typed="4000 mg", unit="", sure=("ready_dose_apart",))
    (fact,) = home.look().treatment.of("given")
    with wrong("enter.ready_dose"):
        home.do(record.correct, of=fact.id, changes={"unit": "mL"}, reason="read wrongly")
    home.do(record.correct, of=fact.id, changes={"unit": "iu"}, reason="read wrongly")
    (fact,) = home.look().treatment.of("given")
    assert getattr(fact.body, "unit", "") == "IU"


def test_give_asks_nothing_of_a_dose_while_the_order_waits_for_a_check(running: Home) -> None:
    running.do(orders.transcribe, number="4", giver="unit", valid_from="2026-04-29", lines=dict(PRESCRIPTION))
    running.do(give, what="heparin_first_dose", typed="7500", unit="units")
    assert running.look().treatment.of("given")


@pytest.mark.source("fluids:3.4", detail="units differ between products, IU anti-Xa or mg: never convert")
@pytest.mark.parametrize(
    ("said", "dose"),
    [
        ("4000 IU at the start", ("4000", "IU")),
        ("one dose of 4 000 i.u., arterial line", ("4000", "IU")),
        ("12 500 units", ("12500", "units")),
        ("40 mg", ("40", "mg")),
        ("as on the paper", None),
        ("4000 IU/mL", None),
        ("4000 IU, later 2000 IU", None),
        ("4,000 IU", None),
    ],
)
def test_an_order_in_words_names_one_dose_or_none(said: str, dose: tuple[str, str] | None) -> None:
    assert ordered_dose(said) == (None if dose is None else (Decimal(dose[0]), dose[1]))


def test_give_takes_a_ready_dose_with_a_blank_between_thousands() -> None:
    home = low("4 000 IU at the start")
    home.do(give, what=READY_DOSE, typed="4 000 IU", unit="")
    (fact,) = home.look().treatment.of("given")
    assert getattr(fact.body, "amount", "") == "4000"
    assert "You typed 400 IU. The order says: 4 000 IU at the start." in doubted_after(home, "400 IU")


def doubted_after(home: Home, typed: str) -> str:
    """What is asked about a further dose."""
    with pytest.raises(Asked) as caught:
        home.do(give, what=READY_DOSE, typed=typed, unit="")
    return say_question(caught.value.questions[0])
