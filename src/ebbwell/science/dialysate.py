"""Dialysis fluid: how much a night takes, how much concentrate goes in, and when a container runs dry.

``parts`` is the whole: acid "1 + 34" is 35 parts. A label that says "1:34" can mean 34 or 35, so the number
of parts is always typed, never read out of such a label.
"""

from __future__ import annotations

from decimal import Decimal

from ebbwell.core.errors import DomainError
from ebbwell.core.numbers import plain
from ebbwell.science.formula import formula, span
from ebbwell.science.ranges import DIALYSATE_FLOW, DIALYSATE_FLOW_RUNNING, MINUTES, PARTS, SHARE, ZERO

BICARBONATE_G_MMOL = Decimal("0.084007")
"""Sodium bicarbonate, grams in a millimole. Source: from memory (fluids 0)."""
REFERENCE_C = Decimal(25)
"""Temperature that conductivity is stated at. Source: fluids:D1."""

FLUID = span("L", "0", "850")
BICARBONATE = span("mmol/L", "10", "60")
BASE = span("mmol/L", "0", "20")
RUNNING = span("h", "0", "14")
BAG = span("L", "1", "20")


@formula(
    unit="L",
    places=1,
    source="arithmetic",
    text="dialysate flow x minutes / 1000",
    dialysate_flow_ml_min=DIALYSATE_FLOW,
    treatment_min=MINUTES,
)
def fluid_volume(*, dialysate_flow_ml_min: Decimal, treatment_min: Decimal) -> Decimal:
    """Dialysis fluid that a treatment uses.  [L]

    dialysate_flow_ml_min [mL/min] 0 to 1,000; treatment_min [min] 15 to 840. Raises DomainError outside.
    Source: arithmetic (fluids 2.2).
    """
    return dialysate_flow_ml_min * treatment_min / 1000


@formula(
    unit="bags",
    places=0,
    rounding="up",
    source="arithmetic",
    text="fluid volume / one bag",
    fluid_l=FLUID,
    bag_l=BAG,
)
def bags_needed(*, fluid_l: Decimal, bag_l: Decimal) -> Decimal:
    """Bags of ready-made dialysis fluid that a treatment uses.  [bags]

    fluid_l [L] 0 to 850; bag_l [L] 1 to 20, what one bag holds. Raises DomainError outside. Shown rounded up.
    Source: arithmetic.
    """
    return fluid_l / bag_l


@formula(
    unit="h",
    places=2,
    rounding="down",
    source="arithmetic",
    text="fluid in the bags x 1000 / (dialysate flow x 60)",
    bag_fluid_l=span("L", "0", "200"),
    dialysate_flow_ml_min=DIALYSATE_FLOW_RUNNING,
)
def bag_fluid_lasts(*, bag_fluid_l: Decimal, dialysate_flow_ml_min: Decimal) -> Decimal:
    """How long the fluid in the bags that hang lasts.  [h]

    bag_fluid_l [L] 0 to 200; dialysate_flow_ml_min [mL/min] 50 to 1,000. Raises DomainError outside. Shown rounded down.
    Source: arithmetic.
    """
    return bag_fluid_l * 1000 / (dialysate_flow_ml_min * 60)


@formula(
    unit="L",
    places=2,
    rounding="up",
    source="fluids:F1",
    text="fluid volume / parts + start-up draw",
    fluid_l=FLUID,
    acid_parts=PARTS,
    start_up_l=span("L", "0", "3"),
)
def acid_needed(*, fluid_l: Decimal, acid_parts: Decimal, start_up_l: Decimal = ZERO) -> Decimal:
    """Acid concentrate that a treatment uses.  [L]

    fluid_l [L] 0 to 850; acid_parts 10 to 100, the whole (1 + 34 is 35); start_up_l [L] 0 to 3, drawn
    before blood.
    Raises DomainError outside. Shown rounded up. Source: fluids:F1, fluids 2.2.
    """
    return fluid_l / acid_parts + start_up_l


@formula(
    unit="g",
    places=1,
    rounding="up",
    source="arithmetic",
    text="bicarbonate mixed x 0.084007 g/mmol x fluid volume",
    fluid_l=FLUID,
    bicarbonate_mixed_mmol_l=BICARBONATE,
)
def bicarbonate_powder_needed(*, fluid_l: Decimal, bicarbonate_mixed_mmol_l: Decimal) -> Decimal:
    """Dry bicarbonate that a treatment uses.  [g]

    fluid_l [L] 0 to 850; bicarbonate_mixed_mmol_l [mmol/L] 10 to 60, as mixed, before the acid uses some
    up.
    Raises DomainError outside. Shown rounded up. Source: arithmetic (fluids 2.2).
    """
    return bicarbonate_mixed_mmol_l * BICARBONATE_G_MMOL * fluid_l


@formula(
    unit="L",
    places=0,
    rounding="down",
    source="arithmetic",
    text="powder / (bicarbonate mixed x 0.084007 g/mmol)",
    powder_g=span("g", "0", "5000"),
    bicarbonate_mixed_mmol_l=BICARBONATE,
)
def bicarbonate_powder_makes(*, powder_g: Decimal, bicarbonate_mixed_mmol_l: Decimal) -> Decimal:
    """Fluid that a container of dry bicarbonate makes, if all of it dissolves.  [L]

    powder_g [g] 0 to 5,000; bicarbonate_mixed_mmol_l [mmol/L] 10 to 60, as mixed, before the acid uses some
    up.
    Raises DomainError outside. Shown rounded down. Source: arithmetic (fluids 2.2).
    """
    return powder_g / (bicarbonate_mixed_mmol_l * BICARBONATE_G_MMOL)


@formula(
    unit="L",
    places=2,
    rounding="up",
    source="fluids:F1",
    text="acid volume x bicarbonate parts",
    acid_l=span("L", "0", "90"),
    bicarbonate_parts=span("parts", "0.5", "5"),
)
def bicarbonate_liquid_needed(*, acid_l: Decimal, bicarbonate_parts: Decimal) -> Decimal:
    """Liquid bicarbonate that goes with an amount of acid.  [L]

    acid_l [L] 0 to 90; bicarbonate_parts 0.5 to 5, for each part of acid (1.225, 1.83 ...).
    Raises DomainError outside. Shown rounded up. Source: fluids:F1, fluids 2.2.
    """
    return acid_l * bicarbonate_parts


@formula(
    unit="h",
    places=2,
    rounding="down",
    source="arithmetic",
    text="(acid in the can - start-up draw) x parts x 1000 / (dialysate flow x 60)",
    acid_l=span("L", "0", "90"),
    acid_parts=PARTS,
    dialysate_flow_ml_min=DIALYSATE_FLOW_RUNNING,
    start_up_l=span("L", "0", "3"),
)
def acid_runs_dry_after(
    *, acid_l: Decimal, acid_parts: Decimal, dialysate_flow_ml_min: Decimal, start_up_l: Decimal = ZERO
) -> Decimal:
    """How long a can of acid lasts.  [h]

    acid_l [L] 0 to 90; acid_parts 10 to 100; dialysate_flow_ml_min [mL/min] 50 to 1,000; start_up_l [L] 0
    to 3.
    Raises DomainError outside. Shown rounded down. Source: arithmetic (fluids 2.2).
    """
    return max(ZERO, acid_l - start_up_l) * acid_parts * 1000 / (dialysate_flow_ml_min * 60)


@formula(
    unit="h",
    places=2,
    rounding="down",
    source="arithmetic",
    text="powder x usable share / 100 / (bicarbonate mixed x 0.084007 g/mmol x dialysate flow x 60 / 1000)",
    powder_g=span("g", "0", "5000"),
    bicarbonate_mixed_mmol_l=BICARBONATE,
    dialysate_flow_ml_min=DIALYSATE_FLOW_RUNNING,
    usable_percent=SHARE,
)
def bicarbonate_runs_dry_after(
    *,
    powder_g: Decimal,
    bicarbonate_mixed_mmol_l: Decimal,
    dialysate_flow_ml_min: Decimal,
    usable_percent: Decimal = Decimal(100),
) -> Decimal:
    """How long a container of dry bicarbonate lasts.  [h]

    powder_g [g] 0 to 5,000; bicarbonate_mixed_mmol_l [mmol/L] 10 to 60; dialysate_flow_ml_min [mL/min] 50
    to 1,000; usable_percent [%] 0 to 100: the last part may not dissolve at strength. Raises DomainError
    outside. Shown rounded down. Source: arithmetic (fluids 2.2).
    """
    grams_an_hour = bicarbonate_mixed_mmol_l * BICARBONATE_G_MMOL * dialysate_flow_ml_min * 60 / 1000
    return powder_g * usable_percent / 100 / grams_an_hour


@formula(
    unit="h",
    places=2,
    rounding="down",
    source="arithmetic",
    text="(bicarbonate / bicarbonate parts - start-up draw) x parts x 1000 / (dialysate flow x 60)",
    bicarbonate_l=span("L", "0", "90"),
    acid_parts=PARTS,
    bicarbonate_parts=span("parts", "0.5", "5"),
    dialysate_flow_ml_min=DIALYSATE_FLOW_RUNNING,
    start_up_l=span("L", "0", "3"),
)
def bicarbonate_liquid_runs_dry_after(
    *,
    bicarbonate_l: Decimal,
    acid_parts: Decimal,
    bicarbonate_parts: Decimal,
    dialysate_flow_ml_min: Decimal,
    start_up_l: Decimal = ZERO,
) -> Decimal:
    """How long a container of liquid bicarbonate lasts.  [h]

    bicarbonate_l [L] 0 to 90; acid_parts 10 to 100, the whole (1 + 34 is 35); bicarbonate_parts 0.5 to 5, for each part
    of acid; dialysate_flow_ml_min [mL/min] 50 to 1,000; start_up_l [L] 0 to 3, of acid, the bicarbonate that goes with
    it is drawn too. Raises DomainError outside. Shown rounded down. Source: arithmetic (fluids 2.2).
    """
    left = max(ZERO, bicarbonate_l / bicarbonate_parts - start_up_l)
    return left * acid_parts * 1000 / (dialysate_flow_ml_min * 60)


@formula(
    unit="L",
    places=2,
    rounding="down",
    source="arithmetic",
    text="bicarbonate - bicarbonate parts x (start-up draw + dialysate flow x 60 x hours running / 1000 / parts)",
    bicarbonate_l=span("L", "0", "90"),
    acid_parts=PARTS,
    bicarbonate_parts=span("parts", "0.5", "5"),
    dialysate_flow_ml_min=DIALYSATE_FLOW,
    running_h=RUNNING,
    start_up_l=span("L", "0", "3"),
)
def bicarbonate_liquid_left(
    *,
    bicarbonate_l: Decimal,
    acid_parts: Decimal,
    bicarbonate_parts: Decimal,
    dialysate_flow_ml_min: Decimal,
    running_h: Decimal,
    start_up_l: Decimal = ZERO,
) -> Decimal:
    """Liquid bicarbonate left in the container after some hours.  [L]

    bicarbonate_l [L] 0 to 90, at the start; acid_parts 10 to 100, the whole; bicarbonate_parts 0.5 to 5, for each part
    of acid; dialysate_flow_ml_min [mL/min] 0 to 1,000; running_h [h] 0 to 14; start_up_l [L] 0 to 3, of acid, the
    bicarbonate that goes with it is drawn too. Never below 0.
    Raises DomainError outside. Shown rounded down. Source: arithmetic (fluids 2.2).
    """
    used = bicarbonate_parts * (start_up_l + dialysate_flow_ml_min * 60 * running_h / 1000 / acid_parts)
    return max(ZERO, bicarbonate_l - used)


@formula(
    unit="L",
    places=2,
    rounding="down",
    source="arithmetic",
    text="acid in the can - start-up draw - dialysate flow x 60 x hours running / 1000 / parts, never below 0",
    acid_l=span("L", "0", "90"),
    acid_parts=PARTS,
    dialysate_flow_ml_min=DIALYSATE_FLOW,
    running_h=RUNNING,
    start_up_l=span("L", "0", "3"),
)
def acid_left(
    *,
    acid_l: Decimal,
    acid_parts: Decimal,
    dialysate_flow_ml_min: Decimal,
    running_h: Decimal,
    start_up_l: Decimal = ZERO,
) -> Decimal:
    """Acid left in the can after some hours.  [L]

    acid_l [L] 0 to 90, at the start; acid_parts 10 to 100; dialysate_flow_ml_min [mL/min] 0 to 1,000;
    running_h [h] 0 to 14; start_up_l [L] 0 to 3.
    Raises DomainError outside. Shown rounded down. Source: arithmetic (fluids 2.2).
    """
    used = dialysate_flow_ml_min * 60 * running_h / 1000 / acid_parts
    return max(ZERO, acid_l - start_up_l - used)


@formula(
    unit="g",
    places=0,
    rounding="down",
    source="arithmetic",
    text="powder - bicarbonate mixed x 0.084007 g/mmol x dialysate flow x 60 x hours running / 1000, never below 0",
    powder_g=span("g", "0", "5000"),
    bicarbonate_mixed_mmol_l=BICARBONATE,
    dialysate_flow_ml_min=DIALYSATE_FLOW,
    running_h=RUNNING,
)
def bicarbonate_powder_left(
    *,
    powder_g: Decimal,
    bicarbonate_mixed_mmol_l: Decimal,
    dialysate_flow_ml_min: Decimal,
    running_h: Decimal,
) -> Decimal:
    """Dry bicarbonate left in the container after some hours.  [g]

    powder_g [g] 0 to 5,000, at the start; bicarbonate_mixed_mmol_l [mmol/L] 10 to 60; dialysate_flow_ml_min
    [mL/min] 0 to 1,000; running_h [h] 0 to 14. The last part may not dissolve at strength.
    Raises DomainError outside. Shown rounded down. Source: arithmetic (fluids 2.2).
    """
    litres = dialysate_flow_ml_min * 60 * running_h / 1000
    return max(ZERO, powder_g - bicarbonate_mixed_mmol_l * BICARBONATE_G_MMOL * litres)


@formula(
    unit="mmol/L",
    places=1,
    source="fluids:F3",
    text="bicarbonate mixed - acetic acid - 3 x citric acid",
    bicarbonate_mixed_mmol_l=BICARBONATE,
    acetic_acid_mmol_l=BASE,
    citric_acid_mmol_l=span("mmol/L", "0", "3"),
)
def bicarbonate_after_acid(
    *, bicarbonate_mixed_mmol_l: Decimal, acetic_acid_mmol_l: Decimal, citric_acid_mmol_l: Decimal = ZERO
) -> Decimal:
    """Bicarbonate that is left once the acid has used some up.  [mmol/L]

    bicarbonate_mixed_mmol_l [mmol/L] 10 to 60; acetic_acid_mmol_l [mmol/L] 0 to 20; citric_acid_mmol_l
    [mmol/L] 0 to 3.
    Raises DomainError outside, and where the acid is more than the bicarbonate. Source: fluids:F3.
    """
    left = bicarbonate_mixed_mmol_l - acetic_acid_mmol_l - 3 * citric_acid_mmol_l
    if left < 0:
        raise DomainError("science.more_acid", bicarbonate=plain(bicarbonate_mixed_mmol_l))
    return left


@formula(
    unit="mS/cm",
    places=2,
    source="fluids:D1",
    text="reading / (1 + coefficient x (temperature - 25 C))",
    reading_ms_cm=span("mS/cm", "0", "30"),
    temperature_c=span("C", "5", "60"),
    coefficient_per_c=span("/C", "0.015", "0.025"),
)
def conductivity_at_25(
    *, reading_ms_cm: Decimal, temperature_c: Decimal, coefficient_per_c: Decimal
) -> Decimal:
    """An uncorrected conductivity brought to 25 C.  [mS/cm]

    reading_ms_cm [mS/cm] 0 to 30; temperature_c [C] 5 to 60, of the fluid; coefficient_per_c [/C] 0.015 to
    0.025, the meter's own (0.019 to 0.022 are usual). Raises DomainError outside. Source: fluids:D1, fluids
    1.5.
    """
    return reading_ms_cm / (1 + coefficient_per_c * (temperature_c - REFERENCE_C))


@formula(
    unit="mS/cm",
    places=2,
    source="fluids:D1",
    text="reading x (1 + coefficient x (25 C - reference temperature))",
    reading_ms_cm=span("mS/cm", "0", "30"),
    reference_c=span("C", "15", "30"),
    coefficient_per_c=span("/C", "0.015", "0.025"),
)
def conductivity_from_reference(
    *, reading_ms_cm: Decimal, reference_c: Decimal, coefficient_per_c: Decimal
) -> Decimal:
    """A conductivity that a meter corrects to another temperature, brought to 25 C.  [mS/cm]

    reading_ms_cm [mS/cm] 0 to 30, as shown; reference_c [C] 15 to 30, what the meter corrects to;
    coefficient_per_c [/C] 0.015 to 0.025, the meter's own, at its reference. Raises DomainError outside.
    Source: fluids:D1, fluids 1.5.
    """
    return reading_ms_cm * (1 + coefficient_per_c * (REFERENCE_C - reference_c))
