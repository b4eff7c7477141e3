"""The dose of a week against worked rows and printed examples."""

from __future__ import annotations

from decimal import Decimal

import pytest

from tests.external.table import Row, calc, check, params

D = Decimal
FINE = "1e-8"


def even(rule: str, dose: str, hours: str) -> Decimal:
    return calc(f"equilibrated_dose_{rule}", dose_factor=dose, hours_h=hours)


def standard(sessions: str, minutes: str, dose: str, evened: Decimal | str) -> Decimal:
    return calc(
        "standard_dose",
        dose_factor=dose,
        equilibrated_factor=str(evened),
        sessions_per_week=sessions,
        minutes_min=minutes,
    )


def with_fluid(plain: Decimal, sessions: str, dose: str, removal: str, own: str, water: str) -> Decimal:
    return calc(
        "standard_dose_with_fluid",
        standard_per_week=str(plain),
        dose_factor=dose,
        sessions_per_week=sessions,
        week_removal_l=removal,
        own_kidneys_ml_min=own,
        body_water_l=water,
    )


def surface(child: bool, dose: str, ratio: str) -> Decimal:
    name = "surface_dose_child" if child else "surface_dose_adult"
    return calc(name, standard_per_week=dose, body_water_l=str(2 * D(ratio)), surface_m2="2")


def per_surface(dose: str, ratio: str) -> Decimal:
    return calc("cleared_per_surface", standard_per_week=dose, body_water_l=str(2 * D(ratio)), surface_m2="2")


def thrice(dose: str, own_kidneys: str = "0") -> Decimal:
    return calc("renal_clearance_like_thrice", equilibrated_factor=dose, own_kidneys_ml_min=own_kidneys)


def of_week(ekr: str) -> Decimal:
    return calc("renal_clearance_like_week", ekr_ml_min=ekr, body_water_l="40")


ROWS = (
    Row(
        "kinetics:B12",
        "regression",
        lambda: standard("3", "180", "1.31", even("regression", "1.31", "3")),
        "2.05",
        "0.01",
    ),
    Row(
        "kinetics:B12",
        "worked",
        lambda: standard("3", "180", "1.31", even("regression", "1.31", "3")),
        "2.04938",
        "0.00001",
    ),
    Row(
        "kinetics:B12",
        "35 min",
        lambda: standard("3", "180", "1.31", even("time", "1.31", "3")),
        "2.05217",
        "0.00001",
    ),
    Row(
        "kinetics:B13",
        "regression",
        lambda: standard("3", "180", "1.52", even("regression", "1.52", "3")),
        "2.21",
        "0.015",
    ),
    Row(
        "kinetics:B13",
        "35 min",
        lambda: standard("3", "180", "1.52", even("time", "1.52", "3")),
        "2.2223",
        "0.0001",
    ),
    Row("kinetics:B14", "", lambda: standard("3", "240", "1.4", "1.22"), "2.19206404", FINE),
    Row(
        "kinetics:B15", "", lambda: standard("4", "480", "1.7", even("time", "1.7", "8")), "3.53861078", FINE
    ),
    Row(
        "kinetics:B16",
        "6.3 L a week",
        lambda: with_fluid(
            standard("4", "480", "1.7", even("time", "1.7", "8")), "4", "1.7", "6.3", "0", "40"
        ),
        "3.64481147",
        FINE,
    ),
    Row(
        "kinetics:B17",
        "7 L a week",
        lambda: with_fluid(standard("3", "240", "1.4", "1.22"), "3", "1.4", "7", "0", "36"),
        "2.30249870",
        FINE,
    ),
    Row(
        "kinetics:B17",
        "and own kidneys of 2",
        lambda: with_fluid(standard("3", "240", "1.4", "1.22"), "3", "1.4", "7", "2", "36"),
        "2.70710797",
        FINE,
    ),
    Row("kinetics:B18", "continuous", lambda: standard("7", "1440", "1", "1"), "7.00000000", "1e-12"),
    Row(
        "kinetics:B19",
        "",
        lambda: standard("6", "150", "0.6", even("time", "0.6", "2.5")),
        "2.38761638",
        FINE,
    ),
    Row(
        "kinetics:B35",
        "",
        lambda: calc("renal_clearance_like", urea_made_mmol_min="0.2", mean_urea_mmol_l="16"),
        "12.5",
        "0",
    ),
    Row("kinetics:B36", "printed 3.34", lambda: of_week("13.2"), "3.34", "0.02"),
    Row("kinetics:B36", "", lambda: of_week("13.2"), "3.3264", "0"),
    Row("kinetics:B37", "", lambda: thrice("1.2"), "13", "0"),
    Row("kinetics:B37", "printed", lambda: thrice("1.2"), "13.2", "0.3"),
    Row(
        "kinetics:B37",
        "stdKt/V printed, 4 h, dose 1.4",
        lambda: standard("3", "240", "1.4", "1.2"),
        "2.23",
        "0.3",
    ),
    Row("kinetics:B38", "", lambda: thrice("0.8"), "9", "0"),
    Row("kinetics:B38", "", lambda: thrice("1.0"), "11", "0"),
    Row("kinetics:B38", "each mL/min of own kidneys adds as much", lambda: thrice("1.0", "2"), "13", "0"),
    Row("kinetics:B39", "", lambda: surface(True, "2.49", "15.6"), "2.21965714", FINE),
    Row("kinetics:B39", "printed, of means", lambda: surface(True, "2.49", "15.6"), "2.21", "0.02"),
    Row("kinetics:B53", "men", lambda: per_surface("2.05", "19.51219512"), "40", "1e-7"),
    Row("kinetics:B53", "women", lambda: per_surface("2.21", "18.09954751"), "40", "1e-7"),
    Row(
        "kinetics:G7",
        "40 L/m2 is 2.0 x 20",
        lambda: surface(False, "2.05", "19.51219512"),
        "2.0",
        "1e-7",
    ),
    Row(
        "kinetics:G8",
        "V 50 L, spKt/V 1.0; 180 min and 2.13 m2 are ours",
        lambda: standard("3", "180", "1.0", even("time", "1.0", "3")) * D("23.5"),
        "40",
        "2",
    ),
    Row(
        "kinetics:G5",
        "eKt/V 1.4; 4 h and 1.6 are ours",
        lambda: standard("3", "240", "1.6", "1.4"),
        "2.4",
        "0.1",
    ),
    Row(
        "kinetics:G6",
        "eKt/V 0.5; 2.5 h and 0.62 are ours",
        lambda: standard("6", "150", "0.62", "0.5"),
        "2.4",
        "0.4",
    ),
    Row(
        "kinetics:B37",
        "case A: EKR 12.32289031, V 36",
        lambda: calc("renal_clearance_like_40", ekr_ml_min="12.32289031", body_water_l="36"),
        "13.69210034",
        FINE,
    ),
    Row(
        "arithmetic",
        "kinetics C, case A: 0.2 x 10080 / (24.03283652 x 36)",
        lambda: calc(
            "standard_dose_by_model",
            urea_made_mmol_min="0.2",
            mean_before_mmol_l="24.03283652",
            body_water_l="36",
        ),
        "2.33014526",
        FINE,
    ),
)


@pytest.mark.parametrize("row", params(ROWS))
def test_weekly_dose(row: Row) -> None:
    check(row)


@pytest.mark.source("kinetics:G9", detail="quoted lines 2.3 and 2.1: thrice 4 h at 1.4 lies between them")
def test_the_standard_dose_has_the_size_of_the_printed_lines() -> None:
    assert D("2.1") < standard("3", "240", "1.4", "1.22") < D("2.3")
