"""Pressures and blood volumes against figures printed elsewhere."""

from decimal import Decimal

import pytest

from ebbwell.core.units import convert
from tests.external.table import Row, calc, check, params

D = Decimal
CUFF = "public test suite for blood-pressure parsing"

ROWS = (
    Row(
        "examples:E5.1",
        "nursing page on mean arterial pressure",
        lambda: calc("mean_arterial_pressure", systolic_mmhg="83", diastolic_mmhg="50"),
        "61",
        "0",
    ),
    Row(
        "examples:E5.2",
        "question page on mean arterial pressure",
        lambda: calc("mean_arterial_pressure", systolic_mmhg="130", diastolic_mmhg="85"),
        "100",
        "0",
    ),
    Row("examples:E5.7", CUFF, lambda: convert(D(16), "kPa", "mmHg"), "120"),
    Row("examples:E5.7", CUFF, lambda: convert(D("10.7"), "kPa", "mmHg"), "80.3"),
    Row("examples:E5.7", CUFF, lambda: convert(D("12.4"), "kPa", "mmHg"), "93"),
    Row(
        "arithmetic",
        "fluids 6, row 46",
        lambda: calc("mean_arterial_pressure", systolic_mmhg="128", diastolic_mmhg="76"),
        "93.3",
        "0.05",
    ),
    Row(
        "fluids:P8",
        "row 42, four points",
        lambda: calc(
            "transmembrane_pressure_4",
            blood_in_mmhg="220",
            blood_out_mmhg="140",
            fluid_in_mmhg="30",
            fluid_out_mmhg="10",
        ),
        "160",
        "0",
    ),
    Row(
        "arithmetic",
        "fluids 6, row 42, two points",
        lambda: calc("transmembrane_pressure_2", blood_out_mmhg="140", fluid_out_mmhg="10"),
        "130",
        "0",
    ),
    Row(
        "arithmetic",
        "fluids 6, row 42, three points",
        lambda: calc(
            "transmembrane_pressure_3", blood_in_mmhg="220", blood_out_mmhg="140", fluid_out_mmhg="10"
        ),
        "170",
        "0",
    ),
    Row(
        "arithmetic",
        "fluids 6, row 43",
        lambda: calc("pressure_for_removal", rate_ml_h="306.7", coefficient_ml_h_mmhg="55"),
        "5.58",
        "0.01",
    ),
    Row(
        "arithmetic",
        "fluids 6, row 45",
        lambda: calc("minutes_to_lose", share_percent="40", weight_kg="70", blood_flow_ml_min="300"),
        "6.53",
        "0.01",
    ),
    Row(
        "arithmetic",
        "fluids 5.5: the same at 400 mL/min",
        lambda: calc("minutes_to_lose", share_percent="40", weight_kg="70", blood_flow_ml_min="400"),
        "4.9",
    ),
    Row(
        "arithmetic",
        "fluids 5.5: 500 mL at 230 mL/min in 2.2 min",
        lambda: calc("blood_loss", blood_flow_ml_min="230", minutes_min="2.2"),
        "500",
        "10",
    ),
    Row(
        "arithmetic",
        "flow x time: 230 mL/min for 450 min",
        lambda: calc("blood_processed", blood_flow_ml_min="230", minutes_min="450"),
        "103.5",
    ),
    Row(
        "arithmetic",
        "fluids 6, row 47",
        lambda: calc("column_pressure", height_cm="10", density_kg_m3="1055"),
        "7.76",
        "0.02",
    ),
)


@pytest.mark.parametrize("row", params(ROWS))
def test_pressures(row: Row) -> None:
    check(row)
