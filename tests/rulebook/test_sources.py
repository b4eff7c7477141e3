"""Limits against the figures of their sources, and every source key in the tree against the list of sources."""

from __future__ import annotations

import re
from decimal import Decimal
from pathlib import Path

import pytest

from ebbwell.rulebook.load import load_rulebook

BOOK = load_rulebook()
ROOT = Path(__file__).parents[2]


def published(id: str, value: str, source: str, detail: str) -> object:
    return pytest.param(id, value, marks=pytest.mark.source(source, detail=detail), id=id)


@pytest.mark.parametrize(
    ("id", "value"),
    [
        published("chlorine", "0.1", "fluids:W1", "total chlorine, highest allowed, mg/L"),
        published("chlorine_rising", "0.05", "fluids:1.3", "rising but under: tests over 0.05 mg/L"),
        published("rejection_least", "90", "fluids:W22", "usually over 90 % is wanted"),
        published("product_rise", "20", "fluids:W11", "more than 20 % above its history"),
        published("hardness", "17", "fluids:W22", "under 1 grain per gallon, 17 mg/L"),
        published("conductivity_care", "2", "fluids:2.4", "care at 2 % before connecting"),
        published("conductivity_stop", "5", "fluids:F4", "machine window +-5 % of set"),
        published("conductivity_low", "12", "fluids:F8", "12 to 16 mS/cm as a wide range"),
        published("conductivity_high", "16", "fluids:F8", "12 to 16 mS/cm as a wide range"),
        published("meters_apart", "0.3", "fluids:2.4", "within 0.2 to 0.3 mS/cm"),
        published("ph_low", "6.9", "fluids:F4", "window 6.9 to 7.6"),
        published("ph_high", "7.6", "fluids:F4", "window 6.9 to 7.6"),
        published("fluid_temperature_stop", "38.5", "practice:a0", "38.5 C and over: stop"),
        published("body_temperature", "37.8", "practice:a0", "37.8 C and over before start: stop"),
        published("systolic_stop", "90", "fluids:U8", "nadir systolic under 90 mmHg"),
        published("systolic_low", "100", "fluids:4.6", "care before start under 100 mmHg"),
        published("systolic_high", "180", "fluids:4.6", "care before start over 180/100 mmHg"),
        published("diastolic_high", "100", "fluids:4.6", "care before start over 180/100 mmHg"),
        published("systolic_fall", "20", "fluids:U9", "fall of 20 mmHg systolic"),
        published("removal_rate_care", "13", "fluids:U3", "over 13 mL/kg/h"),
        published("removal_rate_note", "10", "fluids:U3", "over 10 mL/kg/h"),
        published("gain_percent", "4.5", "fluids:U7", "over 4 to 4.5 % of target"),
        published("weight_loss_between", "0.5", "fluids:4.5", "last weight after -0.5 kg"),
        published("readings_apart", "0.1", "fluids:4.5", "two readings within 0.1 kg"),
        published("weight_after_note", "0.3", "fluids:4.5", "within 0.3 kg"),
        published("weight_after_care", "0.5", "fluids:4.5", "over 0.5 kg apart"),
        published("target_missed", "1.0", "fluids:U4", "missed by 1 kg or more"),
        published("heparin_factor", "5", "fluids:3.3", "5 or 25-fold error"),
        published("heparin_dose_most", "100", "fluids:3.1", "0 to 100 units/kg"),
        published("heparin_rate_most", "50", "fluids:3.1", "0 to 50 units/kg/h"),
        published("heparin_given_off", "0.2", "fluids:3.3", "within 5 % or 0.2 mL"),
        published("venous_fall", "20", "fluids:P11", "falls of only about 20 mmHg"),
        published("arterial_guideline", "-150", "fluids:P2", "not more negative than -150 mmHg"),
        published("arterial_most", "-250", "fluids:5.1", "-250 mmHg"),
        published("venous_high", "250", "fluids:P3", "venous over 200 to 250: look"),
        published("bleeding_care", "20", "practice:a0", "over 20 min: care"),
        published("bleeding_stop", "30", "practice:B3", "over 30 min called prolonged"),
        published("gap_hours", "72", "practice:e", "H54: often 72 h"),
    ],
)
def test_limit_is_the_figure_of_its_source(id: str, value: str) -> None:
    assert BOOK.limit(id).value == Decimal(value)


NAMED = re.compile(r"""(?:mark\.source\(|\bsource=)\s*"([^"]+)\"""")


def test_every_source_named_in_the_tree_is_listed() -> None:
    known = {source.key for source in BOOK.sources()}
    named: dict[str, str] = {}
    for folder in ("src/ebbwell", "tests"):
        for path in sorted((ROOT / folder).rglob("*.py")):
            for key in NAMED.findall(path.read_text("utf-8")):
                named.setdefault(key, str(path.relative_to(ROOT)))
    assert len(named) > 20
    assert {key: path for key, path in named.items() if key not in known} == {}
