"""Heparin: the arithmetic of syringe, pump and strength. Every dose and rate is the prescriber's.

Only for unfractionated heparin in units; other kinds are counted in other units and are never converted.
"""

from __future__ import annotations

from decimal import Decimal

from ebbwell.core.errors import DomainError
from ebbwell.core.numbers import plain
from ebbwell.science.formula import formula, span
from ebbwell.science.ranges import MINUTES, MINUTES_PART, WEIGHT, ZERO

UNITS = span("units", "0", "50000")
UNITS_RATE = span("units/h", "0", "5000")
STRENGTH = span("units/mL", "1", "50000")
PUMP_RATE = span("mL/h", "0", "100")
RUN_TIME = span("h", "0", "14")
SYRINGE_PART = span("mL", "0", "50")


@formula(
    unit="units/mL",
    places=2,
    trim=True,
    source="arithmetic",
    text="units / volume",
    dose_units=UNITS,
    volume_ml=span("mL", "0.1", "2000"),
)
def heparin_strength(*, dose_units: Decimal, volume_ml: Decimal) -> Decimal:
    """Strength of what is in a syringe or bag.  [units/mL]

    dose_units [units] 0 to 50,000; volume_ml [mL] 0.1 to 2,000. Raises DomainError outside.
    Source: arithmetic.
    """
    return dose_units / volume_ml


@formula(
    unit="mL",
    places=3,
    trim=True,
    source="arithmetic",
    text="units / strength",
    dose_units=UNITS,
    strength_units_ml=STRENGTH,
)
def heparin_volume(*, dose_units: Decimal, strength_units_ml: Decimal) -> Decimal:
    """Volume that holds a prescribed dose.  [mL]

    dose_units [units] 0 to 50,000; strength_units_ml [units/mL] 1 to 50,000, read from the vial in hand.
    Raises DomainError outside. Source: arithmetic (fluids 3.3).
    """
    return dose_units / strength_units_ml


@formula(
    unit="mL/h",
    places=3,
    trim=True,
    source="arithmetic",
    text="units per hour / strength",
    rate_units_h=UNITS_RATE,
    strength_units_ml=STRENGTH,
)
def heparin_rate_ml(*, rate_units_h: Decimal, strength_units_ml: Decimal) -> Decimal:
    """Pump setting that gives a prescribed rate.  [mL/h]

    rate_units_h [units/h] 0 to 5,000; strength_units_ml [units/mL] 1 to 50,000. Raises DomainError outside.
    Source: arithmetic (fluids 3.3).
    """
    return rate_units_h / strength_units_ml


@formula(
    unit="units/h",
    places=1,
    trim=True,
    source="arithmetic",
    text="pump rate x strength",
    rate_ml_h=PUMP_RATE,
    strength_units_ml=STRENGTH,
)
def heparin_rate_units(*, rate_ml_h: Decimal, strength_units_ml: Decimal) -> Decimal:
    """Units that a pump setting gives in an hour.  [units/h]

    rate_ml_h [mL/h] 0 to 100; strength_units_ml [units/mL] 1 to 50,000. Raises DomainError outside.
    Source: arithmetic (fluids 3.3).
    """
    return rate_ml_h * strength_units_ml


@formula(
    unit="h",
    places=2,
    source="arithmetic",
    text="(treatment - stop before end) / 60",
    treatment_min=MINUTES,
    stop_before_end_min=MINUTES_PART,
)
def heparin_run_time(*, treatment_min: Decimal, stop_before_end_min: Decimal) -> Decimal:
    """How long the heparin pump runs.  [h]

    treatment_min [min] 15 to 840; stop_before_end_min [min] 0 to 840. Raises DomainError outside, and where
    the stop lies before the start. Source: arithmetic (fluids 3.3).
    """
    if stop_before_end_min > treatment_min:
        raise DomainError(
            "science.stop_before_start", stop=plain(stop_before_end_min), treatment=plain(treatment_min)
        )
    return (treatment_min - stop_before_end_min) / 60


@formula(
    unit="mL",
    places=2,
    rounding="up",
    trim=True,
    source="arithmetic",
    text="pump rate x run time + first dose + dead space",
    rate_ml_h=PUMP_RATE,
    run_time_h=RUN_TIME,
    first_dose_ml=SYRINGE_PART,
    dead_space_ml=span("mL", "0", "10"),
)
def syringe_fill(
    *, rate_ml_h: Decimal, run_time_h: Decimal, first_dose_ml: Decimal = ZERO, dead_space_ml: Decimal = ZERO
) -> Decimal:
    """Volume that the syringe must hold for the night.  [mL]

    rate_ml_h [mL/h] 0 to 100; run_time_h [h] 0 to 14; first_dose_ml [mL] 0 to 50, 0 where it is given from
    another syringe; dead_space_ml [mL] 0 to 10, of the line. Raises DomainError outside. Source: arithmetic
    (fluids 3.3).
    """
    return rate_ml_h * run_time_h + first_dose_ml + dead_space_ml


@formula(
    unit="units",
    places=1,
    trim=True,
    source="arithmetic",
    text="first dose + rate x run time",
    first_dose_units=UNITS,
    rate_units_h=UNITS_RATE,
    run_time_h=RUN_TIME,
)
def heparin_total(*, first_dose_units: Decimal, rate_units_h: Decimal, run_time_h: Decimal) -> Decimal:
    """Units given in the whole treatment.  [units]

    first_dose_units [units] 0 to 50,000; rate_units_h [units/h] 0 to 5,000; run_time_h [h] 0 to 14.
    Raises DomainError outside. Source: arithmetic (fluids 3.3).
    """
    return first_dose_units + rate_units_h * run_time_h


@formula(
    unit="",
    places=2,
    trim=True,
    source="arithmetic",
    text="strength on the vial / strength prescribed",
    vial_units_ml=STRENGTH,
    prescribed_units_ml=STRENGTH,
)
def strength_ratio(*, vial_units_ml: Decimal, prescribed_units_ml: Decimal) -> Decimal:
    """How many times stronger the vial in hand is than the prescription says; 1 where they are equal.

    vial_units_ml, prescribed_units_ml [units/mL] 1 to 50,000. Raises DomainError outside.
    Source: arithmetic.
    """
    return vial_units_ml / prescribed_units_ml


@formula(
    unit="mL",
    places=2,
    trim=True,
    source="arithmetic",
    text="pump rate x the smaller of time gone by and run time",
    rate_ml_h=PUMP_RATE,
    elapsed_h=span("h", "0", "24"),
    run_time_h=RUN_TIME,
)
def heparin_given_expected(*, rate_ml_h: Decimal, elapsed_h: Decimal, run_time_h: Decimal) -> Decimal:
    """Volume that the pump should have given by now, to hold against what its counter shows.  [mL]

    rate_ml_h [mL/h] 0 to 100; elapsed_h [h] 0 to 24 since the pump began; run_time_h [h] 0 to 14.
    Raises DomainError outside. Source: arithmetic (fluids 3.3).
    """
    return rate_ml_h * min(elapsed_h, run_time_h)


@formula(
    unit="units/kg",
    places=1,
    trim=True,
    source="arithmetic",
    text="units / weight",
    dose_units=UNITS,
    weight_kg=WEIGHT,
)
def units_per_kg(*, dose_units: Decimal, weight_kg: Decimal) -> Decimal:
    """A dose for each kilogram, to judge whether it was typed as meant.  [units/kg]

    dose_units [units] 0 to 50,000; weight_kg [kg] 20 to 300. Raises DomainError outside.
    Source: arithmetic.
    """
    return dose_units / weight_kg


@formula(
    unit="units/kg/h",
    places=1,
    trim=True,
    source="arithmetic",
    text="units per hour / weight",
    rate_units_h=UNITS_RATE,
    weight_kg=WEIGHT,
)
def units_per_kg_h(*, rate_units_h: Decimal, weight_kg: Decimal) -> Decimal:
    """A rate for each kilogram, to judge whether it was typed as meant.  [units/kg/h]

    rate_units_h [units/h] 0 to 5,000; weight_kg [kg] 20 to 300. Raises DomainError outside.
    Source: arithmetic.
    """
    return rate_units_h / weight_kg
