"""Pressures and blood volumes against figures printed elsewhere."""

from decimal import Decimal

import pytest

from ebbwell.core.errors import DomainError
from ebbwell.core.units import convert
from ebbwell.science.own_past import PressureAtFlow, own_pressure
from ebbwell.science.pressures import pressure_at_flow
from tests.external.table import Row, calc, check, params

D = Decimal
CUFF = "public test suite for blood-pressure parsing"
NEEDLES = "randomised study of needle gauges, 21 people"


def furthest_flow() -> Decimal:
    """The highest pump setting to which a pressure at 200 mL/min is brought."""
    for flow in range(200, 601):
        try:
            pressure_at_flow(pressure_mmhg=D(83), blood_flow_ml_min=D(200), wanted_flow_ml_min=D(flow))
        except DomainError:
            return D(flow - 1)
    return D(600)


def like_nights(flow: str) -> Decimal:
    nights = [PressureAtFlow(D(100 + at), D(flow)) for at in range(4)]
    own = own_pressure(nights, blood_flow_ml_min=D(230))
    return D(0) if own is None else D(own.nights)


def needle(inner: str) -> Decimal:
    return calc(
        "laminar_drop", viscosity_mpa_s="3.5", length_mm="30", blood_flow_ml_min="300", inner_mm=inner
    )


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
    Row(
        "arithmetic",
        "fluids 6, row 43 the other way: 306.7 mL/h by 5.58 mmHg, to the printed digits",
        lambda: calc("membrane_coefficient", rate_ml_h="306.7", transmembrane_mmhg="5.58"),
        "55",
        "0.1",
    ),
    Row(
        "fluids:P9",
        "oncotic 20 to 30 mmHg may be subtracted: 1,650 mL/h by 55 - 25 mmHg",
        lambda: calc("membrane_coefficient", rate_ml_h="1650", transmembrane_mmhg="55", oncotic_mmhg="25"),
        "55",
        "0",
    ),
    Row(
        "arithmetic",
        "44 against an own level of 55 is 20 % less",
        lambda: calc("coefficient_change", coefficient_ml_h_mmhg="44", own_coefficient_ml_h_mmhg="55"),
        "-20",
        "0",
    ),
    Row("arithmetic", "fluids 6, row 44", lambda: needle("1.6"), "24.5", "0.1"),
    *(
        Row(
            "arithmetic",
            f"fluids 5.2: laminar part at {inner} mm against 1.6 mm",
            lambda inner=inner: needle(inner) / needle("1.6"),  # type: ignore[misc]
            ratio,
        )
        for inner, ratio in (("1.2", "3.16"), ("1.4", "1.71"), ("1.8", "0.62"))
    ),
    Row(
        "fluids:P20",
        f"{NEEDLES}: 14 gauge, 83 mmHg at 200 mL/min, measured 204 at 500; in proportion within 5 %",
        lambda: calc(
            "pressure_at_flow", pressure_mmhg="83", blood_flow_ml_min="200", wanted_flow_ml_min="500"
        ),
        "204",
        "10",
    ),
    Row(
        "fluids:P20",
        f"{NEEDLES}: 17 gauge, 147 mmHg at 200 mL/min, measured 382 at 500; in proportion within 5 %",
        lambda: calc(
            "pressure_at_flow", pressure_mmhg="147", blood_flow_ml_min="200", wanted_flow_ml_min="500"
        ),
        "382",
        "19",
    ),
    Row("fluids:P20", f"{NEEDLES}: nothing was measured past 2.5 times the flow", furthest_flow, "500", "0"),
    Row(
        "fluids:P6",
        "at 400 set, 7 % less with 14 gauge",
        lambda: calc("flow_delivered", blood_flow_ml_min="400", short_percent="7"),
        "372",
        "0",
    ),
    Row(
        "fluids:P6",
        "at 400 set, 10.5 % less with 15 gauge",
        lambda: calc("flow_delivered", blood_flow_ml_min="400", short_percent="10.5"),
        "358",
        "0",
    ),
    Row(
        "common practice",
        "no source: nights within 10 mL/min are like nights",
        lambda: like_nights("240"),
        "4",
        "0",
    ),
    Row(
        "common practice",
        "no source: nights further apart than 10 mL/min are not",
        lambda: like_nights("240.05"),
        "0",
        "0",
    ),
)


@pytest.mark.parametrize("row", params(ROWS))
def test_pressures(row: Row) -> None:
    check(row)
