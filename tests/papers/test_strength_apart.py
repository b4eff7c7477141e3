"""A vial of another strength: the page says what the same millilitres would hold, and never what to draw instead."""

from __future__ import annotations

import pytest

from ebbwell.deeds import setup
from ebbwell.papers.spoken import apart_words
from ebbwell.sim.household import PRESCRIPTION
from tests.hazards.home import moved_in


def said(ordered: str, vial: str, **lines: str) -> list[str]:
    home = moved_in({**PRESCRIPTION, "heparin_strength": ordered, **lines})
    home.do(setup.open_night)
    home.until("S18")
    keys = ("digits", "near", "outside_expected", "expected", "decimal", "slip", "last_range")
    home.do(setup.measure, quantity="heparin_strength", typed=vial, sure=keys)
    return apart_words(home.look(), "S18")


@pytest.mark.hazard("H29")
@pytest.mark.source("fluids:3.3", detail="1,000, 5,000 and 25,000 units/mL: a 5 or 25-fold error")
@pytest.mark.parametrize(
    ("ordered", "vial", "times", "would"),
    [
        ("1000", "5000", "5", "4500"),
        ("1000", "25000", "25", "22\u00a0500"),
        ("5000", "1000", "0.2", "180"),
        ("5000", "25000", "5", "4500"),
    ],
)
def test_the_same_millilitres_from_another_vial(ordered: str, vial: str, times: str, would: str) -> None:
    (words,) = said(ordered, vial)
    read = vial.replace("25000", "25\u00a0000")
    assert f"has {read} units in each mL. The order is for {ordered}." in words
    assert f"would hold {times} times the heparin." in words
    assert f"would be {would} units an hour, and not 900." in words


def test_without_a_rate_only_the_strengths_are_told() -> None:
    (words,) = said("1000", "5000", heparin_rate="0")
    assert words.endswith("would hold 5 times the heparin.")


def test_the_ordered_vial_says_nothing() -> None:
    assert said("1000", "1000") == []
