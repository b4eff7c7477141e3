"""Inputs for any public formula, drawn inside its ranges."""

from __future__ import annotations

from decimal import Decimal

from hypothesis import strategies as st

from ebbwell.science.formula import Formula, FormulaInput
from tests.science.solute_inputs import SOLUTES


def value_of(wanted: FormulaInput) -> st.SearchStrategy[Decimal]:
    """A value in the range; whole where the unit counts things."""
    places = 0 if wanted.unit == "nights" else 4
    return st.decimals(min_value=wanted.low, max_value=wanted.high, places=places, allow_nan=False)


def inputs_of(formula: Formula) -> st.SearchStrategy[dict[str, Decimal]]:
    """All inputs of a formula, each inside its range."""
    return st.fixed_dictionaries({wanted.name: value_of(wanted) for wanted in formula.inputs})


def middle(formula: Formula) -> dict[str, Decimal]:
    """One plain set of inputs that the formula takes."""
    return {name: Decimal(text) for name, text in PLAIN[formula.name].items()}


PLAIN: dict[str, dict[str, str]] = {
    "a0_hold": {"temperature_c": "85", "hold_s": "1200"},
    "a0_ramp": {"from_c": "60", "to_c": "85", "ramp_s": "600"},
    "acid_factor": {
        "sodium_set_mmol_l": "138",
        "sodium_from_acid_mmol_l": "95",
        "sodium_from_bicarbonate_mmol_l": "40",
    },
    "acid_left": {"acid_l": "5", "acid_parts": "35", "dialysate_flow_ml_min": "300", "running_h": "4"},
    "acid_needed": {"fluid_l": "135", "acid_parts": "35"},
    "acid_runs_dry_after": {"acid_l": "5", "acid_parts": "35", "dialysate_flow_ml_min": "300"},
    "bag_fluid_lasts": {"bag_fluid_l": "30", "dialysate_flow_ml_min": "120"},
    "bags_needed": {"fluid_l": "25.2", "bag_l": "5"},
    "base_equivalents": {"bicarbonate_mmol_l": "32", "acetate_mmol_l": "3"},
    "bicarbonate_after_acid": {"bicarbonate_mixed_mmol_l": "35", "acetic_acid_mmol_l": "3"},
    "bicarbonate_factor": {"bicarbonate_set_mmol_l": "36", "bicarbonate_label_mmol_l": "35"},
    "bicarbonate_liquid_left": {
        "bicarbonate_l": "10",
        "acid_parts": "36.83",
        "bicarbonate_parts": "1.83",
        "dialysate_flow_ml_min": "300",
        "running_h": "4",
    },
    "bicarbonate_liquid_needed": {"acid_l": "4", "bicarbonate_parts": "1.83"},
    "bicarbonate_liquid_runs_dry_after": {
        "bicarbonate_l": "10",
        "acid_parts": "36.83",
        "bicarbonate_parts": "1.83",
        "dialysate_flow_ml_min": "300",
    },
    "bicarbonate_powder_left": {
        "powder_g": "650",
        "bicarbonate_mixed_mmol_l": "35",
        "dialysate_flow_ml_min": "300",
        "running_h": "4",
    },
    "bicarbonate_powder_makes": {"powder_g": "650", "bicarbonate_mixed_mmol_l": "35"},
    "bicarbonate_powder_needed": {"fluid_l": "135", "bicarbonate_mixed_mmol_l": "35"},
    "bicarbonate_runs_dry_after": {
        "powder_g": "650",
        "bicarbonate_mixed_mmol_l": "35",
        "dialysate_flow_ml_min": "300",
    },
    "blood_loss": {"blood_flow_ml_min": "230", "minutes_min": "2"},
    "blood_processed": {"blood_flow_ml_min": "230", "minutes_min": "450"},
    "cap_volume": {"cap_ml_kg_h": "7", "target_weight_kg": "64.5", "hours_h": "7.5"},
    "carbon_dioxide_dissolved": {"co2_pressure_mmhg": "100"},
    "carbon_dioxide_made": {"acetic_acid_mmol_l": "3"},
    "carbon_litres_left": {"rated_mg": "30000", "taken_up_mg": "12000", "feed_chlorine_mg_l": "0.8"},
    "carbon_load": {"feed_l": "12000", "feed_chlorine_mg_l": "0.8"},
    "carbon_needed": {"contact_time_min": "5", "feed_flow_l_min": "0.6"},
    "charge_gap": {
        "sodium_mmol_l": "137",
        "potassium_mmol_l": "2",
        "calcium_mmol_l": "1.5",
        "magnesium_mmol_l": "0.5",
        "bicarbonate_mmol_l": "32",
        "acetate_mmol_l": "3",
        "chloride_mmol_l": "108",
    },
    "chloride_by_balance": {
        "sodium_mmol_l": "137",
        "potassium_mmol_l": "2",
        "calcium_mmol_l": "1.5",
        "magnesium_mmol_l": "0.5",
        "bicarbonate_mmol_l": "32",
        "acetate_mmol_l": "3",
    },
    "coefficient_change": {"coefficient_ml_h_mmhg": "44", "own_coefficient_ml_h_mmhg": "55"},
    "column_pressure": {"height_cm": "10", "density_kg_m3": "1055"},
    "conductivity_at_25": {"reading_ms_cm": "17.4", "temperature_c": "37", "coefficient_per_c": "0.02"},
    "conductivity_at_temperature": {
        "conductivity_25_ms_cm": "14",
        "temperature_c": "37",
        "coefficient_per_c": "0.02",
    },
    "conductivity_coefficient": {
        "reading_25_ms_cm": "12.8246",
        "reading_ms_cm": "15.316",
        "temperature_c": "35",
    },
    "conductivity_expected": {
        "sodium_mmol_l": "137",
        "potassium_mmol_l": "2",
        "calcium_mmol_l": "1.5",
        "magnesium_mmol_l": "0.5",
        "bicarbonate_mmol_l": "32",
        "acetate_mmol_l": "3",
    },
    "conductivity_from_reference": {
        "reading_ms_cm": "12.8",
        "reference_c": "20",
        "coefficient_per_c": "0.021",
    },
    "conductivity_per_bicarbonate": {
        "sodium_mmol_l": "137",
        "potassium_mmol_l": "2",
        "calcium_mmol_l": "1.5",
        "magnesium_mmol_l": "0.5",
        "bicarbonate_mmol_l": "32",
        "acetate_mmol_l": "3",
    },
    "conductivity_per_sodium": {
        "sodium_mmol_l": "137",
        "potassium_mmol_l": "2",
        "calcium_mmol_l": "1.5",
        "magnesium_mmol_l": "0.5",
        "bicarbonate_mmol_l": "32",
        "acetate_mmol_l": "3",
    },
    "conductivity_spread": {"temperature_c": "37", "coefficient_per_c": "0.02", "spread_per_c": "0.001"},
    "contact_time": {"carbon_l": "12", "feed_flow_l_min": "1"},
    "drain_water": {"feed_l": "350", "removal_l": "2.3"},
    "feed_needed": {"product_l": "175", "recovery_percent": "50"},
    "fits_tonight": {"removal_l": "2.3", "cap_volume_l": "3.386"},
    "flow_at_25_least": {"product_flow_l_min": "0.4", "water_temperature_c": "8"},
    "flow_at_25_most": {"product_flow_l_min": "0.4", "water_temperature_c": "8"},
    "flow_delivered": {"blood_flow_ml_min": "400", "short_percent": "7"},
    "fluid_ph_expected": {"bicarbonate_mmol_l": "32", "dissolved_co2_mmol_l": "3"},
    "fluid_volume": {"dialysate_flow_ml_min": "300", "treatment_min": "450"},
    "hardness_caco3": {"hardness_grain_gal": "10"},
    "hardness_grains": {"hardness_mg_l": "250"},
    "heparin_given_expected": {"rate_ml_h": "0.9", "elapsed_h": "3", "run_time_h": "6.5"},
    "heparin_rate_ml": {"rate_units_h": "900", "strength_units_ml": "1000"},
    "heparin_rate_units": {"rate_ml_h": "0.9", "strength_units_ml": "1000"},
    "heparin_run_time": {"treatment_min": "450", "stop_before_end_min": "60"},
    "heparin_strength": {"dose_units": "25000", "volume_ml": "500"},
    "heparin_total": {"first_dose_units": "1500", "rate_units_h": "900", "run_time_h": "6.5"},
    "heparin_volume": {"dose_units": "1500", "strength_units_ml": "1000"},
    "highest_rate_per_kg": {"top_rate_ml_h": "429.3", "weight_kg": "64.5"},
    "hold_for_a0": {"a0_s": "600", "temperature_c": "85"},
    "hours_under_cap": {"volume_l": "4.9", "cap_ml_kg_h": "7", "weight_kg": "64.5"},
    "ion_mixed": {
        "acid_stock_mmol_l": "2823",
        "acid_parts": "36.83",
        "bicarbonate_stock_mmol_l": "1196",
        "bicarbonate_parts": "1.83",
    },
    "isolated_rate": {"isolated_l": "0.5", "isolated_min": "60"},
    "laminar_drop": {
        "viscosity_mpa_s": "3.5",
        "length_mm": "30",
        "blood_flow_ml_min": "300",
        "inner_mm": "1.6",
    },
    "least_plated": {"limit_cfu_ml": "0.1"},
    "left_after_nights": {
        "excess_kg": "4.4",
        "cap_volume_l": "3.386",
        "intake_l": "0.5",
        "gain_kg": "1.8",
        "nights": "2",
    },
    "mean_arterial_pressure": {"systolic_mmhg": "128", "diastolic_mmhg": "76"},
    "membrane_coefficient": {"rate_ml_h": "306.7", "transmembrane_mmhg": "30"},
    "minutes_to_lose": {"share_percent": "40", "weight_kg": "70", "blood_flow_ml_min": "300"},
    "nights_to_target": {"excess_kg": "4.4", "cap_volume_l": "3.386", "intake_l": "0.5", "gain_kg": "1.8"},
    "osmolality_expected": {"osmolarity_mmol_l": "295.55", "glucose_mmol_l": "5.55"},
    "osmolarity": {
        "sodium_mmol_l": "137",
        "potassium_mmol_l": "2",
        "calcium_mmol_l": "1.5",
        "magnesium_mmol_l": "0.5",
        "bicarbonate_mmol_l": "32",
        "acetate_mmol_l": "3",
        "chloride_mmol_l": "108",
    },
    "pressure_at_flow": {"pressure_mmhg": "150", "blood_flow_ml_min": "230", "wanted_flow_ml_min": "250"},
    "pressure_for_removal": {"rate_ml_h": "306.7", "coefficient_ml_h_mmhg": "55"},
    "product_needed": {"dialysate_flow_ml_min": "300", "treatment_min": "450"},
    "profile_top_rate": {"volume_l": "2.3", "hours_h": "7.5", "top_share_percent": "35", "time_parts": "4"},
    "rate_beside_isolated": {"volume_l": "2.3", "isolated_l": "0.5", "hours_h": "7.5", "isolated_min": "60"},
    "rate_to_finish": {"remaining_l": "0.6", "remaining_h": "2"},
    "recovery": {"product_flow_l_min": "0.3", "reject_flow_l_min": "0.3"},
    "reject_concentration": {"recovery_percent": "50", "rejection_percent": "98"},
    "reject_water": {"product_l": "144", "recovery_percent": "50"},
    "rejection": {"feed_conductivity_us_cm": "620", "product_conductivity_us_cm": "12"},
    "remains_after": {"removal_l": "4.9", "cap_volume_l": "3.386"},
    "removal_of_body_water": {"removal_l": "2.3", "target_weight_kg": "64.5"},
    "removal_rate": {"volume_l": "2.3", "hours_h": "7.5"},
    "removal_rate_per_kg": {"rate_ml_h": "306.7", "weight_kg": "64.5"},
    "removal_volume": {"weight_before_kg": "66.3", "target_weight_kg": "64.5", "rinse_back_l": "0.3"},
    "review_heparin_left": {
        "first_dose_units": "1500",
        "rate_units_h": "900",
        "run_time_h": "6.5",
        "elapsed_h": "7.5",
        "half_life_h": "0.9",
    },
    "review_heparin_plateau": {"rate_units_h": "900", "half_life_h": "1.5"},
    "saline_salt": {"volume_ml": "200"},
    "saline_sodium": {"volume_ml": "200"},
    "shown_by_no_colony": {"plated_ml": "10"},
    "softener_litres": {"capacity_g": "1000", "hardness_mg_l": "250"},
    "softener_load": {"hardness_mg_l": "250", "feed_l": "350"},
    "softener_nights": {"capacity_g": "1000", "load_g": "72", "share_used_percent": "80"},
    "spread_volume": {"excess_kg": "3.9", "gain_kg": "1.8", "goes_in_l": "0.5", "nights": "2"},
    "stock_needed": {"final_volume_ml": "500", "final_percent": "5", "stock_percent": "15"},
    "strength_after_dilution": {"stock_volume_ml": "5", "stock_percent": "30", "water_ml": "95"},
    "strength_ratio": {"vial_units_ml": "5000", "prescribed_units_ml": "1000"},
    "syringe_fill": {"rate_ml_h": "0.9", "run_time_h": "6.5"},
    "transmembrane_pressure_2": {"blood_out_mmhg": "140", "fluid_out_mmhg": "10"},
    "transmembrane_pressure_3": {"blood_in_mmhg": "220", "blood_out_mmhg": "140", "fluid_out_mmhg": "10"},
    "transmembrane_pressure_4": {
        "blood_in_mmhg": "220",
        "blood_out_mmhg": "140",
        "fluid_in_mmhg": "30",
        "fluid_out_mmhg": "10",
    },
    "units_per_kg": {"dose_units": "1500", "weight_kg": "64.5"},
    "units_per_kg_h": {"rate_units_h": "900", "weight_kg": "64.5"},
    "volume_after_dilution": {"stock_volume_ml": "10", "stock_percent": "20", "final_percent": "5"},
    "water_cost": {"feed_l": "350", "price_per_m3": "4.5"},
    "weight_after_expected": {"weight_before_kg": "66.3", "removed_l": "2.3", "rinse_back_l": "0.3"},
    "weight_fair_rate_20": {"weight_kg": "70"},
    "weight_fair_rate_40": {"weight_kg": "70"},
    "weight_gain": {"weight_before_kg": "66.3", "last_weight_after_kg": "64.6"},
    "weight_gain_share": {
        "weight_before_kg": "66.3",
        "last_weight_after_kg": "64.6",
        "target_weight_kg": "64.5",
    },
}

PLAIN = dict(sorted({**PLAIN, **SOLUTES}.items()))
