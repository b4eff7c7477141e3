"""Entries about bloods in one line of words."""

from __future__ import annotations

import pytest

from ebbwell.journal.kinds import Body
from ebbwell.journal.kinds.bloods import BloodLine, BloodResult, BloodTarget, BodyFigures
from ebbwell.papers.describe import describe
from ebbwell.rulebook.substances import range_words
from tests.journal import golden_v4

SAID = {
    "blood_result": "Bloods drawn on 2 March 2026, at the end of a night: urea 5.1 mmol/L (laboratory's range 2.5 to 7.8"
    " mmol/L); C-reactive protein (CRP) < 0.3 mg/dL. Drawn 0 min after the end. Blood flow slowed as taught. From"
    " Northmere laboratory. Came back on 4 March 2026",
    "blood_target": "The clinic wants phosphate before a night to be at most 5.5 mg/dL (home team, 5 January 2026)",
    "urine_collected": "Urine of 24 h, ended on 5 January 2026: 250 mL. Urea 90 mmol/L",
    "dialyser_figures": "Leaflet of Invented 18, at blood flow 300, dialysis fluid 500, removal 0 mL/min: urea 266,"
    " phosphate 218 mL/min. Stands in: leaflet, page 2",
    "body_figures": "Height 168 cm, born 1964. Formula for a woman",
}


FIRST = {body.KIND: body for body in reversed(golden_v4.BODIES) if body.KIND in SAID}
LATER = {
    "blood_result": "Bloods drawn on 9 March 2026, on a day between: ferritin > 1500 ug/L",
    "urine_collected": "Urine of 40 h, ended on 9 March 2026: 250 mL. All the time from the end of a night to the start"
    " of the next. Urea 90 mmol/L",
}


@pytest.mark.parametrize("kind", LATER)
def test_what_was_added_to_a_kind_is_said_too(kind: str) -> None:
    bodies = [body for body in golden_v4.BODIES if kind == body.KIND]
    assert describe(bodies[-1]) == LATER[kind]


@pytest.mark.parametrize("body", FIRST.values(), ids=lambda body: body.KIND)
def test_each_kind_says_its_figures_with_their_units(body: Body) -> None:
    assert describe(body).startswith(SAID[body.KIND])


def test_words_of_a_newer_program_stay_as_they_are() -> None:
    strange = BloodLine(substance="lung_water", value="3", unit="L")
    words = describe(BloodResult(sampled_on="2026-03-02", drawn="during", lines=(strange,), slowed="stopped"))
    assert words == "Bloods drawn on 2 March 2026, during: lung_water 3 L. Stopped"
    assert describe(BodyFigures(height_cm="168", born="1964", water_by="child")).endswith("born 1964")


def test_a_target_taken_off_says_so() -> None:
    body = BloodTarget(
        substance="phosphate", unit="mmol/L", low="", high="", giver="home team", given_on="2026-01-05"
    )
    assert describe(body).startswith("The clinic has no target for phosphate any more")


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        ("1", "2", "1 to 2 mmol/L"),
        ("", "2", "at most 2 mmol/L"),
        ("1", "", "at least 1 mmol/L"),
        ("", "", ""),
    ],
)
def test_a_range_has_open_ends(low: str, high: str, words: str) -> None:
    assert range_words(low, high, "mmol/L") == words
