"""The limits by theme, for the page of limits and the keyboard."""

from __future__ import annotations

from collections.abc import Mapping

from ebbwell.rulebook.model import Limit, Rulebook

THEMES: Mapping[str, tuple[str, ...]] = {
    "water": (
        "chlorine",
        "chlorine_rising",
        "residual_disinfectant",
        "rejection_least",
        "rejection_fall",
        "product_rise",
        "hardness",
        "contact_time",
        "softener_share",
        "filter_rise",
        "gauges_due",
        "microbes_due",
        "report_due",
        "notice_days",
    ),
    "fluid": (
        "conductivity_care",
        "conductivity_stop",
        "conductivity_low",
        "conductivity_high",
        "meters_apart",
        "ph_low",
        "ph_high",
        "fluid_temperature_stop",
        "fluid_temperature_low",
        "fluid_temperature_high",
        "fluid_temperature_off",
        "acid_start_up",
        "bicarbonate_usable",
    ),
    "body": (
        "body_temperature",
        "systolic_stop",
        "systolic_low",
        "systolic_high",
        "diastolic_high",
        "systolic_fall",
        "standing_fall",
        "pulse_low",
        "pulse_high",
        "oxygen_low",
        "glucose_low",
        "glucose_high",
    ),
    "weight": (
        "removal_rate_care",
        "removal_rate_note",
        "removal_large",
        "water_share",
        "nothing",
        "gain_percent",
        "gain_per_day",
        "weight_loss_between",
        "weight_under_target",
        "readings_apart",
        "weight_after_note",
        "weight_after_care",
        "target_missed",
        "removed_off",
    ),
    "heparin": (
        "heparin_factor",
        "heparin_dose_most",
        "heparin_rate_most",
        "heparin_rate_step",
        "heparin_given_off",
    ),
    "access": (
        "needles_to_connect",
        "needle_tries",
        "needle_tries_note",
        "pain",
        "venous_fall",
        "venous_high",
        "arterial_guideline",
        "arterial_most",
        "arterial_zero",
        "pressure_off_own",
        "tmp_off_own",
        "tmp_high",
        "bleeding_care",
        "bleeding_stop",
        "bleeding_times_own",
    ),
    "night": (
        "minutes_short",
        "coming_off_takes",
        "gap_hours",
        "flow_off",
        "processed_off",
        "saline_much",
        "drinks_much",
        "prescription_age",
        "entry_late",
        "expiry_near",
        "expired",
    ),
}
"""Theme to its limits. A limit that a newer rulebook adds stands under ``other``."""


def themed(book: Rulebook) -> list[tuple[str, list[Limit]]]:
    """Themes with their limits; none is left out."""
    every = {limit.id: limit for limit in book.limits()}
    found = [(theme, [every.pop(id) for id in ids if id in every]) for theme, ids in THEMES.items()]
    found.append(("other", list(every.values())))
    return [(theme, limits) for theme, limits in found if limits]
