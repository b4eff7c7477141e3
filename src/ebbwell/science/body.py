"""How much water a body holds, by rules from measured people, and what sodium did to it between two nights.

For looking back only. Each rule is a mean of those it was made from; two of them in one ratio give nonsense.
All take the weight after dialysis. Swollen legs or a full belly add litre for litre, which no rule sees.
Where a digit differs between prints, the constant says which was kept.
"""

from __future__ import annotations

from decimal import Decimal

from ebbwell.core.errors import DomainError
from ebbwell.core.numbers import plain
from ebbwell.science.formula import formula
from ebbwell.science.ranges import ZERO
from ebbwell.science.ranges_solutes import (
    AGE,
    BODY_WATER,
    GAIN,
    HEIGHT,
    SODIUM_PLASMA,
    SODIUM_TAKEN,
    WEIGHT,
)

WATSON_MAN = (Decimal("2.447"), Decimal("-0.09516"), Decimal("0.1074"), Decimal("0.3362"))
"""Litres, then for each year, cm and kg. As many pages print 0.09156 for the years; 0.09516 is kept till the paper is
read: 0.2 L apart at 60 years. Source: kinetics:A4 (second hand)."""
WATSON_WOMAN = (Decimal("-2.097"), Decimal("0.1069"), Decimal("0.2466"))
"""Litres, then for each cm and kg. Source: kinetics:A4 (second hand)."""
HUME_MAN = (Decimal("-14.012934"), Decimal("0.194786"), Decimal("0.296785"))
"""Litres, then for each cm and kg. Source: kinetics:A4 (second hand)."""
HUME_WOMAN = (Decimal("-35.270121"), Decimal("0.344547"), Decimal("0.183809"))
"""Litres, then for each cm and kg. Source: from memory (kinetics A4)."""
CHERTOW_ALL = (
    Decimal("-0.07493713"),
    Decimal("0.12703384"),
    Decimal("-0.04012056"),
    Decimal("-0.00067247"),
    Decimal("0.00104135"),
    Decimal("0.00186104"),
)
"""For each year, cm, kg, kg squared, year times kg, cm times kg. Source: from memory (kinetics A4)."""
CHERTOW_MAN = (Decimal("-1.01767992"), Decimal("-0.03486146"), Decimal("0.11262857"))
"""For a man, and there for each year and kg. Source: from memory (kinetics A4)."""
CHERTOW_DIABETES = Decimal("0.57894981")
"""Litres more with diabetes. Source: from memory (kinetics A4)."""
WATER_SHARE = Decimal("0.58")
"""Litres of water in a kilogram, a round rule for comparison. Source: common practice (kinetics A4)."""


def possible_water(litres: Decimal, weight_kg: Decimal) -> Decimal:
    """The litres, if a body of that weight can hold them.  [L]

    Raises DomainError at 0 or less, and above the weight. Source: arithmetic.
    """
    if not 0 < litres < weight_kg:
        raise DomainError("science.no_such_water", weight=plain(weight_kg))
    return litres


def _chertow(age: Decimal, height: Decimal, weight: Decimal, man: bool, diabetes: Decimal) -> Decimal:
    year, cm, kg, kg_squared, year_kg, cm_kg = CHERTOW_ALL
    litres = year * age + cm * height + kg * weight + kg_squared * weight**2
    litres += year_kg * age * weight + cm_kg * height * weight + diabetes
    if man:
        once, man_year, man_kg = CHERTOW_MAN
        litres += once + man_year * age + man_kg * weight
    return possible_water(litres, weight)


@formula(
    unit="L",
    places=1,
    review_only=True,
    source="kinetics:A4",
    text="2.447 - 0.09516 x years + 0.1074 x cm + 0.3362 x kg",
    age_years=AGE,
    height_cm=HEIGHT,
    weight_kg=WEIGHT,
)
def body_water_watson_man(
    *,
    age_years: Decimal,
    height_cm: Decimal,
    weight_kg: Decimal,
) -> Decimal:
    """Body water of a man by Watson.  [L]

    age_years [years] 16 to 110; height_cm [cm] 120 to 220; weight_kg [kg] 20 to 300. Raises DomainError
    outside, and where no body can hold the litres.
    Source: kinetics:A4 (Watson 1980, read at second hand; 0.09516 or 0.09156 is not settled).
    """
    fixed, year, cm, kg = WATSON_MAN
    return possible_water(fixed + year * age_years + cm * height_cm + kg * weight_kg, weight_kg)


@formula(
    unit="L",
    places=1,
    review_only=True,
    source="kinetics:A4",
    text="0.1069 x cm + 0.2466 x kg - 2.097",
    age_years=AGE,
    height_cm=HEIGHT,
    weight_kg=WEIGHT,
)
def body_water_watson_woman(
    *,
    age_years: Decimal,
    height_cm: Decimal,
    weight_kg: Decimal,
) -> Decimal:
    """Body water of a woman by Watson.  [L]

    age_years [years] 16 to 110; height_cm [cm] 120 to 220; weight_kg [kg] 20 to 300. The age only tells a
    grown-up. Raises DomainError outside, and where no body can hold the litres.
    Source: kinetics:A4 (Watson 1980, read at second hand).
    """
    del age_years
    fixed, cm, kg = WATSON_WOMAN
    return possible_water(fixed + cm * height_cm + kg * weight_kg, weight_kg)


@formula(
    unit="L",
    places=1,
    review_only=True,
    source="kinetics:A4",
    text="0.194786 x cm + 0.296785 x kg - 14.012934",
    age_years=AGE,
    height_cm=HEIGHT,
    weight_kg=WEIGHT,
)
def body_water_hume_man(
    *,
    age_years: Decimal,
    height_cm: Decimal,
    weight_kg: Decimal,
) -> Decimal:
    """Body water of a man by Hume and Weyers.  [L]

    age_years [years] 16 to 110; height_cm [cm] 120 to 220; weight_kg [kg] 20 to 300. The age only tells a
    grown-up. Raises DomainError outside, and where no body can hold the litres.
    Source: kinetics:A4 (Hume and Weyers 1971, read at second hand).
    """
    del age_years
    fixed, cm, kg = HUME_MAN
    return possible_water(fixed + cm * height_cm + kg * weight_kg, weight_kg)


@formula(
    unit="L",
    places=1,
    review_only=True,
    source="from memory",
    text="0.344547 x cm + 0.183809 x kg - 35.270121",
    age_years=AGE,
    height_cm=HEIGHT,
    weight_kg=WEIGHT,
)
def body_water_hume_woman(
    *,
    age_years: Decimal,
    height_cm: Decimal,
    weight_kg: Decimal,
) -> Decimal:
    """Body water of a woman by Hume and Weyers.  [L]

    age_years [years] 16 to 110; height_cm [cm] 120 to 220; weight_kg [kg] 20 to 300. The age only tells a
    grown-up. Raises DomainError outside, and where no body can hold the litres.
    Source: from memory (kinetics A4: Hume and Weyers 1971).
    """
    del age_years
    fixed, cm, kg = HUME_WOMAN
    return possible_water(fixed + cm * height_cm + kg * weight_kg, weight_kg)


@formula(
    unit="L",
    places=1,
    review_only=True,
    source="from memory",
    text="-0.07493713 x years + 0.12703384 x cm - 0.04012056 x kg - 0.00067247 x kg^2"
    " + 0.00104135 x years x kg + 0.00186104 x cm x kg"
    " - 1.01767992 - 0.03486146 x years + 0.11262857 x kg",
    age_years=AGE,
    height_cm=HEIGHT,
    weight_kg=WEIGHT,
)
def body_water_chertow_man(
    *,
    age_years: Decimal,
    height_cm: Decimal,
    weight_kg: Decimal,
) -> Decimal:
    """Body water of a man on dialysis by Chertow.  [L]

    age_years [years] 16 to 110; height_cm [cm] 120 to 220; weight_kg [kg] 20 to 300. Raises DomainError
    outside, and where no body can hold the litres.
    Source: from memory (kinetics A4: Chertow, Kidney Int 1997).
    """
    return _chertow(age_years, height_cm, weight_kg, True, ZERO)


@formula(
    unit="L",
    places=1,
    review_only=True,
    source="from memory",
    text="-0.07493713 x years + 0.12703384 x cm - 0.04012056 x kg - 0.00067247 x kg^2"
    " + 0.00104135 x years x kg + 0.00186104 x cm x kg"
    " - 1.01767992 - 0.03486146 x years + 0.11262857 x kg + 0.57894981",
    age_years=AGE,
    height_cm=HEIGHT,
    weight_kg=WEIGHT,
)
def body_water_chertow_man_diabetes(
    *,
    age_years: Decimal,
    height_cm: Decimal,
    weight_kg: Decimal,
) -> Decimal:
    """Body water of a man on dialysis with diabetes by Chertow.  [L]

    age_years [years] 16 to 110; height_cm [cm] 120 to 220; weight_kg [kg] 20 to 300. Raises DomainError
    outside, and where no body can hold the litres.
    Source: from memory (kinetics A4: Chertow, Kidney Int 1997).
    """
    return _chertow(age_years, height_cm, weight_kg, True, CHERTOW_DIABETES)


@formula(
    unit="L",
    places=1,
    review_only=True,
    source="from memory",
    text="-0.07493713 x years + 0.12703384 x cm - 0.04012056 x kg - 0.00067247 x kg^2"
    " + 0.00104135 x years x kg + 0.00186104 x cm x kg"
    "",
    age_years=AGE,
    height_cm=HEIGHT,
    weight_kg=WEIGHT,
)
def body_water_chertow_woman(
    *,
    age_years: Decimal,
    height_cm: Decimal,
    weight_kg: Decimal,
) -> Decimal:
    """Body water of a woman on dialysis by Chertow.  [L]

    age_years [years] 16 to 110; height_cm [cm] 120 to 220; weight_kg [kg] 20 to 300. Raises DomainError
    outside, and where no body can hold the litres.
    Source: from memory (kinetics A4: Chertow, Kidney Int 1997).
    """
    return _chertow(age_years, height_cm, weight_kg, False, ZERO)


@formula(
    unit="L",
    places=1,
    review_only=True,
    source="from memory",
    text="-0.07493713 x years + 0.12703384 x cm - 0.04012056 x kg - 0.00067247 x kg^2"
    " + 0.00104135 x years x kg + 0.00186104 x cm x kg"
    " + 0.57894981",
    age_years=AGE,
    height_cm=HEIGHT,
    weight_kg=WEIGHT,
)
def body_water_chertow_woman_diabetes(
    *,
    age_years: Decimal,
    height_cm: Decimal,
    weight_kg: Decimal,
) -> Decimal:
    """Body water of a woman on dialysis with diabetes by Chertow.  [L]

    age_years [years] 16 to 110; height_cm [cm] 120 to 220; weight_kg [kg] 20 to 300. Raises DomainError
    outside, and where no body can hold the litres.
    Source: from memory (kinetics A4: Chertow, Kidney Int 1997).
    """
    return _chertow(age_years, height_cm, weight_kg, False, CHERTOW_DIABETES)


@formula(
    unit="L",
    places=1,
    review_only=True,
    source="common practice",
    text="0.58 x kg",
    weight_kg=WEIGHT,
)
def body_water_58_percent(*, weight_kg: Decimal) -> Decimal:
    """Body water as 58 % of the weight, for comparison.  [L]

    weight_kg [kg] 20 to 300. Raises DomainError outside.
    Source: common practice (kinetics A4).
    """
    return WATER_SHARE * weight_kg


@formula(
    unit="mmol",
    places=0,
    review_only=True,
    source="kinetics:A9",
    text="(body water after + fluid gained) x sodium before the next session - body water after x sodium"
    " after",
    body_water_l=BODY_WATER,
    sodium_after_mmol_l=SODIUM_PLASMA,
    sodium_before_mmol_l=SODIUM_PLASMA,
    fluid_gained_l=GAIN,
)
def sodium_taken_in(
    *,
    body_water_l: Decimal,
    sodium_after_mmol_l: Decimal,
    sodium_before_mmol_l: Decimal,
    fluid_gained_l: Decimal,
) -> Decimal:
    """Sodium taken in between two sessions, if water spreads over all body water.  [mmol]

    body_water_l [L] 2 to 100; sodium_after_mmol_l [mmol/L] 100 to 180; sodium_before_mmol_l [mmol/L] 100 to
    180; fluid_gained_l [L] 0 to 15. Under 0 more sodium went than came. Raises DomainError outside.
    Source: kinetics:A9 (derived there; urea left out).
    """
    return (body_water_l + fluid_gained_l) * sodium_before_mmol_l - body_water_l * sodium_after_mmol_l


@formula(
    unit="L",
    places=2,
    review_only=True,
    source="kinetics:A9",
    text="sodium taken in / sodium after",
    sodium_taken_mmol=SODIUM_TAKEN,
    sodium_after_mmol_l=SODIUM_PLASMA,
)
def gain_with_salt(*, sodium_taken_mmol: Decimal, sodium_after_mmol_l: Decimal) -> Decimal:
    """The part of the gain that came with its salt.  [L]

    sodium_taken_mmol [mmol] -1000 to 3,000; sodium_after_mmol_l [mmol/L] 100 to 180. Raises DomainError
    outside.
    Source: kinetics:A9 (derived there; Lindley 2015 for the idea).
    """
    return sodium_taken_mmol / sodium_after_mmol_l


@formula(
    unit="L",
    places=2,
    review_only=True,
    source="kinetics:A9",
    text="fluid gained - sodium taken in / sodium after",
    fluid_gained_l=GAIN,
    sodium_taken_mmol=SODIUM_TAKEN,
    sodium_after_mmol_l=SODIUM_PLASMA,
)
def gain_as_water(
    *,
    fluid_gained_l: Decimal,
    sodium_taken_mmol: Decimal,
    sodium_after_mmol_l: Decimal,
) -> Decimal:
    """The part of the gain that came as plain water; under 0 it was salt without water.  [L]

    fluid_gained_l [L] 0 to 15; sodium_taken_mmol [mmol] -1000 to 3,000; sodium_after_mmol_l [mmol/L] 100 to
    180. Raises DomainError outside.
    Source: kinetics:A9 (derived there; Lindley 2015 for the idea).
    """
    return fluid_gained_l - sodium_taken_mmol / sodium_after_mmol_l


@formula(
    unit="L",
    places=2,
    review_only=True,
    source="kinetics:A9",
    text="(body water after x (sodium after - own sodium) + sodium taken in) / own sodium",
    body_water_l=BODY_WATER,
    sodium_after_mmol_l=SODIUM_PLASMA,
    own_sodium_mmol_l=SODIUM_PLASMA,
    sodium_taken_mmol=SODIUM_TAKEN,
)
def gain_by_thirst(
    *,
    body_water_l: Decimal,
    sodium_after_mmol_l: Decimal,
    own_sodium_mmol_l: Decimal,
    sodium_taken_mmol: Decimal,
) -> Decimal:
    """Gain that brings sodium back to the person's own level.  [L]

    body_water_l [L] 2 to 100; sodium_after_mmol_l [mmol/L] 100 to 180; own_sodium_mmol_l [mmol/L] 100 to 180;
    sodium_taken_mmol [mmol] -1000 to 3,000. Not a plan for drinking. Raises DomainError outside.
    Source: kinetics:A9 (derived there).
    """
    return (body_water_l * (sodium_after_mmol_l - own_sodium_mmol_l) + sodium_taken_mmol) / own_sodium_mmol_l
