"""Clearance of a dialyser, blood water, recirculation, and removal that levels off, against worked rows."""

from __future__ import annotations

from decimal import Decimal

import pytest

from tests.external.table import Row, calc, check, params

D = Decimal
FINE = "1e-7"


def cleared(koa: str, blood: str, dialysate: str) -> Decimal:
    return calc(
        "clearance_of_dialyser", koa_ml_min=koa, blood_flow_ml_min=blood, dialysate_flow_ml_min=dialysate
    )


def size(clearance: str, blood: str, dialysate: str) -> Decimal:
    return calc(
        "koa_of_clearance",
        clearance_ml_min=clearance,
        blood_flow_ml_min=blood,
        dialysate_flow_ml_min=dialysate,
    )


def artificial_kidney() -> Decimal:
    """Clearance of 200 mL/min in at 1.90 and 195 out at 1.75; only the ratio of the concentrations counts."""
    return calc(
        "clearance_with_removal",
        blood_flow_ml_min="200",
        removal_ml_min="5",
        urea_in_mmol_l="19.0",
        urea_out_mmol_l="17.5",
    )


def levelling(ceiling: str, steepness: str, offset: str) -> Decimal:
    return calc(
        "removal_flow_saturating",
        ceiling_ml_h=ceiling,
        steepness_factor=steepness,
        transmembrane_mmhg="100",
        offset_mmhg=offset,
    )


ROWS = (
    Row("kinetics:B25", "KoA 800, 300, 500", lambda: cleared("800", "300", "500"), "247.95456557", FINE),
    Row("kinetics:B25", "and back", lambda: size("247.95456557", "300", "500"), "800", "1e-5"),
    Row("kinetics:B26", "KoA 900, 250, 300", lambda: cleared("900", "250", "300"), "207.86076145", FINE),
    Row("kinetics:B26", "KoA 900, 200, 300", lambda: cleared("900", "200", "300"), "182.52522276", FINE),
    Row("kinetics:B27", "equal flows", lambda: cleared("600", "300", "300"), "200", "1e-6"),
    Row("kinetics:B27", "nearly", lambda: cleared("600", "300", "300.0003"), "200.00006667", "1e-6"),
    Row("kinetics:B27", "equal flows, back", lambda: size("200", "300", "300"), "600", "1e-6"),
    Row(
        "kinetics:B28",
        "K 247.954566, QB 300, QF 10",
        lambda: calc(
            "clearance_predicted", clearance_ml_min="247.954566", blood_flow_ml_min="300", removal_ml_min="10"
        ),
        "249.68941338",
        "1e-6",
    ),
    Row(
        "from memory",
        "kinetics A5: the other rule, 247.954566 + 0.46 x 10",
        lambda: calc(
            "clearance_predicted_by_share",
            clearance_ml_min="247.954566",
            blood_flow_ml_min="300",
            removal_ml_min="10",
        ),
        "252.554566",
        "1e-6",
    ),
    Row(
        "kinetics:B29",
        "haematocrit 0.35",
        lambda: calc("blood_water_flow", blood_flow_ml_min="300", red_cells_percent="35"),
        "246.366",
        "1e-9",
    ),
    Row(
        "kinetics:B29",
        "0.86 rule",
        lambda: calc("blood_water_flow_simple", blood_flow_ml_min="300"),
        "258",
        "1e-9",
    ),
    Row(
        "from memory",
        "kinetics A5: 0.894 x 300",
        lambda: calc("blood_water_flow_other", blood_flow_ml_min="300"),
        "268.2",
        "1e-9",
    ),
    Row(
        "kinetics:B30",
        "S 20, A 17, V 6",
        lambda: calc(
            "recirculation", urea_body_mmol_l="20", urea_arterial_mmol_l="17", urea_venous_mmol_l="6"
        ),
        "21.42857143",
        "1e-8",
    ),
    Row(
        "arithmetic",
        "kinetics A6: 15 of 100 seen again",
        lambda: calc("recirculation_by_dilution", seen_factor="15", injected_factor="100"),
        "15",
        "0",
    ),
    Row(
        "kinetics:B31",
        "K 250, QB 300, r 0.15",
        lambda: calc(
            "clearance_with_recirculation",
            clearance_ml_min="250",
            blood_flow_ml_min="300",
            recirculation_percent="15",
        ),
        "217.94871795",
        "1e-8",
    ),
    Row(
        "arithmetic",
        "kinetics A6: 250 / (1 + 250 / 4000) = 250 / 1.0625",
        lambda: calc(
            "clearance_heart_lung",
            clearance_ml_min="250",
            heart_output_ml_min="5000",
            access_flow_ml_min="1000",
        ),
        "235.29411765",
        "1e-8",
    ),
    Row(
        "examples:E2.2",
        "urea removed, 1.90 mg/mL x clearance; exact 38.75",
        lambda: artificial_kidney() * D("1.90"),
        "38.8",
        "0.051",
    ),
    Row(
        "examples:E2.3",
        "in 1,505 mL/min of used fluid; printed from 38.8",
        lambda: artificial_kidney() * D("1.90") / 1505,
        "0.0258",
        "0.0001",
    ),
    Row(
        "examples:E2.4",
        "1.6 mg/mL of 5,000 mL at that steady rate",
        lambda: D("1.6") * 5000 / (artificial_kidney() * D("1.90")),
        "206",
        "0.5",
    ),
    Row(
        "arithmetic",
        "kinetics B54, 200 mL/min: A 44.98858 dL/h, e^0.76486 = 2.148693; at 1 dmHg 1 - e^-(2.148693 x 0.77576)"
        " = 1 - 0.188836",
        lambda: levelling("4498.858", "2.148693", "22.424"),
        "3649.3",
        "0.5",
    ),
    Row(
        "arithmetic",
        "kinetics B54, 300 mL/min: A 62.21732 dL/h, e^0.25281 = 1.287639; 1 - e^-(1.287639 x 0.77516) = 1 - 0.368580",
        lambda: levelling("6221.732", "1.287639", "22.484"),
        "3928.5",
        "0.5",
    ),
)


@pytest.mark.parametrize("row", params(ROWS))
def test_dialyser(row: Row) -> None:
    check(row)
