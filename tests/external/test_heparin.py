"""Heparin and syringe arithmetic against figures printed elsewhere, two of them printed wrong."""

from decimal import Decimal

import pytest

from ebbwell.core.units import convert
from tests.external.table import Row, calc, check, params

WORKED = "worked-answer page"
BAG_50 = {"strength_units_ml": "50"}

ROWS = (
    Row(
        "examples:E6.1",
        WORKED,
        lambda: calc("heparin_strength", dose_units="25000", volume_ml="500"),
        "50",
        "0",
    ),
    Row("examples:E6.1", WORKED, lambda: calc("heparin_rate_units", rate_ml_h="10", **BAG_50), "500", "0"),
    Row(
        "examples:E6.2",
        "Calculate with Confidence, 6th ed., ch. 23 problem 15, on a study page",
        lambda: calc("heparin_rate_ml", rate_units_h="1800", strength_units_ml="100"),
        "18",
    ),
    Row("examples:E6.3", WORKED, lambda: calc("heparin_rate_ml", rate_units_h="900", **BAG_50), "18"),
    Row(
        "examples:E6.4",
        WORKED,
        lambda: calc("heparin_volume", dose_units="6000", strength_units_ml="10000"),
        "0.6",
    ),
    Row(
        "examples:E6.5",
        WORKED,
        lambda: calc("heparin_volume", dose_units="3500", strength_units_ml="5000"),
        "0.7",
    ),
    Row(
        "examples:E6.6",
        "nursing question bank, item 25: the working, not the key letter",
        lambda: calc("heparin_volume", dose_units="7500", strength_units_ml="10000"),
        "0.75",
    ),
    Row(
        "examples:E6.7",
        "question page: 20,000 units in 500 mL",
        lambda: calc("heparin_rate_ml", rate_units_h="5", strength_units_ml="40"),
        "0.125",
    ),
    Row(
        "examples:E6.8",
        "slide set on Pickar, Dosage Calculations, ch. 16",
        lambda: calc("heparin_rate_ml", rate_units_h="850", **BAG_50),
        "17",
    ),
    Row(
        "examples:E6.9",
        "textbook slide set, rule 18-6",
        lambda: calc("heparin_rate_ml", rate_units_h="1000", **BAG_50),
        "20",
    ),
    Row(
        "examples:E6.10",
        "statistics answer page, item 1148; printed with 2.2 lb a kilogram, so one unit of the last digit",
        lambda: convert(Decimal(96), "lb", "kg"),
        "43.6",
        "0.1",
    ),
    Row(
        "examples:E6.10",
        "the same: 14 units/kg/h",
        lambda: convert(Decimal(96), "lb", "kg") * 14,
        "610",
    ),
    Row(
        "examples:E6.10",
        "the same: 610 units/h from 25,000 units in 1,000 mL",
        lambda: calc("heparin_rate_ml", rate_units_h="610", strength_units_ml="25"),
        "24.4",
    ),
    Row(
        "examples:E6.11",
        "nursing calculation textbook, table 14-4",
        lambda: calc("heparin_rate_ml", rate_units_h="1800", **BAG_50),
        "36",
    ),
    Row(
        "arithmetic",
        "fluids 6, row 35: 0.8 mL/h, 8 h, stop 60 min, dead space 1.0 mL",
        lambda: calc(
            "syringe_fill",
            rate_ml_h="0.8",
            run_time_h=str(calc("heparin_run_time", treatment_min="480", stop_before_end_min="60")),
            dead_space_ml="1.0",
        ),
        "6.6",
        "0.01",
    ),
    Row(
        "arithmetic",
        "fluids 6, row 36",
        lambda: calc("heparin_total", first_dose_units="1500", rate_units_h="900", run_time_h="6.5"),
        "7350",
        "0",
    ),
    Row(
        "arithmetic",
        "fluids 3.3: total for each kilogram",
        lambda: calc("units_per_kg", dose_units="7350", weight_kg="64.5"),
        "114",
    ),
    Row(
        "arithmetic",
        "fluids 3.3: pump volume",
        lambda: calc("heparin_given_expected", rate_ml_h="0.9", elapsed_h="7.5", run_time_h="6.5"),
        "5.85",
    ),
    Row(
        "fluids:A2",
        "low-dose pattern of the study: 25 units/kg in the first hour is half of 50 units/kg",
        lambda: calc("units_per_kg_h", rate_units_h="1625", weight_kg="65"),
        "25",
    ),
    Row(
        "common practice",
        "no source: 0.8 mL/h over 8 h",
        lambda: calc("syringe_fill", rate_ml_h="0.8", run_time_h="8"),
        "6.4",
        "0",
    ),
)


@pytest.mark.parametrize("row", params(ROWS))
def test_heparin(row: Row) -> None:
    check(row)


@pytest.mark.source("examples:E6.6", detail="the printed key says A (0.5 mL) against its own working")
def test_wrong_key_is_not_reproduced() -> None:
    assert calc("heparin_volume", dose_units="7500", strength_units_ml="10000") != Decimal("0.5")


@pytest.mark.source(
    "examples:E6.12", detail="question page 21322217 prints 0.01 mL, wrong by a factor 500; right is 5 mL"
)
def test_units_per_ml_taken_as_a_total_is_not_reproduced() -> None:
    ours = calc("heparin_volume", dose_units="25000", strength_units_ml="5000")
    assert ours == 5
    assert ours / Decimal("0.01") == 500


@pytest.mark.hazard("H29")
@pytest.mark.source("common practice", detail="no source: vials of 1,000, 5,000 and 25,000 units/mL are sold")
@pytest.mark.parametrize(("vial", "ratio"), [("1000", 1), ("5000", 5), ("25000", 25)])
def test_strength_trap(vial: str, ratio: int) -> None:
    assert calc("strength_ratio", vial_units_ml=vial, prescribed_units_ml="1000") == ratio
