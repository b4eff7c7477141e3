"""What the composition of a dialysis fluid tells: its charges, how much is dissolved in it, its pH.

All amounts are final ones, once the acid has used up its share of bicarbonate, unless a name says mixed.
These sums check a label or a prescription; none of them proposes a composition.
"""

from __future__ import annotations

from decimal import Decimal

from ebbwell.core.errors import DomainError
from ebbwell.core.numbers import plain
from ebbwell.science.formula import formula, span
from ebbwell.science.ranges import ZERO

PK_CARBONIC = Decimal("6.1")
"""pK of carbonic acid as used for blood and dialysis fluid. Source: fluids:2.1."""
CO2_MMOL_MMHG = Decimal("0.0307")
"""Carbon dioxide dissolved in a litre for each mmHg, mmol. Source: fluids:2.1."""
OSMOTIC_SHARE = Decimal("0.93")
"""Share of the simple sum of ions that a measurement finds. Source: from memory (fluids 2.5)."""

SODIUM = span("mmol/L", "0", "200")
SODIUM_LABEL = span("mmol/L", "50", "200")
POTASSIUM = span("mmol/L", "0", "110")
CALCIUM = span("mmol/L", "0", "60")
MAGNESIUM = span("mmol/L", "0", "60")
CHLORIDE = span("mmol/L", "0", "250")
BICARBONATE_FINAL = span("mmol/L", "0", "110")
ACETATE = span("mmol/L", "0", "110")
CITRATE = span("mmol/L", "0", "10")
GLUCOSE = span("mmol/L", "0", "300")


def balance(
    sodium: Decimal,
    potassium: Decimal,
    calcium: Decimal,
    magnesium: Decimal,
    bicarbonate: Decimal,
    acetate: Decimal,
    citrate: Decimal,
) -> Decimal:
    """Chloride that makes the charges even.  [mmol/L]

    All amounts in mmol/L. Raises DomainError where the other anions alone are more than the cations.
    """
    chloride = sodium + potassium + 2 * (calcium + magnesium) - bicarbonate - acetate - 3 * citrate
    if chloride < 0:
        raise DomainError("science.more_anions")
    return chloride


@formula(
    unit="mmol/L",
    places=1,
    source="arithmetic",
    text="sodium + potassium + 2 x calcium + 2 x magnesium - bicarbonate - acetate - 3 x citrate",
    sodium_mmol_l=SODIUM,
    potassium_mmol_l=POTASSIUM,
    calcium_mmol_l=CALCIUM,
    magnesium_mmol_l=MAGNESIUM,
    bicarbonate_mmol_l=BICARBONATE_FINAL,
    acetate_mmol_l=ACETATE,
    citrate_mmol_l=CITRATE,
)
def chloride_by_balance(
    *,
    sodium_mmol_l: Decimal,
    potassium_mmol_l: Decimal,
    calcium_mmol_l: Decimal,
    magnesium_mmol_l: Decimal,
    bicarbonate_mmol_l: Decimal,
    acetate_mmol_l: Decimal = ZERO,
    citrate_mmol_l: Decimal = ZERO,
) -> Decimal:
    """Chloride that a fluid must hold for its charges to be even.  [mmol/L]

    sodium_mmol_l [mmol/L] 0 to 200; potassium_mmol_l 0 to 110; calcium_mmol_l, magnesium_mmol_l 0 to 60;
    bicarbonate_mmol_l 0 to 110, final; acetate_mmol_l 0 to 110; citrate_mmol_l 0 to 10.
    Raises DomainError outside, and where nothing is left for chloride. Source: arithmetic (fluids 2.1).
    """
    return balance(
        sodium_mmol_l,
        potassium_mmol_l,
        calcium_mmol_l,
        magnesium_mmol_l,
        bicarbonate_mmol_l,
        acetate_mmol_l,
        citrate_mmol_l,
    )


@formula(
    unit="%",
    places=1,
    source="arithmetic",
    text="100 x (sodium + potassium + 2 x calcium + 2 x magnesium - chloride - bicarbonate - acetate"
    " - 3 x citrate) / (sodium + potassium + 2 x calcium + 2 x magnesium)",
    sodium_mmol_l=SODIUM_LABEL,
    potassium_mmol_l=POTASSIUM,
    calcium_mmol_l=CALCIUM,
    magnesium_mmol_l=MAGNESIUM,
    chloride_mmol_l=CHLORIDE,
    bicarbonate_mmol_l=BICARBONATE_FINAL,
    acetate_mmol_l=ACETATE,
    citrate_mmol_l=CITRATE,
)
def charge_gap(
    *,
    sodium_mmol_l: Decimal,
    potassium_mmol_l: Decimal,
    calcium_mmol_l: Decimal,
    magnesium_mmol_l: Decimal,
    chloride_mmol_l: Decimal,
    bicarbonate_mmol_l: Decimal,
    acetate_mmol_l: Decimal = ZERO,
    citrate_mmol_l: Decimal = ZERO,
) -> Decimal:
    """How far the charges of a label are apart, as a share of the cations.  [%]

    Above 0 anions are missing, under 0 there are too many; a label must lie within 1 %. Bicarbonate as mixed
    instead of final shows here as too many anions.

    sodium_mmol_l [mmol/L] 50 to 200; potassium_mmol_l 0 to 110; calcium_mmol_l, magnesium_mmol_l 0 to 60;
    chloride_mmol_l 0 to 250; bicarbonate_mmol_l 0 to 110, final; acetate_mmol_l 0 to 110; citrate_mmol_l 0
    to 10. Raises DomainError outside. Source: arithmetic (fluids 2.1).
    """
    cations = sodium_mmol_l + potassium_mmol_l + 2 * (calcium_mmol_l + magnesium_mmol_l)
    anions = chloride_mmol_l + bicarbonate_mmol_l + acetate_mmol_l + 3 * citrate_mmol_l
    return 100 * (cations - anions) / cations


@formula(
    unit="mmol/L",
    places=1,
    source="arithmetic",
    text="bicarbonate + acetate + 3 x citrate",
    bicarbonate_mmol_l=BICARBONATE_FINAL,
    acetate_mmol_l=ACETATE,
    citrate_mmol_l=CITRATE,
)
def base_equivalents(
    *, bicarbonate_mmol_l: Decimal, acetate_mmol_l: Decimal = ZERO, citrate_mmol_l: Decimal = ZERO
) -> Decimal:
    """Bicarbonate with what the body turns into bicarbonate.  [mmol/L]

    bicarbonate_mmol_l [mmol/L] 0 to 110, final; acetate_mmol_l 0 to 110; citrate_mmol_l 0 to 10. Raises
    DomainError outside. Source: arithmetic (fluids 2.1).
    """
    return bicarbonate_mmol_l + acetate_mmol_l + 3 * citrate_mmol_l


@formula(
    unit="mmol/L",
    places=1,
    source="arithmetic",
    text="sodium + potassium + calcium + magnesium + chloride + bicarbonate + acetate + citrate + glucose",
    sodium_mmol_l=SODIUM,
    potassium_mmol_l=POTASSIUM,
    calcium_mmol_l=CALCIUM,
    magnesium_mmol_l=MAGNESIUM,
    chloride_mmol_l=CHLORIDE,
    bicarbonate_mmol_l=BICARBONATE_FINAL,
    acetate_mmol_l=ACETATE,
    citrate_mmol_l=CITRATE,
    glucose_mmol_l=GLUCOSE,
)
def osmolarity(
    *,
    sodium_mmol_l: Decimal,
    potassium_mmol_l: Decimal,
    calcium_mmol_l: Decimal,
    magnesium_mmol_l: Decimal,
    chloride_mmol_l: Decimal,
    bicarbonate_mmol_l: Decimal,
    acetate_mmol_l: Decimal = ZERO,
    citrate_mmol_l: Decimal = ZERO,
    glucose_mmol_l: Decimal = ZERO,
) -> Decimal:
    """The simple sum of all that is dissolved, as labels print it.  [mmol/L]

    sodium_mmol_l [mmol/L] 0 to 200; potassium_mmol_l 0 to 110; calcium_mmol_l, magnesium_mmol_l 0 to 60;
    chloride_mmol_l 0 to 250; bicarbonate_mmol_l, acetate_mmol_l 0 to 110; citrate_mmol_l 0 to 10;
    glucose_mmol_l 0 to 300.
    Raises DomainError outside. Source: arithmetic (fluids 2.5).
    """
    cations = sodium_mmol_l + potassium_mmol_l + calcium_mmol_l + magnesium_mmol_l
    return cations + chloride_mmol_l + bicarbonate_mmol_l + acetate_mmol_l + citrate_mmol_l + glucose_mmol_l


@formula(
    unit="mOsm/kg",
    places=0,
    source="from memory",
    text="0.93 x (osmolarity - glucose) + glucose",
    osmolarity_mmol_l=span("mmol/L", "0", "1100"),
    glucose_mmol_l=GLUCOSE,
)
def osmolality_expected(*, osmolarity_mmol_l: Decimal, glucose_mmol_l: Decimal = ZERO) -> Decimal:
    """About what an osmometer finds where the label prints a simple sum.  [mOsm/kg]

    osmolarity_mmol_l [mmol/L] 0 to 1,100, the simple sum; glucose_mmol_l [mmol/L] 0 to 300, which is part of
    it. Raises DomainError outside, and where glucose is more than the sum. Source: from memory (fluids 2.5).
    """
    salts = osmolarity_mmol_l - glucose_mmol_l
    if salts < 0:
        raise DomainError("science.glucose_over_sum", total=plain(osmolarity_mmol_l))
    return OSMOTIC_SHARE * salts + glucose_mmol_l


@formula(
    unit="mmol/L",
    places=2,
    source="fluids:2.1",
    text="0.0307 x pressure of carbon dioxide",
    co2_pressure_mmhg=span("mmHg", "1", "760"),
)
def carbon_dioxide_dissolved(*, co2_pressure_mmhg: Decimal) -> Decimal:
    """Carbon dioxide in solution at a pressure of it.  [mmol/L]

    co2_pressure_mmhg [mmHg] 1 to 760. Raises DomainError outside. Source: fluids:2.1.
    """
    return CO2_MMOL_MMHG * co2_pressure_mmhg


@formula(
    unit="pH",
    places=2,
    source="fluids:2.1",
    text="6.1 + log10(bicarbonate / dissolved carbon dioxide)",
    bicarbonate_mmol_l=span("mmol/L", "1", "110"),
    dissolved_co2_mmol_l=span("mmol/L", "0.1", "25"),
)
def fluid_ph_expected(*, bicarbonate_mmol_l: Decimal, dissolved_co2_mmol_l: Decimal) -> Decimal:
    """PH of a fluid while the carbon dioxide stays in it.  [pH]

    bicarbonate_mmol_l [mmol/L] 1 to 110, final; dissolved_co2_mmol_l [mmol/L] 0.1 to 25, as much as the acid
    has made. Carbon dioxide that gets out raises the pH and conductivity doesn't show it. Raises DomainError
    outside. Source: fluids:2.1.
    """
    return PK_CARBONIC + (bicarbonate_mmol_l / dissolved_co2_mmol_l).log10()
