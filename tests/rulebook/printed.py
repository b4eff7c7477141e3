"""Figures of the rulebook as their sources print them, read off the sources and not off the rulebook.

A name is the place of a figure in the rulebook's data: ``limit.chlorine.value``, ``quantity.systolic.ask_low``.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any, NamedTuple


class Printed(NamedTuple):
    """value: as printed. source: key in sources.toml. detail: what the source says there."""

    value: str
    source: str
    detail: str


def _limit(value: str, source: str, detail: str) -> Printed:
    return Printed(value, source, detail)


LIMITS: dict[str, Printed] = {
    "chlorine": _limit("0.1", "fluids:W1", "total chlorine, highest allowed, mg/L"),
    "chlorine_rising": _limit("0.05", "fluids:1.3", "rising but under: tests over 0.05 mg/L"),
    "coming_off_takes": _limit("45", "practice:a6", "coming off: 30 to 45 min"),
    "rejection_least": _limit("90", "fluids:W22", "usually over 90 % is wanted"),
    "rejection_fall": _limit("3", "fluids:1.5", "a fall of 3 to 5 points below the own median"),
    "product_rise": _limit("20", "fluids:W11", "more than 20 % above its history"),
    "hardness": _limit("17", "fluids:W22", "under 1 grain per gallon, 17 mg/L"),
    "contact_time": _limit("5", "fluids:W13", "two tanks in series, each 5 min"),
    "filter_rise": _limit("0.5", "fluids:1.7", "change when the drop is up by about 0.5 to 0.7 bar"),
    "softener_share": _limit("75", "fluids:1.6", "safety 0.75 to 0.9"),
    "notice_days": _limit("14", "fluids:1.9", "extra chlorine and conductivity each night for two weeks"),
    "microbes_due": _limit("31", "fluids:1.9", "monthly for the first 3 months"),
    "report_due": _limit("365", "fluids:1.9", "at installation, then yearly"),
    "gauges_due": _limit("7", "fluids:1.9", "each treatment or weekly"),
    "conductivity_care": _limit("2", "fluids:2.4", "care at 2 % before connecting"),
    "conductivity_stop": _limit("5", "fluids:F4", "machine window +-5 % of set"),
    "conductivity_low": _limit("12", "fluids:F8", "12 to 16 mS/cm as a wide range"),
    "conductivity_high": _limit("16", "fluids:F8", "12 to 16 mS/cm as a wide range"),
    "meters_apart": _limit("0.3", "fluids:2.4", "within 0.2 to 0.3 mS/cm"),
    "ph_low": _limit("6.9", "fluids:F4", "window 6.9 to 7.6"),
    "ph_high": _limit("7.6", "fluids:F4", "window 6.9 to 7.6"),
    "fluid_temperature_stop": _limit("38.5", "practice:a0", "38.5 C and over: stop"),
    "fluid_temperature_low": _limit("35", "practice:a0", "fluid temperature 35.0 to 37.5"),
    "fluid_temperature_high": _limit("37.5", "practice:a0", "fluid temperature 35.0 to 37.5"),
    "fluid_temperature_off": _limit("0.5", "practice:a0", "set +-0.5"),
    "body_temperature": _limit("37.8", "practice:a0", "37.8 C and over before start: stop"),
    "systolic_stop": _limit("90", "fluids:U8", "nadir systolic under 90 mmHg"),
    "systolic_low": _limit("100", "fluids:4.6", "care before start under 100 mmHg"),
    "systolic_high": _limit("180", "fluids:4.6", "care before start over 180/100 mmHg"),
    "diastolic_high": _limit("100", "fluids:4.6", "care before start over 180/100 mmHg"),
    "systolic_fall": _limit("20", "fluids:U9", "fall of 20 mmHg systolic"),
    "standing_fall": _limit("20", "practice:c", "fall of 20 mmHg on standing: sit down again"),
    "pulse_low": _limit("50", "practice:a0", "pulse asked outside 50 to 110"),
    "pulse_high": _limit("110", "practice:a0", "pulse asked outside 50 to 110"),
    "oxygen_low": _limit("92", "practice:a0", "oxygen asked outside 92 to 100"),
    "glucose_low": _limit("4.5", "practice:a0", "glucose asked outside 4.5 to 15 mmol/L"),
    "glucose_high": _limit("15", "practice:a0", "glucose asked outside 4.5 to 15 mmol/L"),
    "removal_rate_care": _limit("13", "fluids:U3", "over 13 mL/kg/h"),
    "removal_rate_note": _limit("10", "fluids:U3", "over 10 mL/kg/h"),
    "removal_large": _limit("3.5", "practice:a0", "fluid to remove over 3.5 L"),
    "gain_percent": _limit("4.5", "fluids:U7", "over 4 to 4.5 % of target"),
    "weight_loss_between": _limit("0.5", "fluids:4.5", "last weight after -0.5 kg"),
    "weight_under_target": _limit("1.0", "practice:a0", "weight before: target -1.0"),
    "readings_apart": _limit("0.1", "fluids:4.5", "two readings within 0.1 kg"),
    "weight_after_note": _limit("0.3", "fluids:4.5", "within 0.3 kg"),
    "weight_after_care": _limit("0.5", "fluids:4.5", "over 0.5 kg apart"),
    "target_missed": _limit("1.0", "fluids:U4", "missed by 1 kg or more"),
    "heparin_factor": _limit("5", "fluids:3.3", "5 or 25-fold error"),
    "heparin_dose_most": _limit("100", "fluids:3.1", "0 to 100 units/kg"),
    "heparin_rate_most": _limit("50", "fluids:3.1", "0 to 50 units/kg/h"),
    "heparin_given_off": _limit("0.2", "fluids:3.3", "within 5 % or 0.2 mL"),
    "needle_tries": _limit("2", "practice:a0", "over the unit's number (often 2)"),
    "needle_tries_note": _limit("1", "practice:a0", "needle tries over 1"),
    "pain": _limit("4", "practice:a0", "pain over 4"),
    "venous_fall": _limit("20", "fluids:P11", "falls of only about 20 mmHg"),
    "arterial_guideline": _limit("-150", "fluids:P2", "not more negative than -150 mmHg"),
    "arterial_most": _limit("-250", "fluids:5.1", "-250 mmHg"),
    "venous_high": _limit("250", "fluids:P3", "venous over 200 to 250: look"),
    "pressure_off_own": _limit("40", "practice:a0", "own +-40"),
    "tmp_off_own": _limit("50", "practice:a0", "own +-50"),
    "tmp_high": _limit("300", "fluids:5.3", "usual ceiling 300 to 500 mmHg, from memory"),
    "bleeding_care": _limit("20", "practice:a0", "over 20 min: care"),
    "bleeding_stop": _limit("30", "practice:B3", "over 30 min called prolonged"),
    "bleeding_times_own": _limit("2", "practice:a0", "own x 2"),
    "gap_hours": _limit("72", "practice:e", "H54: often 72 h"),
    "flow_off": _limit("10", "practice:a0", "prescription +-10 %"),
    "removed_off": _limit("0.15", "practice:a0", "expected +-0.15"),
    "processed_off": _limit("10", "practice:a0", "flow x time +-10 %"),
    "saline_much": _limit("500", "practice:a0", "saline over 500 mL"),
    "drinks_much": _limit("1000", "practice:a0", "drinks over 1000 mL"),
    "expiry_near": _limit("30", "practice:a0", "expiry under 30 days"),
}
"""Limit to its figure in the source."""

RANGES: dict[str, dict[str, str]] = {
    "weight_before": {"last_low": "20.0", "last_high": "300.0"},
    "target_weight": {"last_low": "20.0", "last_high": "300.0"},
    "weight_after": {"last_low": "20.0", "last_high": "300.0", "expected_within": "0.5"},
    "systolic": {"ask_low": "90", "ask_high": "180", "last_low": "40", "last_high": "280"},
    "diastolic": {"ask_low": "45", "ask_high": "105", "last_low": "20", "last_high": "180"},
    "pulse": {"ask_low": "50", "ask_high": "110", "last_low": "20", "last_high": "250"},
    "body_temperature": {"ask_low": "35.5", "ask_high": "37.5", "last_low": "30.0", "last_high": "43.0"},
    "oxygen_saturation": {"ask_low": "92", "ask_high": "100", "last_low": "50", "last_high": "100"},
    "glucose": {"ask_low": "4.5", "ask_high": "15", "last_low": "1.0", "last_high": "45"},
    "total_chlorine": {"ask_high": "0.05", "last_low": "0.00", "last_high": "5.00"},
    "feed_conductivity": {"last_low": "0", "last_high": "3000", "own_percent": "20"},
    "product_conductivity": {"last_low": "0", "last_high": "200", "own_percent": "20"},
    "rejection": {"last_low": "0", "last_high": "100", "own_below": "2"},
    "hardness": {"ask_high": "17", "last_low": "0", "last_high": "1000"},
    "fluid_conductivity": {
        "ask_low": "12.0",
        "ask_high": "16.0",
        "last_low": "0",
        "last_high": "30",
        "expected_percent": "2",
    },
    "fluid_ph": {"ask_low": "6.9", "ask_high": "7.6", "last_low": "5.0", "last_high": "9.0"},
    "fluid_temperature": {
        "ask_low": "35.0",
        "ask_high": "37.5",
        "last_low": "5",
        "last_high": "60",
        "expected_within": "0.5",
    },
    "blood_flow": {"last_low": "0", "last_high": "500", "expected_percent": "10"},
    "dialysate_flow": {"last_low": "0", "last_high": "1000", "expected_percent": "10"},
    "arterial_pressure": {"last_low": "-400", "last_high": "100", "own_below": "40", "own_above": "40"},
    "venous_pressure": {"last_low": "-100", "last_high": "500", "own_below": "40", "own_above": "40"},
    "transmembrane_pressure": {"last_low": "-150", "last_high": "600", "own_below": "50", "own_above": "50"},
    "fluid_to_remove": {"ask_high": "3.5", "last_low": "0", "last_high": "8.0"},
    "fluid_removed": {"last_low": "0", "last_high": "8.0", "expected_within": "0.15"},
    "treatment_minutes": {"ask_low": "300", "ask_high": "600", "last_low": "15", "last_high": "840"},
    "heparin_first_dose": {"last_low": "0", "last_high": "10000"},
    "heparin_rate": {"last_low": "0", "last_high": "3000"},
    "heparin_rate_ml": {"last_low": "0", "last_high": "5"},
    "blood_processed": {"last_low": "0", "last_high": "300", "expected_percent": "10"},
    "saline_given": {"ask_high": "500", "last_low": "0", "last_high": "3000"},
    "drinks": {"ask_high": "1000", "last_low": "0", "last_high": "4000"},
    "bleeding_minutes": {"ask_high": "15", "last_low": "0", "last_high": "240", "own_factor": "2"},
    "needle_tries": {"ask_high": "1", "last_low": "0", "last_high": "10"},
    "pain": {"ask_high": "4", "last_low": "0", "last_high": "10"},
}
"""Quantity to its ranges in practice:a0, the field dictionary: asked outside, asked again outside, against the own past
or what is expected. Hours are in minutes here: 5:00 to 10:00, and 0:15 to 14:00."""


def printed() -> Iterator[tuple[str, str]]:
    """Name and printed value of every figure."""
    for id, row in LIMITS.items():
        yield f"limit.{id}.value", row.value
    for id, fields in RANGES.items():
        for field, value in fields.items():
            yield f"quantity.{id}.{field}", value


def at(data: Mapping[str, Any], name: str) -> Decimal:
    """The figure in the rulebook's data under a name."""
    table, id, field = name.split(".")
    return Decimal(str(data[table][id][field]))


def differing(data: Mapping[str, Any]) -> list[str]:
    """Names of figures that aren't what their sources print."""
    return [name for name, value in printed() if at(data, name) != Decimal(value)]
