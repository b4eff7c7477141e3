"""How the machine forms the pressure across the membrane: carried by readings, never compared across; true flow."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from functools import lru_cache

import pytest

from ebbwell.deeds import night, pressures, record, setup
from ebbwell.deeds.another_night import NIGHT_WAS_RUN
from ebbwell.deeds.desk import Asked
from ebbwell.journal.kinds.night import Reading
from ebbwell.journal.kinds.pressures import FlowShort, MembraneForm
from ebbwell.papers.describe import describe
from ebbwell.papers.membrane import membrane_words
from ebbwell.papers.night_now import LastValue, last_values
from ebbwell.papers.pressure_past import past_pressures
from ebbwell.state.membrane import NOT_SETTLED, form_now, short_now
from tests.deeds.homes import fork, wrong
from tests.hazards.home import Home, moved_in
from tests.state.book import Book, facts_of

TMP = "transmembrane_pressure"


def begin(home: Home) -> None:
    """A night with blood running for an hour."""
    home.do(setup.open_night, sure=(NIGHT_WAS_RUN,))
    home.connected()
    home.clock.pass_time(timedelta(minutes=60) - timedelta(seconds=5))


def read(home: Home, pressure: str, sure: tuple[str, ...] = (), **more: str) -> None:
    home.do(
        night.read,
        values={
            TMP: pressure,
            "fluid_removed": "0.31",
            "blood_flow": "230",
            "venous_pressure": "120",
            **more,
        },
        sure=("own", "ask", "last", *sure),
    )


@lru_cache(maxsize=1)
def three_nights() -> Home:
    """Three closed nights with 20, 22 and 24 mmHg after an hour, 0.31 L off; the form was never said."""
    home = moved_in()
    for pressure in ("20", "22", "24"):
        begin(home)
        read(home, pressure)
        home.come_off(6.5)
        home.close()
        home.clock.pass_time(timedelta(hours=15))
    return home


@pytest.fixture
def fourth() -> Home:
    """The same home in its fourth night, an hour after first blood; nothing is read yet."""
    home = fork(three_nights())
    begin(home)
    return home


def membrane(home: Home) -> LastValue:
    (found,) = (v for v in last_values(home.look()) if v.quantity == TMP)
    return found


def words(home: Home) -> tuple[str, ...]:
    desk = home.look()
    return membrane_words(desk, desk.treatment.fact(membrane(home).entry))


def show_field(home: Home) -> None:
    from ebbwell.deeds.texts import order_fields

    home.do(order_fields, fields=("venous_pressure", "blood_flow", TMP, "fluid_removed"))


@pytest.mark.source(
    "arithmetic",
    detail="310 mL/h over 20, 22, 24 mmHg: 15.5, 14.09, 12.92, middle 14.09; over 31: 10.0, 29 % under (fluids:P10)",
)
def test_the_coefficient_stands_against_own_nights_of_the_same_form(fourth: Home) -> None:
    show_field(fourth)
    read(fourth, "31")
    assert membrane(fourth).own == ("20", "24")
    said = words(fourth)
    assert said[0] == "Pressure across the membrane as the machine shows it."
    assert "10.0 mL/h/mmHg" in said[1]
    assert "14.1 mL/h/mmHg, the middle of 3. Tonight against it: -29 %" in said[2]


@pytest.mark.source("fluids:5.3", detail="never compare across formulas or machines")
@pytest.mark.parametrize("typed", [{"form": "four"}, {"form": "as_shown", "machine": "The new one"}])
def test_another_form_or_machine_begins_a_new_own_past(fourth: Home, typed: dict[str, str]) -> None:
    show_field(fourth)
    fourth.do(pressures.set_form, typed=typed)
    read(fourth, "131")
    found = membrane(fourth)
    assert (found.own, found.nights, found.apart) == (None, 0, None)
    assert "too few" in words(fourth)[2]
    facts = fourth.look().scene.facts
    assert f"{TMP}@own" not in facts
    assert f"{TMP}@last" not in facts
    own = past_pressures(fourth.look()).membrane
    assert "not known, too few nights" in own[1]


def test_without_a_change_the_same_pressure_is_asked_about_and_told_apart_from_own_nights(
    fourth: Home,
) -> None:
    show_field(fourth)
    with pytest.raises(Asked):
        read(fourth, "131")
    read(fourth, "131", sure=("decimal",))
    found = membrane(fourth)
    assert found.own == ("20", "24")
    assert found.apart == ("109 mmHg", "22 mmHg")


def test_a_new_past_grows_under_its_own_form_and_the_old_one_stays(fourth: Home) -> None:
    fourth.do(pressures.set_form, typed={"form": "two"})
    show_field(fourth)
    for pressure in ("40", "41", "42"):
        read(fourth, pressure)
        fourth.come_off(6.5)
        fourth.close()
        fourth.clock.pass_time(timedelta(hours=15))
        begin(fourth)
    read(fourth, "43")
    assert membrane(fourth).own == ("40", "42")
    shown = past_pressures(fourth.look())
    assert shown.rows[0][1][5] == "43 mmHg (from two points)"
    assert "20 mmHg (as the machine shows it)" in {cells[5] for _, cells in shown.rows}
    (chart,) = (c for c in shown.charts if c.unit == "mmHg" and "membrane" in c.title)
    lines = {mark.name: [v for _, v in mark.values if v is not None] for mark in chart.marks}  # type: ignore[union-attr]
    assert lines == {"as shown": [20, 22, 24], "2 points": [40, 41, 42, 43]}


def test_in_one_night_a_new_form_has_no_start_of_the_old_one(fourth: Home) -> None:
    show_field(fourth)
    read(fourth, "31")
    fourth.do(pressures.set_form, typed={"form": "four"})
    fourth.clock.pass_time(timedelta(minutes=1))
    read(fourth, "90")
    assert (membrane(fourth).value, membrane(fourth).start) == ("90", "")


@pytest.mark.parametrize("pressure", ["4", "0", "-12"])
def test_near_zero_and_below_there_is_no_coefficient_and_it_says_why(fourth: Home, pressure: str) -> None:
    show_field(fourth)
    read(fourth, pressure)
    assert membrane(fourth).value == pressure
    said = words(fourth)
    assert "no figure" in said[1]
    assert f"({pressure} mmHg)" in said[1]
    assert "its level says little" in said[1]
    assert len(said) == 2


def test_a_reading_put_right_keeps_its_form(fourth: Home) -> None:
    fourth.do(pressures.set_form, typed={"form": "four", "machine": "Old  One"})
    read(fourth, "31")
    fourth.do(pressures.set_form, typed={"form": "two"})
    fact = fourth.look().treatment.of("reading")[-1]
    fourth.do(record.correct, of=fact.id, changes={f"values.{TMP}": "32"}, reason="a slip")
    body = fourth.look().treatment.of("reading")[-1].body
    assert isinstance(body, Reading)
    assert (body.values[TMP], body.membrane_form) == ("32", "four|old one")
    assert "transmembrane pressure 32 mmHg (from four points, machine old one)" in describe(body)


def test_a_pressure_added_to_a_reading_takes_the_form_that_holds(fourth: Home) -> None:
    fourth.do(night.read, values={"venous_pressure": "120"})
    fourth.do(pressures.set_form, typed={"form": "three"})
    fact = fourth.look().treatment.of("reading")[-1]
    fourth.do(record.correct, of=fact.id, changes={f"values.{TMP}": "32"}, reason="left out")
    body = fourth.look().treatment.of("reading")[-1].body
    assert isinstance(body, Reading)
    assert body.membrane_form == "three"


def test_a_row_without_that_pressure_carries_no_form(fourth: Home) -> None:
    fourth.do(pressures.set_form, typed={"form": "three"})
    fourth.do(night.read, values={"venous_pressure": "120"})
    body = fourth.look().treatment.of("reading")[-1].body
    assert isinstance(body, Reading)
    assert body.membrane_form == ""


def test_two_forms_on_record_are_no_form_and_two_figures_no_figure() -> None:
    book = Book(2)
    book.add(MembraneForm(form="four"))
    assert form_now(facts_of(book.entries)) == "four"
    book.elsewhere(MembraneForm(form="two"))
    book.add(FlowShort(percent="7", measured_by="unit", measured_on="2026-04-01"))
    assert short_now(facts_of(book.entries)) is not None
    book.elsewhere(FlowShort(percent="9", measured_by="unit", measured_on="2026-04-02"))
    facts = facts_of(book.entries)
    assert form_now(facts) == NOT_SETTLED
    assert short_now(facts) is None


def test_set_form_takes_the_place_of_the_one_before(fourth: Home) -> None:
    fourth.do(pressures.set_form, typed={"form": "four", "words": "the book of the machine"})
    fourth.do(pressures.set_form, typed={"form": "three"})
    (fact,) = fourth.look().standing.of("membrane_form")
    assert describe(fact.body) == "pressure across the membrane: from three points"


def test_set_form_refuses_what_stands_there_and_a_way_that_is_none(fourth: Home) -> None:
    fourth.do(pressures.set_form, typed={"form": "four", "words": "the book of the machine"})
    with wrong("pressures.same"):
        fourth.do(pressures.set_form, typed={"form": "four", "words": "the book of the machine"})
    with wrong("water.pick_needed"):
        fourth.do(pressures.set_form, typed={"form": "five"})
    (fact,) = fourth.look().standing.of("membrane_form")
    assert isinstance(fact.body, MembraneForm)
    assert fact.body.form == "four"


SHORT = {"percent": "10.5", "measured_by": "Invented nurse", "measured_on": "2026-04-20", "at_flow": "230"}


@pytest.mark.source(
    "arithmetic", detail="230 x (1 - 10.5 / 100) = 205.85 mL/min, shown rounded down (fluids:P6)"
)
def test_set_short_lets_true_flow_be_told_by_the_units_figure_and_near_its_setting_only(fourth: Home) -> None:
    read(fourth, "31")
    assert past_pressures(fourth.look()).rows[0][1][2] == "not known"
    fourth.do(pressures.set_short, typed={**SHORT, "at_arterial": "-120"})
    shown = past_pressures(fourth.look())
    assert shown.rows[0][1][2] == "205 mL/min"
    assert "10.5 % short of the pump" in shown.short
    assert "At 230 mL/min, -120 mmHg." in shown.short
    fourth.do(pressures.set_short, typed={**SHORT, "at_flow": "400"})
    assert past_pressures(fourth.look()).rows[0][1][2] == "not known at this setting"
    (fact,) = fourth.look().standing.of("flow_short")
    assert describe(fact.body).startswith("true blood flow 10.5 % short of the pump")


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"percent": ""}, "water.number_needed"),
        ({"percent": "51"}, "water.outside"),
        ({"percent": "a lot"}, "water.wrong"),
        ({"measured_by": ""}, "water.words_needed"),
        ({"measured_on": "2027-01-01"}, "water.day_to_come"),
        ({"at_flow": "20"}, "water.outside"),
        ({"at_arterial": "120"}, "pressures.minus"),
    ],
)
def test_set_short_refuses_what_cannot_be_read_and_keeps_nothing(change: dict[str, str], key: str) -> None:
    home = fork(three_nights())
    with wrong(key):
        home.do(pressures.set_short, typed={**SHORT, **change})
    assert not home.look().standing.of("flow_short")


def test_kilopascal_is_brought_to_mmhg_with_its_unit_typed() -> None:
    home = fork(three_nights())
    begin(home)
    read(home, "4 kPa")
    body = home.look().treatment.of("reading")[-1].body
    assert isinstance(body, Reading)
    assert Decimal(body.values[TMP]) == 30
