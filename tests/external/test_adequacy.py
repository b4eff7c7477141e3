"""The dose of a session against worked rows and printed examples."""

from __future__ import annotations

from decimal import Decimal

import pytest

from ebbwell.science import adequacy
from tests.external.table import Row, calc, check, params

D = Decimal
FINE = "1e-8"
FOUR = {"urea_before_mmol_l": "25", "urea_after_mmol_l": "7.5", "hours_h": "4", "removal_l": "2.5"}
NIGHT = {"urea_before_mmol_l": "10", "urea_after_mmol_l": "2", "hours_h": "8", "removal_l": "1.5"}


def bare(generation: str) -> Decimal:
    """R 0.20, 8 h, 1.5 L off 68 kg: the arithmetic without the published range."""
    return adequacy.bare_dose(D("0.20"), D(8), D(generation), D("1.5") / 68)


def even(rule: str, dose: str, hours: str) -> Decimal:
    return calc(f"equilibrated_dose_{rule}", dose_factor=dose, hours_h=hours)


def bare_even(rule: tuple[Decimal, Decimal], dose: str, hours: str) -> Decimal:
    return adequacy.bare_after_rebound(D(dose), D(hours), rule)


def clearance_dose(clearance: str, minutes: str, water: str) -> Decimal:
    return calc("dose_by_clearance", clearance_ml_min=clearance, minutes_min=minutes, body_water_l=water)


def reduction(before: str, after: str) -> Decimal:
    return calc("urea_reduction", urea_before_mmol_l=before, urea_after_mmol_l=after)


def no_removal(ratio: str) -> Decimal:
    """4 h thrice weekly without removal, by the ratio."""
    return calc(
        "single_pool_dose",
        urea_before_mmol_l="50",
        urea_after_mmol_l=str(50 * D(ratio)),
        hours_h="4",
        removal_l="0",
        weight_kg="70",
    )


ROWS = (
    Row("kinetics:B1", "", lambda: calc("single_pool_dose", weight_kg="70", **FOUR), "1.42212544", FINE),
    Row("kinetics:B2", "", lambda: reduction("25", "7.5"), "70", "0"),
    Row(
        "kinetics:B3",
        "removal by 0.55 x 2.5 / 36",
        lambda: calc("single_pool_dose_by_water", body_water_l="36", **FOUR),
        "1.42944191",
        FINE,
    ),
    Row(
        "kinetics:B4",
        "2 days: 0.0174 / 2 = 0.0087",
        lambda: calc("single_pool_dose_any", weight_kg="68", since_last_days="2", **NIGHT),
        "2.10994275",
        FINE,
    ),
    Row("kinetics:B5", "0.008, arithmetic alone", lambda: bare("0.008"), "2.06789451", FINE),
    Row(
        "kinetics:B5",
        "0.0174, 1 day",
        lambda: calc("single_pool_dose_any", weight_kg="68", since_last_days="1", **NIGHT),
        "2.87295961",
        FINE,
    ),
    Row(
        "from memory",
        "kinetics A1, table of GFAC: general rule, 4 days",
        lambda: calc("generation_by_days", since_last_days="4"),
        "0.00435",
        "0",
    ),
    Row(
        "arithmetic",
        "kinetics A1: (0.01 + 8 x 0.001) / (0.2 - 0.0087 x 8) = 0.018 / 0.1304",
        lambda: calc(
            "single_pool_dose_error",
            urea_before_mmol_l="10",
            urea_after_mmol_l="2",
            hours_h="8",
            generation_per_h="0.0087",
            ratio_error_factor="0.01",
            generation_error_per_h="0.001",
        ),
        "0.13803681",
        FINE,
    ),
    Row(
        "kinetics:B7",
        "R 0.41, 3.5 h, 0.032",
        lambda: adequacy.bare_first_generation(D("0.41"), D("3.5"), D("0.032")),
        "1.04982212",
        FINE,
    ),
    Row(
        "kinetics:B7",
        "printed pairing",
        lambda: adequacy.bare_first_generation(D("0.41"), D("3.5"), D("0.032")),
        "1.05",
        "0.01",
    ),
    Row("kinetics:B8", "fistula", lambda: even("fistula", "1.4", "4"), "1.22", FINE),
    Row("kinetics:B8", "catheter", lambda: even("catheter", "1.4", "4"), "1.2555", FINE),
    Row("kinetics:B8", "35 min", lambda: even("time", "1.4", "4"), "1.22181818", FINE),
    Row("kinetics:B8", "regression", lambda: even("regression", "1.4", "4"), "1.21135", FINE),
    Row("kinetics:B8", "guideline: 1.20 with 1.4", lambda: even("fistula", "1.4", "4"), "1.20", "0.03"),
    Row("kinetics:B9", "fistula, bare", lambda: bare_even(adequacy.FISTULA, "2", "8"), "1.88", FINE),
    Row("kinetics:B9", "catheter, bare", lambda: bare_even(adequacy.CATHETER, "2", "8"), "1.9025", FINE),
    Row("kinetics:B9", "35 min", lambda: even("time", "2", "8"), "1.86407767", FINE),
    Row("kinetics:B9", "regression, bare", lambda: adequacy.bare_regression(D(2), D(8)), "1.80525", FINE),
    Row("kinetics:B10", "fistula", lambda: even("fistula", "1.2", "3.5"), "1.02428571", FINE),
    Row("kinetics:B10", "catheter", lambda: even("catheter", "1.2", "3.5"), "1.05885714", FINE),
    Row("kinetics:B10", "35 min", lambda: even("time", "1.2", "3.5"), "1.02857143", FINE),
    Row("kinetics:B10", "regression", lambda: even("regression", "1.2", "3.5"), "1.02937143", FINE),
    Row(
        "kinetics:B11",
        "",
        lambda: calc("equilibrated_urea", urea_before_mmol_l="25", urea_after_mmol_l="7.5", hours_h="4"),
        "8.74197313",
        FINE,
    ),
    Row(
        "arithmetic",
        "kinetics A1: 1.22 x (1 + 2.5 / 40)",
        lambda: calc(
            "equilibrated_dose_with_removal", equilibrated_factor="1.22", removal_l="2.5", body_water_l="40"
        ),
        "1.29625",
        "0",
    ),
    Row("kinetics:B40", "printed cut: 1.42", lambda: clearance_dose("250", "240", "42"), "1.42", "0.01"),
    Row("kinetics:B40", "", lambda: clearance_dose("250", "240", "42"), "1.42857143", FINE),
    Row("kinetics:B40", "3 kg oedema", lambda: clearance_dose("250", "240", "45"), "1.33333333", FINE),
    Row("kinetics:G1", "in mg/dL, the share is the same", lambda: reduction("50", "15"), "70", "0"),
    Row("kinetics:G2", "54 L over 42", lambda: clearance_dose("300", "180", "42"), "1.3"),
    Row("kinetics:G2", "Kt", lambda: 42 * clearance_dose("300", "180", "42"), "54", FINE),
    Row("kinetics:G3", "Kt", lambda: 42 * clearance_dose("250", "240", "42"), "60", FINE),
    Row("kinetics:G3", "printed cut", lambda: clearance_dose("250", "240", "42"), "1.42", "0.01"),
    Row("kinetics:G4", "60 L over 42 + 3", lambda: 60 / clearance_dose("250", "240", "45"), "45", FINE),
    Row("examples:E1.2", "cut, not rounded", lambda: clearance_dose("250", "240", "42"), "1.42", "0.01"),
    Row("examples:E1.3", "64 %: R 0.40", lambda: no_removal("0.40"), "1.0", "0.05"),
    Row("examples:E1.3", "70 %: R 0.34", lambda: no_removal("0.34"), "1.2", "0.05"),
    Row("examples:E1.3", "76 %: R 0.28", lambda: no_removal("0.28"), "1.4", "0.05"),
    Row("examples:E1.4", "50 to 15", lambda: reduction("50", "15"), "70", "0"),
    *(
        Row(
            key,
            f"mean weekly Kt 79.94 L over {water} L",
            lambda water=water: clearance_dose("79.94", "1000", water),  # type: ignore[misc]
            printed,
            "0.01",
        )
        for key, water, printed in (
            ("examples:E1.5", "37.24", "2.15"),
            ("examples:E1.6", "37.89", "2.11"),
            ("examples:E1.7", "43.81", "1.82"),
            ("examples:E1.8", "44.65", "1.79"),
        )
    ),
    Row(
        "examples:E1.9",
        "44.65 over 37.24 L; printed from rounded doses",
        lambda: (
            100 * clearance_dose("79.94", "1000", "37.24") / clearance_dose("79.94", "1000", "44.65") - 100
        ),
        "20.11",
        "0.3",
    ),
    Row(
        "examples:E1.10",
        "R = 0.34 x (1 + 2 x 2.5 / 70) = 0.364286",
        lambda: calc(
            "single_pool_dose",
            urea_before_mmol_l="50",
            urea_after_mmol_l="18.2143",
            hours_h="4",
            removal_l="2.5",
            weight_kg="70",
        ),
        "1.2",
        "0.005",
    ),
    Row(
        "examples:E2.1",
        "1.65 to 0.60 mg/mL, 340 mL/min, 32,941 mL: 98.0 min; e^-dose is the fall",
        lambda: D("1.65") * (-clearance_dose("340", "98.0", "32.941")).exp(),
        "0.60",
        "0.001",
    ),
)


@pytest.mark.parametrize("row", params(ROWS))
def test_adequacy(row: Row) -> None:
    check(row)
