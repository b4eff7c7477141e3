"""What stands of bloods: one unit for each substance, newest first, what can't be read kept apart."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from ebbwell.journal.kinds.bloods import (
    BloodLine,
    BloodResult,
    BloodTarget,
    BodyFigures,
    DialyserFigures,
    UrineCollected,
)
from ebbwell.state.bloods import (
    blood_results,
    body_figures,
    dialyser_figures,
    figure_of,
    targets,
    urine,
)
from tests.state.book import Book, facts_of

D = Decimal


def result(day: str, *lines: BloodLine, drawn: str = "before") -> BloodResult:
    return BloodResult(sampled_on=day, drawn=drawn, lines=lines)


def line(substance: str, value: str, unit: str, **more: object) -> BloodLine:
    return BloodLine(substance=substance, value=value, unit=unit, **more)  # type: ignore[arg-type]


@pytest.mark.source("practice:e", detail="H28: BUN 70 mg/dL is 25.0 mmol/L within rounding")
def test_figures_come_in_the_kept_unit_and_keep_their_line() -> None:
    found = figure_of(line("urea", "70", "mg/dL as nitrogen", low="7", high="20"))
    assert found is not None
    assert (round(found.value, 1), found.unit, round(found.low or 0, 1)) == (D("25.0"), "mmol/L", D("2.5"))
    assert found.line.value == "70"


def test_results_come_newest_day_first_whatever_came_in_first() -> None:
    book = Book()
    book.add(result("2026-03-02", line("urea", "20", "mmol/L")))
    book.add(result("2026-02-02", line("urea", "21", "mmol/L")))
    book.add(result("some day", line("urea", "22", "mmol/L")))
    found = blood_results(facts_of(book.entries))
    assert [view.on for view in found] == [date(2026, 3, 2), date(2026, 2, 2), None]


def test_a_substance_or_unit_of_a_newer_program_is_kept_apart() -> None:
    book = Book()
    odd = (line("lung_water", "3", "L"), line("urea", "20", "pints"), line("potassium", "much", "mmol/L"))
    book.add(result("2026-03-02", *odd, line("phosphate", "1.7", "mmol/L")))
    (view,) = blood_results(facts_of(book.entries))
    assert list(view.figures) == ["phosphate"]
    assert view.unread == odd


def test_a_second_line_of_one_substance_takes_nothing_away() -> None:
    book = Book()
    book.add(result("2026-03-02", line("urea", "20", "mmol/L"), line("urea", "2", "mmol/L")))
    (view,) = blood_results(facts_of(book.entries))
    assert (view.figures["urea"].value, view.unread[0].value) == (D(20), "2")


def wanted(low: str, high: str, unit: str = "mmol/L") -> BloodTarget:
    return BloodTarget(
        substance="phosphate", unit=unit, low=low, high=high, giver="home team", given_on="2026-01-05"
    )


def test_a_target_stands_until_it_is_taken_off() -> None:
    book = Book()
    first = book.add(wanted("", "5.5", "mg/dL"))
    (one,) = targets(facts_of(book.entries))["phosphate"]
    assert one.low is None
    assert one.high == D("5.5") * D("0.3229")
    book.add(wanted("", ""), replaces=(first.id,))
    assert targets(facts_of(book.entries)) == {}


def test_two_targets_stand_side_by_side() -> None:
    book = Book()
    book.add(wanted("1.1", "1.8"))
    book.add(wanted("0.8", "1.5"))
    assert [one.high for one in targets(facts_of(book.entries))["phosphate"]] == [D("1.8"), D("1.5")]


def test_a_target_in_a_strange_unit_has_no_figures() -> None:
    book = Book()
    book.add(wanted("1", "2", "pints"))
    (one,) = targets(facts_of(book.entries))["phosphate"]
    assert (one.low, one.high) == (None, None)


def test_urine_dialyser_and_body() -> None:
    book = Book()
    for day in ("2026-01-05", "2026-02-02"):
        book.add(UrineCollected(ended_on=day, hours="24", volume_ml="250", lines=()))
    book.add(
        DialyserFigures(
            dialyser="Invented 18",
            blood_flow="300",
            fluid_flow="500",
            clearances={"urea": "266"},
            stands_in="leaflet",
        )
    )
    book.add(BodyFigures(height_cm="168", born="1964"))
    facts = facts_of(book.entries)
    assert [body.ended_on for _, body in urine(facts)] == ["2026-02-02", "2026-01-05"]
    assert len(dialyser_figures(facts, " invented 18 ")) == 1
    assert dialyser_figures(facts, "another") == ()
    assert [body.born for _, body in body_figures(facts)] == ["1964"]
