"""The heparin curve of reviews against a study's medians and sums from the definition."""

from decimal import Decimal

import pytest

from ebbwell.science.review_heparin import CurvePoint, Given, relative_effect
from tests.external.table import Row, calc, check, params

D = Decimal
DOSE = [Given(D(1000), D(0), D(0))]
PATTERN = [
    Given(D(2500), D(0), D(1)),
    Given(D(1250), D(1), D(2)),
    Given(D(1250), D(2), D(3)),
]
"""50 units/kg a session for a round 100 kg: 25 units/kg in hour 1, 12.5 in hours 2 and 3, none in hour 4."""


def left(at: str, half_life: str) -> Decimal:
    return calc(
        "review_heparin_left",
        first_dose_units="1500",
        rate_units_h="900",
        run_time_h="6.5",
        elapsed_h=at,
        half_life_h=half_life,
    )


def point(given: list[Given], at: Decimal) -> CurvePoint:
    return relative_effect(given, [at])[0]


TABLE = (
    ("0.5", ("862", "702", "653", "649", "162", "20")),
    ("0.9", ("1322", "1240", "1184", "1171", "542", "171")),
    ("1.5", ("1666", "1770", "1877", "1925", "1213", "606")),
)

ROWS = (
    Row(
        "fluids:A2",
        "row 32: published medians 0.55 and 0.25 IU/mL, ratio 2.2",
        lambda: point(PATTERN, D(1)).studied / point(PATTERN, D(4)).studied,
        "2.2",
        "0.11",
    ),
    Row(
        "arithmetic",
        "fluids 6, row 32: ratio by half-life 54 min",
        lambda: point(PATTERN, D(1)).studied / point(PATTERN, D(4)).studied,
        "2.28",
    ),
    Row(
        "fluids:A2",
        "90 min after the end, peak scaled to 0.55 IU/mL: published below 0.1; 0.076 by the model",
        lambda: point(PATTERN, D("5.5")).studied * D("0.55") / 100,
        "0.076",
    ),
    *(
        Row(
            "arithmetic",
            f"fluids 3.2 (rows 33: half-life 0.9 h): at {at} h, half-life {life} h",
            lambda at=at, life=life: left(at, life),  # type: ignore[misc]
            printed,
            "1",
        )
        for life, figures in TABLE
        for at, printed in zip(("1", "2", "4", "6.5", "7.5", "9"), figures, strict=True)
    ),
    Row(
        "arithmetic",
        "fluids 6, row 34",
        lambda: calc("review_heparin_plateau", rate_units_h="900", half_life_h="1.5"),
        "1948",
        "1",
    ),
    *(
        Row(
            "examples:E12.1",
            f"course notes: share left after {count} half-lives, in %",
            lambda count=count: calc(  # type: ignore[misc]
                "review_heparin_left",
                first_dose_units="100",
                rate_units_h="0",
                run_time_h="0",
                elapsed_h=str(count),
                half_life_h="1",
            ),
            printed,
        )
        for count, printed in enumerate(("50", "25", "12.5", "6.25", "3.125", "1.563", "0.781"), start=1)
    ),
    Row(
        "examples:E12.2",
        "study cards: half-life 2 h, 8 h; printed 93 is cut, not rounded",
        lambda: (
            100
            - calc(
                "review_heparin_left",
                first_dose_units="100",
                rate_units_h="0",
                run_time_h="0",
                elapsed_h="8",
                half_life_h="2",
            )
        ),
        "93",
        "0.99",
    ),
    Row(
        "fluids:A5",
        "half-lives of 40 to 120 min quoted: half is left after 40 min at the low end",
        lambda: point(DOSE, D(40) / 60).least,
        "50",
        "0.1",
    ),
    Row("fluids:A5", "and after 120 min at the high end", lambda: point(DOSE, D(2)).most, "50", "0.1"),
    Row("fluids:A2", "54 min in dialysis", lambda: point(DOSE, D("0.9")).studied, "50", "0.1"),
)


@pytest.mark.parametrize("row", params(ROWS))
def test_review_heparin(row: Row) -> None:
    check(row)
