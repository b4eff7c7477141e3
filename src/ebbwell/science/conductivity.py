"""Conductivity from composition at 25 C, what moves it, and other temperatures.

A Kohlrausch sum with the one-parameter form of the Debye-Hueckel-Onsager law (fluids 2.3). It is a check of
plausibility, not a calibration: two outside programs lie 0.4 % above and 1.5 % under it for dialysis fluid.
Conductivity can't tell sodium without the rest of the recipe.
"""

from __future__ import annotations

from decimal import Decimal

from ebbwell.core.errors import DomainError
from ebbwell.core.numbers import plain
from ebbwell.science.composition import (
    ACETATE,
    BICARBONATE_FINAL,
    CALCIUM,
    CITRATE,
    MAGNESIUM,
    POTASSIUM,
    SODIUM,
    balance,
)
from ebbwell.science.dialysate import REFERENCE_C
from ebbwell.science.formula import formula, span
from ebbwell.science.ranges import ZERO

LIMIT_SODIUM = Decimal("50.08")
"""Limiting conductivity at 25 C, S cm2 for each mole of charge, like those below. Source: fluids:2.3."""
LIMIT_POTASSIUM = Decimal("73.48")
"""Source: fluids:D2."""
LIMIT_CALCIUM = Decimal("59.47")
"""Source: fluids:D2."""
LIMIT_MAGNESIUM = Decimal("53.0")
"""Source: fluids:D2."""
LIMIT_CHLORIDE = Decimal("76.31")
"""Source: fluids:2.3."""
LIMIT_BICARBONATE = Decimal("44.5")
"""Source: fluids:2.3."""
LIMIT_ACETATE = Decimal("40.9")
"""Source: fluids:2.3."""
LIMIT_CITRATE = Decimal("70.2")
"""Source: fluids:2.3."""
RELAXATION = Decimal("0.2289")
"""Share of an ion's own conductivity lost for each unit of g. Source: from memory (fluids 2.3)."""
ELECTROPHORETIC = Decimal("30.1")
"""S cm2 for each mole of charge lost for each unit of g. Source: from memory (fluids 2.3)."""
ION_SIZE = Decimal("1.3164")
"""0.3291 for each angstrom x an ion size of 4.0 angstrom. Source: from memory (fluids 2.3)."""
METHOD_SPREAD = Decimal(2)
"""How far, in per cent, this method may be off for a dialysis fluid. Source: fluids:2.4."""

MOST_STRENGTH = span("mmol/L", "0", "200")
"""Ionic strength up to which the method is used; it was held against outside values up to about 150."""
COEFFICIENT = span("/C", "0.015", "0.025")
COEFFICIENT_FOUND = span("/C", "0.005", "0.05")
CONDUCTIVITY = span("mS/cm", "0", "30")
TEMPERATURE = span("C", "5", "60")


def from_ions(
    sodium: Decimal,
    potassium: Decimal,
    calcium: Decimal,
    magnesium: Decimal,
    bicarbonate: Decimal,
    acetate: Decimal,
    citrate: Decimal,
) -> Decimal:
    """Conductivity at 25 C of final ions, chloride by balance.  [mS/cm]

    All amounts in mmol/L. Raises DomainError for more anions than cations, and above MOST_STRENGTH. Source:
    fluids:2.3.
    """
    chloride = balance(sodium, potassium, calcium, magnesium, bicarbonate, acetate, citrate)
    ions = (
        (1, LIMIT_SODIUM, sodium),
        (1, LIMIT_POTASSIUM, potassium),
        (2, LIMIT_CALCIUM, calcium),
        (2, LIMIT_MAGNESIUM, magnesium),
        (1, LIMIT_CHLORIDE, chloride),
        (1, LIMIT_BICARBONATE, bicarbonate),
        (1, LIMIT_ACETATE, acetate),
        (3, LIMIT_CITRATE, citrate),
    )
    strength = sum((amount * charge**2 for charge, _, amount in ions), ZERO) / 2
    if strength > MOST_STRENGTH.high:
        raise DomainError("science.too_strong", most=plain(MOST_STRENGTH.high))
    root = (strength / 1000).sqrt()
    g = root / (1 + ION_SIZE * root)
    each = (
        charge * amount / 1000 * (limit - charge * (RELAXATION * limit + ELECTROPHORETIC) * g)
        for charge, limit, amount in ions
    )
    return sum(each, ZERO)


@formula(
    unit="mS/cm",
    places=2,
    source="fluids:2.3",
    text="sum over the ions, chloride by balance, of z x amount x (limit - z x (0.2289 x limit + 30.1) x g);"
    " g = root / (1 + 1.3164 x root), root = square root of the ionic strength; amounts and strength in mol/L",
    sodium_mmol_l=SODIUM,
    potassium_mmol_l=POTASSIUM,
    calcium_mmol_l=CALCIUM,
    magnesium_mmol_l=MAGNESIUM,
    bicarbonate_mmol_l=BICARBONATE_FINAL,
    acetate_mmol_l=ACETATE,
    citrate_mmol_l=CITRATE,
)
def conductivity_expected(
    *,
    sodium_mmol_l: Decimal,
    potassium_mmol_l: Decimal,
    calcium_mmol_l: Decimal,
    magnesium_mmol_l: Decimal,
    bicarbonate_mmol_l: Decimal,
    acetate_mmol_l: Decimal = ZERO,
    citrate_mmol_l: Decimal = ZERO,
) -> Decimal:
    """Conductivity at 25 C that a composition should have.  [mS/cm]

    sodium_mmol_l [mmol/L] 0 to 200; potassium_mmol_l 0 to 110; calcium_mmol_l, magnesium_mmol_l 0 to 60;
    bicarbonate_mmol_l, acetate_mmol_l 0 to 110, final; citrate_mmol_l 0 to 10.
    Raises DomainError outside, where nothing is left for chloride, and above an ionic strength of 200
    mmol/L. Source: fluids:2.3.
    """
    return from_ions(
        sodium_mmol_l,
        potassium_mmol_l,
        calcium_mmol_l,
        magnesium_mmol_l,
        bicarbonate_mmol_l,
        acetate_mmol_l,
        citrate_mmol_l,
    )


@formula(
    unit="mS/cm",
    places=3,
    source="fluids:2.4",
    text="conductivity with 1 mmol/L more sodium and chloride - conductivity as it is",
    sodium_mmol_l=SODIUM,
    potassium_mmol_l=POTASSIUM,
    calcium_mmol_l=CALCIUM,
    magnesium_mmol_l=MAGNESIUM,
    bicarbonate_mmol_l=BICARBONATE_FINAL,
    acetate_mmol_l=ACETATE,
    citrate_mmol_l=CITRATE,
)
def conductivity_per_sodium(
    *,
    sodium_mmol_l: Decimal,
    potassium_mmol_l: Decimal,
    calcium_mmol_l: Decimal,
    magnesium_mmol_l: Decimal,
    bicarbonate_mmol_l: Decimal,
    acetate_mmol_l: Decimal = ZERO,
    citrate_mmol_l: Decimal = ZERO,
) -> Decimal:
    """What 1 mmol/L more sodium, with chloride, adds to conductivity at 25 C.  [mS/cm]

    Ranges and refusals as in conductivity_expected, the fluid as it is: sodium_mmol_l [mmol/L] 0 to 200;
    potassium_mmol_l 0 to 110; calcium_mmol_l, magnesium_mmol_l 0 to 60; bicarbonate_mmol_l, acetate_mmol_l
    0 to 110, final; citrate_mmol_l 0 to 10. Raises DomainError. Source: fluids:2.4.
    """
    rest = (
        potassium_mmol_l,
        calcium_mmol_l,
        magnesium_mmol_l,
        bicarbonate_mmol_l,
        acetate_mmol_l,
        citrate_mmol_l,
    )
    return from_ions(sodium_mmol_l + 1, *rest) - from_ions(sodium_mmol_l, *rest)


@formula(
    unit="mS/cm",
    places=3,
    source="fluids:2.4",
    text="conductivity with 1 mmol/L more bicarbonate and 1 less chloride - conductivity as it is",
    sodium_mmol_l=SODIUM,
    potassium_mmol_l=POTASSIUM,
    calcium_mmol_l=CALCIUM,
    magnesium_mmol_l=MAGNESIUM,
    bicarbonate_mmol_l=BICARBONATE_FINAL,
    acetate_mmol_l=ACETATE,
    citrate_mmol_l=CITRATE,
)
def conductivity_per_bicarbonate(
    *,
    sodium_mmol_l: Decimal,
    potassium_mmol_l: Decimal,
    calcium_mmol_l: Decimal,
    magnesium_mmol_l: Decimal,
    bicarbonate_mmol_l: Decimal,
    acetate_mmol_l: Decimal = ZERO,
    citrate_mmol_l: Decimal = ZERO,
) -> Decimal:
    """What 1 mmol/L more bicarbonate in the place of chloride does to conductivity at 25 C.  [mS/cm]

    Sodium stays. Ranges and refusals as in conductivity_expected, the fluid as it is: sodium_mmol_l [mmol/L]
    0 to 200; potassium_mmol_l 0 to 110; calcium_mmol_l, magnesium_mmol_l 0 to 60; bicarbonate_mmol_l,
    acetate_mmol_l 0 to 110, final; citrate_mmol_l 0 to 10. Raises DomainError. Source: fluids:2.4.
    """
    salts = (sodium_mmol_l, potassium_mmol_l, calcium_mmol_l, magnesium_mmol_l)
    bases = (acetate_mmol_l, citrate_mmol_l)
    return from_ions(*salts, bicarbonate_mmol_l + 1, *bases) - from_ions(*salts, bicarbonate_mmol_l, *bases)


@formula(
    unit="mS/cm",
    places=2,
    source="fluids:D1",
    text="conductivity at 25 C x (1 + coefficient x (temperature - 25 C))",
    conductivity_25_ms_cm=CONDUCTIVITY,
    temperature_c=TEMPERATURE,
    coefficient_per_c=COEFFICIENT,
)
def conductivity_at_temperature(
    *, conductivity_25_ms_cm: Decimal, temperature_c: Decimal, coefficient_per_c: Decimal
) -> Decimal:
    """What a meter that doesn't correct for temperature shows.  [mS/cm]

    conductivity_25_ms_cm [mS/cm] 0 to 30, at 25 C; temperature_c [C] 5 to 60, of the fluid;
    coefficient_per_c [/C] 0.015 to 0.025 (0.019 to 0.022 are usual). Raises DomainError outside. Source:
    fluids:D1, fluids 1.5.
    """
    return conductivity_25_ms_cm * (1 + coefficient_per_c * (temperature_c - REFERENCE_C))


@formula(
    unit="/C",
    places=5,
    source="fluids:D1",
    text="(reading / reading at 25 C - 1) / (temperature - 25 C)",
    reading_25_ms_cm=span("mS/cm", "0.1", "30"),
    reading_ms_cm=span("mS/cm", "0.1", "60"),
    temperature_c=TEMPERATURE,
)
def conductivity_coefficient(
    *, reading_25_ms_cm: Decimal, reading_ms_cm: Decimal, temperature_c: Decimal
) -> Decimal:
    """Change of conductivity for each degree, from one solution read at 25 C and at another temperature.  [/C]

    reading_25_ms_cm [mS/cm] 0.1 to 30; reading_ms_cm [mS/cm] 0.1 to 60, uncorrected; temperature_c [C] 5 to
    60, of that reading, and at least 1 degree from 25.
    Raises DomainError outside, and where the result isn't between 0.005 and 0.05, which no salt solution
    has. Source: fluids:D1.
    """
    degrees = temperature_c - REFERENCE_C
    if abs(degrees) < 1:
        raise DomainError("science.too_near_25", temperature=plain(temperature_c))
    found = (reading_ms_cm / reading_25_ms_cm - 1) / degrees
    if not COEFFICIENT_FOUND.low <= found <= COEFFICIENT_FOUND.high:
        raise DomainError("science.readings_swapped", temperature=plain(temperature_c))
    return found


@formula(
    unit="%",
    places=1,
    rounding="up",
    source="fluids:2.4",
    text="2 + 100 x spread of the coefficient x |temperature - 25 C| / (1 + coefficient x (temperature - 25 C))",
    temperature_c=TEMPERATURE,
    coefficient_per_c=COEFFICIENT,
    spread_per_c=span("/C", "0", "0.005"),
)
def conductivity_spread(
    *, temperature_c: Decimal, coefficient_per_c: Decimal, spread_per_c: Decimal = ZERO
) -> Decimal:
    """How far method and temperature correction alone can put a reading off the expected figure.  [%]

    Either way; the meter's own error comes on top.

    temperature_c [C] 5 to 60, of the fluid; coefficient_per_c [/C] 0.015 to 0.025; spread_per_c [/C] 0 to
    0.005, how far the coefficient may be off. Raises DomainError outside. Shown rounded up. Source: fluids:2.4.
    """
    degrees = temperature_c - REFERENCE_C
    return METHOD_SPREAD + 100 * spread_per_c * abs(degrees) / (1 + coefficient_per_c * degrees)
