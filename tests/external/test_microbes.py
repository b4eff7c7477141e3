"""Microbes: what a plate can show, and how a count reads against limit and action level."""

from decimal import Decimal

import pytest

from ebbwell.science.microbes import MicrobeLevel, MicrobeLimit, judge_microbes, read_microbes
from tests.external.table import Row, calc, check, params

D = Decimal
STANDARD = MicrobeLimit(D(100), "CFU/mL", D(50))
ULTRAPURE = MicrobeLimit(D("0.1"), "CFU/mL")

ROWS = (
    Row(
        "arithmetic",
        "fluids 6, row 48: smallest volume that can show less than 0.1 CFU/mL",
        lambda: calc("least_plated", limit_cfu_ml="0.1"),
        "10",
        "0",
    ),
    Row(
        "arithmetic",
        "fluids 1.2: no colony on 1 mL shows less than 1",
        lambda: calc("shown_by_no_colony", plated_ml="1"),
        "1",
        "0",
    ),
)


@pytest.mark.parametrize("row", params(ROWS))
def test_microbes(row: Row) -> None:
    check(row)


@pytest.mark.source(
    "fluids:W6", detail="row 50: standard water below 100, action at 50; at counts as reached"
)
@pytest.mark.parametrize(
    ("count", "level"), [("100", MicrobeLevel.OVER), ("50", MicrobeLevel.ACTION), ("49", MicrobeLevel.BELOW)]
)
def test_row_50(count: str, level: MicrobeLevel) -> None:
    assert judge_microbes(read_microbes(count, "CFU/mL"), STANDARD) is level


@pytest.mark.source(
    "arithmetic", detail="row 48: no colony on 1 or 9.9 mL can't show less than 0.1, on 10 mL it can"
)
@pytest.mark.parametrize(
    ("plated", "level"),
    [
        (None, MicrobeLevel.CANT_TELL),
        ("1", MicrobeLevel.CANT_TELL),
        ("9.9", MicrobeLevel.CANT_TELL),
        ("10", MicrobeLevel.BELOW),
        ("100", MicrobeLevel.BELOW),
    ],
)
def test_row_48(plated: str | None, level: MicrobeLevel) -> None:
    result = read_microbes("0", "CFU/mL", None if plated is None else D(plated))
    assert judge_microbes(result, ULTRAPURE) is level
