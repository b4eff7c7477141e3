"""Removal, weights and saline against figures printed elsewhere."""

from decimal import Decimal

import pytest

from ebbwell.core.units import convert
from tests.external.table import Row, calc, check, params

WEAK = "medical question page, 2025: weak source, arithmetic only"
COLUMN = "discussion of fluid sums, section 4 of the reference"

ROWS = (
    Row(
        "examples:E5.3",
        WEAK,
        lambda: calc("hours_under_cap", volume_l="2", cap_ml_kg_h="10", weight_kg="70"),
        "2.86",
    ),
    Row("examples:E5.4", WEAK, lambda: calc("removal_rate", volume_l="2", hours_h="4"), "500"),
    Row("examples:E5.4", WEAK, lambda: calc("removal_rate_per_kg", rate_ml_h="500", weight_kg="70"), "7.1"),
    Row("examples:E5.5", WEAK, lambda: calc("removal_rate", volume_l="1.3", hours_h="4"), "325"),
    Row("examples:E5.5", WEAK, lambda: calc("removal_rate", volume_l="1.3", hours_h="3"), "433"),
    Row(
        "examples:E6.15",
        "exam-practice page on flow rates, 30 May 2026: 500 mL in 4 h",
        lambda: calc("removal_rate", volume_l="0.5", hours_h="4"),
        "125",
    ),
    Row(
        "examples:E6.14",
        "nursing licence question page: 1,500 mL in 12 h, as mL a minute",
        lambda: convert(calc("removal_rate", volume_l="1.5", hours_h="12"), "mL/h", "mL/min"),
        "2.08",
    ),
    Row(
        "examples:E6.14",
        "the same in drops a minute, 15 drops a mL; printed 31.2 from the rounded 2.08",
        lambda: convert(calc("removal_rate", volume_l="1.5", hours_h="12"), "mL/h", "mL/min") * 15,
        "31.2",
    ),
    Row(
        "examples:E6.13",
        "pharmacy calculation practice bank, 2018: 500 mL in 4 h, 21 drops a mL",
        lambda: convert(calc("removal_rate", volume_l="0.5", hours_h="4"), "mL/h", "mL/min") * 21,
        "43.75",
    ),
    Row(
        "arithmetic",
        "3.9 kg over, 1.8 kg gained between two nights: (3.9 + 1.8) / 2 + 0.5",
        lambda: calc("spread_volume", excess_kg="3.9", gain_kg="1.8", goes_in_l="0.5", nights="2"),
        "3.35",
        "0.001",
    ),
    Row(
        "kinetics:B20",
        "58 % of 75 kg is 43.5 L, so that removal would be all of it",
        lambda: calc("removal_of_body_water", removal_l="43.5", target_weight_kg="75"),
        "100",
        "0.01",
    ),
    Row(
        "kinetics:B21",
        "58 % of 65 kg is 37.7 L, so that removal would be all of it",
        lambda: calc("removal_of_body_water", removal_l="37.7", target_weight_kg="65"),
        "100",
        "0.01",
    ),
    Row(
        "arithmetic",
        "35 % of 2.3 L in a quarter of 7.5 h: 805 mL / 1.875 h",
        lambda: calc(
            "profile_top_rate", volume_l="2.3", hours_h="7.5", top_share_percent="35", time_parts="4"
        ),
        "429.3",
    ),
    Row(
        "arithmetic",
        "0.5 L in 60 min, then 1.8 L in 6.5 h",
        lambda: calc("isolated_rate", isolated_l="0.5", isolated_min="60"),
        "500",
    ),
    Row(
        "arithmetic",
        "0.5 L in 60 min, then 1.8 L in 6.5 h",
        lambda: calc(
            "rate_beside_isolated", volume_l="2.3", isolated_l="0.5", hours_h="7.5", isolated_min="60"
        ),
        "276.9",
    ),
    Row(
        "arithmetic",
        "429.3 mL/h at 64.5 kg",
        lambda: calc("highest_rate_per_kg", top_rate_ml_h="429.3", weight_kg="64.5"),
        "6.656",
    ),
    Row(
        "fluids:U6", "row 40: lines at 70 kg", lambda: calc("weight_fair_rate_20", weight_kg="70"), "710", "0"
    ),
    Row(
        "fluids:U6", "row 40: lines at 70 kg", lambda: calc("weight_fair_rate_40", weight_kg="70"), "840", "0"
    ),
    Row("fluids:U6", "at 50 kg", lambda: calc("weight_fair_rate_20", weight_kg="50"), "650", "0"),
    Row("fluids:U6", "at 90 kg", lambda: calc("weight_fair_rate_20", weight_kg="90"), "770", "0"),
    Row("arithmetic", "fluids 6, row 37", lambda: calc("removal_rate", volume_l="2.3", hours_h="8"), "287.5"),
    Row(
        "arithmetic",
        "fluids 6, row 37",
        lambda: calc("removal_rate_per_kg", rate_ml_h="287.5", weight_kg="70"),
        "4.107",
    ),
    Row(
        "arithmetic",
        "fluids 6, row 38",
        lambda: calc(
            "removal_volume",
            weight_before_kg="66.3",
            target_weight_kg="64.5",
            rinse_back_l="0.3",
            drink_l="0.2",
        ),
        "2.3",
        "0.001",
    ),
    Row(
        "arithmetic", "fluids 6, row 38", lambda: calc("removal_rate", volume_l="2.3", hours_h="7.5"), "306.7"
    ),
    Row(
        "arithmetic",
        "fluids 6, row 38",
        lambda: calc("removal_rate_per_kg", rate_ml_h="306.6666667", weight_kg="64.5"),
        "4.755",
        "0.001",
    ),
    Row(
        "arithmetic",
        "fluids 4.3: cap volume",
        lambda: calc("cap_volume", cap_ml_kg_h="7", target_weight_kg="64.5", hours_h="7.5"),
        "3.386",
    ),
    *(
        Row(
            "arithmetic",
            f"fluids 6, row 39: left after night {night}",
            lambda night=night: calc(  # type: ignore[misc]
                "left_after_nights",
                excess_kg="4.4",
                cap_volume_l="3.38625",
                intake_l="0.5",
                gain_kg="1.8",
                nights=night,
            ),
            left,
            "0.001",
        )
        for night, left in (("1", "1.514"), ("2", "0.428"), ("3", "0"))
    ),
    Row(
        "arithmetic",
        "fluids 4.3: reached on the third night",
        lambda: calc(
            "nights_to_target", excess_kg="4.4", cap_volume_l="3.38625", intake_l="0.5", gain_kg="1.8"
        ),
        "3",
        "0",
    ),
    Row(
        "arithmetic",
        "fluids 4.3 read as one night: what remains of 4.4 kg, rinse-back 0.3, drink 0.2",
        lambda: calc("remains_after", removal_l="4.9", cap_volume_l="3.38625"),
        "1.514",
    ),
    Row(
        "arithmetic",
        "fluids 4.5: weight after equals the target when all of row 38 came off",
        lambda: calc(
            "weight_after_expected",
            weight_before_kg="66.3",
            removed_l="2.3",
            rinse_back_l="0.3",
            drink_l="0.2",
        ),
        "64.5",
        "0.001",
    ),
    Row("arithmetic", "fluids 6, row 41", lambda: calc("saline_sodium", volume_ml="200"), "30.8", "0.01"),
    Row("arithmetic", "fluids 6, row 41", lambda: calc("saline_salt", volume_ml="200"), "1.80", "0.01"),
)


@pytest.mark.parametrize("row", params(ROWS))
def test_fluid(row: Row) -> None:
    check(row)


@pytest.mark.source("common practice", detail="no source: 2 to 2.5 kg over a night of 8 h")
@pytest.mark.parametrize("volume", ["2", "2.5"])
def test_usual_night_lies_in_the_gentle_band(volume: str) -> None:
    """Overnight, 8 h makes 3 to 7 mL/kg/h usual at 55 to 85 kg (fluids 4.2)."""
    rate = calc("removal_rate", volume_l=volume, hours_h="8")
    assert Decimal(250) <= rate <= Decimal("312.5")
    for weight in ("55", "64.5", "85"):
        per_kg = calc("removal_rate_per_kg", rate_ml_h=str(rate), weight_kg=weight)
        assert Decimal("2.9") <= per_kg <= 7
