"""Inputs of invented nights for the tests of the plan."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal

from ebbwell.core.worked import Input
from ebbwell.plan.inputs import PlanInputs, Word


def number(name: str, value: str | None, unit: str) -> Input:
    """An input from an entry of its own."""
    return Input(name, None if value is None else Decimal(value), unit, f"entry-{name}")


def usual(**changes: object) -> PlanInputs:
    """The invented household's usual night; changes replace single inputs."""
    night = PlanInputs(
        target_weight=number("target_weight", "64.5", "kg"),
        treatment_minutes=number("treatment_minutes", "450", "min"),
        removal_cap=number("removal_cap", "7", "mL/kg/h"),
        blood_flow=number("blood_flow", "230", "mL/min"),
        dialysate_flow=number("dialysate_flow", "300", "mL/min"),
        rinse_back=number("rinse_back", "0.3", "L"),
        connection=Word("prime_to_drain", "entry-connection"),
        anticoagulant=Word("heparin", "entry-anticoagulant"),
        heparin_strength=number("heparin_strength", "1000", "units/mL"),
        heparin_first_dose=number("heparin_first_dose", "1500", "units"),
        heparin_rate=number("heparin_rate", "900", "units/h"),
        heparin_stop_before_end=number("heparin_stop_before_end", "60", "min"),
        heparin_dead_space=number("heparin_dead_space", "1.0", "mL"),
        acid_parts=number("acid_parts", "35", "parts"),
        bicarbonate_form=Word("dry", "entry-bicarbonate_form"),
        bicarbonate_mixed=number("bicarbonate_mixed", "35", "mmol/L"),
        weight_before=number("weight_before", "66.3", "kg"),
        last_weight_after=number("last_weight_after", "64.5", "kg"),
        drink=number("drink", "0.2", "L"),
        saline=number("saline", "0", "L"),
        losses=number("losses", "0", "L"),
        acid_can=number("acid_can", "5", "L"),
        bicarbonate_powder=number("bicarbonate_powder", "650", "g"),
        feed_conductivity=number("feed_conductivity", "620", "uS/cm"),
        product_conductivity=number("product_conductivity", "12", "uS/cm"),
        other_water=number("other_water", "40", "L"),
        recovery=number("recovery", "50", "%"),
        start_at=datetime(2026, 4, 29, 21, 0, tzinfo=UTC),
        zone="Europe/Dublin",
    )
    return replace(night, **changes)  # type: ignore[arg-type]
