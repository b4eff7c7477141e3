"""``ebbwell enter bloods`` and its neighbours: figures with their units, by typing."""

from __future__ import annotations

from pathlib import Path

import pytest

from ebbwell.core.clock import SetClock
from ebbwell.core.ids import SeededIds
from ebbwell.core.text import say
from ebbwell.house import House
from ebbwell.journal.kinds.bloods import BloodResult
from ebbwell.sim.household import move_in
from tests.cli.test_enter import BRAM_IS_HERE, enter, in_order, now

HEAD = (BRAM_IS_HERE, "2026-04-20", say("bloods.drawn.between"))
"""A result up to its first substance, urea. No night has run here, so none is asked for."""


@pytest.fixture
def moved(clock: SetClock, home: str) -> str:
    """The invented household in its folder; no night is open."""
    Path(home).mkdir()
    with House.open(Path(home) / "record.ebbwell", clock, SeededIds(1)) as house:
        move_in(house, clock)
    return home


def the_result(moved: str, clock: SetClock) -> BloodResult:
    (fact,) = now(moved, clock).standing.of("blood_result")
    assert isinstance(fact.body, BloodResult)
    return fact.body


@pytest.mark.hazard("H28")
def test_a_result_asks_for_the_unit_of_each_figure_that_was_typed_and_for_no_other(
    moved: str, clock: SetClock
) -> None:
    urea = ("61", "", say("bloods.unit.mg/dL as nitrogen"), "7", "20")
    text = enter(moved, clock, *HEAD, *urea, "", "", "5,1", "mmol/L", "", "", *[""] * 40, what="bloods")
    assert in_order(text, "Urea: unit", "Urea: lower end", "Creatinine", "Potassium: unit", say("walk.kept"))
    assert "Creatinine: unit" not in text
    assert say("web.bloods.field.minutes_after") not in text
    body = the_result(moved, clock)
    assert [(line.substance, line.value, line.unit) for line in body.lines] == [
        ("urea", "61", "mg/dL as nitrogen"),
        ("potassium", "5.1", "mmol/L"),
    ]


def test_the_next_result_has_the_unit_already_and_a_call_is_told(moved: str, clock: SetClock) -> None:
    rest = [""] * 40
    enter(moved, clock, *HEAD, *[""] * 3, "5.1", "mmol/L", *rest, what="bloods")
    head = (BRAM_IS_HERE, "2026-04-21", say("bloods.drawn.between"))
    typed = (*head, *[""] * 3, "6.9", *[""] * 30, say("form.as_typed"))
    text = enter(moved, clock, *typed, what="bloods")
    assert say("form.stands_pick", value="mmol/L") in text
    assert "Potassium was 6.9 mmol/L on 21 April 2026." in text


def test_a_result_is_typed_again_in_its_own_place(moved: str, clock: SetClock) -> None:
    enter(moved, clock, *HEAD, *[""] * 3, "5.1", "mmol/L", *[""] * 40, what="bloods")
    text = enter(moved, clock, BRAM_IS_HERE, "1", *[""] * 5, "5.3", *[""] * 41, what="again")
    assert say("walk.kept") in text
    body = the_result(moved, clock)
    assert [line.value for line in body.lines] == ["5.3"]


@pytest.mark.parametrize(
    ("what", "lines", "kind"),
    [
        ("target", ("Phosphate", "mmol/L", "", "1.8", "", "home team", "2026-01-05", ""), "blood_target"),
        (
            "urine",
            ("2026-04-20", "24", "on the last day before a night", "250", "90", "mmol/L", "", ""),
            "urine_collected",
        ),
        ("dialyser", ("", "300", "500", "", "266", "", "218", "", "leaflet", ""), "dialyser_figures"),
        ("body", ("168", "64", "1964", ""), "body_figures"),
    ],
)
def test_the_other_forms(moved: str, clock: SetClock, what: str, lines: tuple[str, ...], kind: str) -> None:
    text = enter(moved, clock, BRAM_IS_HERE, *lines, what=what)
    assert say("walk.kept") in text
    assert len(now(moved, clock).standing.of(kind)) == 1
