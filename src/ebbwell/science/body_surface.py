"""Body surface by four rules, and the water of a child by rules made from children.

For looking back only. Rules for grown-ups read 4 to 11 % too high in children; the two rules for a girl on dialysis are
2 L apart, so that both must be shown. DuBois reads up to 20 % low in a very heavy person.
"""

from __future__ import annotations

from decimal import Decimal

from ebbwell.science.body import possible_water
from ebbwell.science.formula import formula
from ebbwell.science.ranges_solutes import (
    ANY_HEIGHT,
    ANY_WEIGHT,
    CHILD_HEIGHT,
    CHILD_SURFACE,
    CHILD_WEIGHT,
    HEIGHT,
    INFANT_WEIGHT,
    WEIGHT,
)

DUBOIS = (Decimal("0.007184"), Decimal("0.725"), Decimal("0.425"))
GEHAN = (Decimal("0.0235"), Decimal("0.42246"), Decimal("0.51456"))
HAYCOCK = (Decimal("0.024265"), Decimal("0.3964"), Decimal("0.5378"))
"""Factor, power of the height, power of the weight. Source: kinetics:A4 (second hand)."""
MOSTELLER = Decimal(3600)
"""Height times weight that makes one square metre. Source: from memory (examples:E4.3 and examples:E4.7)."""
DIALYSIS_BOY = (Decimal("0.10"), Decimal("0.68"), Decimal("-0.37"))
DIALYSIS_GIRL = (Decimal("0.14"), Decimal("0.64"), Decimal("-0.35"))
"""Factor and power of height times weight, then for each kg. Source: kinetics:A4 (Morgenstern 2006)."""
SURFACE_BOY = (Decimal("20.88"), Decimal("-4.29"))
SURFACE_GIRL = (Decimal("16.92"), Decimal("-1.81"))
"""Litres for each square metre, then litres. Source: kinetics:A4 (Morgenstern 2006)."""
HEALTHY_INFANT = (Decimal("0.887"), Decimal("0.83"))
"""Factor and power of the weight. Source: kinetics:A4 (Morgenstern 2002)."""
HEALTHY_CHILD = (Decimal("0.0846"), Decimal("0.65"), Decimal("0.95"))
HEALTHY_TEEN = (Decimal("0.0758"), Decimal("0.69"), Decimal("0.84"))
"""Factor and power of height times weight, then the share in a girl. Source: kinetics:A4 (Morgenstern 2002)."""


def _surface(rule: tuple[Decimal, Decimal, Decimal], height: Decimal, weight: Decimal) -> Decimal:
    factor, by_height, by_weight = rule
    return factor * height**by_height * weight**by_weight


def _dialysis_child(rule: tuple[Decimal, Decimal, Decimal], height: Decimal, weight: Decimal) -> Decimal:
    factor, power, per_kg = rule
    return possible_water(factor * (height * weight) ** power + per_kg * weight, weight)


def _healthy(rule: tuple[Decimal, Decimal, Decimal], girl: bool, height: Decimal, weight: Decimal) -> Decimal:
    factor, power, share = rule
    litres = factor * (height * weight) ** power
    return possible_water(litres * share if girl else litres, weight)


@formula(
    unit="m2",
    places=2,
    review_only=True,
    source="kinetics:A4",
    text="0.007184 x cm^0.725 x kg^0.425",
    height_cm=ANY_HEIGHT,
    weight_kg=ANY_WEIGHT,
)
def body_surface_dubois(*, height_cm: Decimal, weight_kg: Decimal) -> Decimal:
    """Body surface by DuBois.  [m2]

    height_cm [cm] 40 to 220; weight_kg [kg] 2 to 300. Raises DomainError outside.
    Source: kinetics:A4 (DuBois 1916, read at second hand).
    """
    return _surface(DUBOIS, height_cm, weight_kg)


@formula(
    unit="m2",
    places=2,
    review_only=True,
    source="kinetics:A4",
    text="0.0235 x cm^0.42246 x kg^0.51456",
    height_cm=ANY_HEIGHT,
    weight_kg=ANY_WEIGHT,
)
def body_surface_gehan_george(*, height_cm: Decimal, weight_kg: Decimal) -> Decimal:
    """Body surface by Gehan and George.  [m2]

    height_cm [cm] 40 to 220; weight_kg [kg] 2 to 300. Raises DomainError outside.
    Source: kinetics:A4 (1970, read at second hand).
    """
    return _surface(GEHAN, height_cm, weight_kg)


@formula(
    unit="m2",
    places=2,
    review_only=True,
    source="kinetics:A4",
    text="0.024265 x cm^0.3964 x kg^0.5378",
    height_cm=ANY_HEIGHT,
    weight_kg=ANY_WEIGHT,
)
def body_surface_haycock(*, height_cm: Decimal, weight_kg: Decimal) -> Decimal:
    """Body surface by Haycock.  [m2]

    height_cm [cm] 40 to 220; weight_kg [kg] 2 to 300. Raises DomainError outside.
    Source: kinetics:A4 (1978, read at second hand).
    """
    return _surface(HAYCOCK, height_cm, weight_kg)


@formula(
    unit="m2",
    places=2,
    review_only=True,
    source="from memory",
    text="square root of (cm x kg / 3600)",
    height_cm=ANY_HEIGHT,
    weight_kg=ANY_WEIGHT,
)
def body_surface_mosteller(*, height_cm: Decimal, weight_kg: Decimal) -> Decimal:
    """Body surface by Mosteller.  [m2]

    height_cm [cm] 40 to 220; weight_kg [kg] 2 to 300. Raises DomainError outside.
    Source: from memory (kinetics A4; examples:E4.7 agrees).
    """
    return (height_cm * weight_kg / MOSTELLER).sqrt()


@formula(
    unit="L",
    places=1,
    review_only=True,
    source="kinetics:A4",
    text="0.10 x (cm x kg)^0.68 - 0.37 x kg",
    height_cm=CHILD_HEIGHT,
    weight_kg=CHILD_WEIGHT,
)
def body_water_dialysis_boy(*, height_cm: Decimal, weight_kg: Decimal) -> Decimal:
    """Body water of a boy on dialysis.  [L]

    height_cm [cm] 40 to 200; weight_kg [kg] 2 to 120. Raises DomainError outside, and where no body can hold
    the litres.
    Source: kinetics:A4 (Morgenstern 2006, from children on peritoneal dialysis).
    """
    return _dialysis_child(DIALYSIS_BOY, height_cm, weight_kg)


@formula(
    unit="L",
    places=1,
    review_only=True,
    source="kinetics:A4",
    text="0.14 x (cm x kg)^0.64 - 0.35 x kg",
    height_cm=CHILD_HEIGHT,
    weight_kg=CHILD_WEIGHT,
)
def body_water_dialysis_girl(*, height_cm: Decimal, weight_kg: Decimal) -> Decimal:
    """Body water of a girl on dialysis.  [L]

    height_cm [cm] 40 to 200; weight_kg [kg] 2 to 120. Raises DomainError outside, and where no body can hold
    the litres.
    Source: kinetics:A4 (Morgenstern 2006, from children on peritoneal dialysis).
    """
    return _dialysis_child(DIALYSIS_GIRL, height_cm, weight_kg)


@formula(
    unit="L",
    places=1,
    review_only=True,
    source="kinetics:A4",
    text="20.88 x surface - 4.29",
    surface_m2=CHILD_SURFACE,
)
def body_water_surface_boy(*, surface_m2: Decimal) -> Decimal:
    """Body water of a boy on dialysis by body surface.  [L]

    surface_m2 [m2] 0.4 to 2.5. Raises DomainError outside.
    Source: kinetics:A4 (Morgenstern 2006).
    """
    per_m2, fixed = SURFACE_BOY
    return per_m2 * surface_m2 + fixed


@formula(
    unit="L",
    places=1,
    review_only=True,
    source="kinetics:A4",
    text="16.92 x surface - 1.81",
    surface_m2=CHILD_SURFACE,
)
def body_water_surface_girl(*, surface_m2: Decimal) -> Decimal:
    """Body water of a girl on dialysis by body surface.  [L]

    surface_m2 [m2] 0.4 to 2.5. Raises DomainError outside.
    Source: kinetics:A4 (Morgenstern 2006).
    """
    per_m2, fixed = SURFACE_GIRL
    return per_m2 * surface_m2 + fixed


@formula(
    unit="L",
    places=1,
    review_only=True,
    source="kinetics:A4",
    text="0.887 x kg^0.83",
    weight_kg=INFANT_WEIGHT,
)
def body_water_infant(*, weight_kg: Decimal) -> Decimal:
    """Body water of a healthy child under 3 months.  [L]

    weight_kg [kg] 1 to 10. Raises DomainError outside, and where no body can hold the litres.
    Source: kinetics:A4 (Morgenstern 2002).
    """
    factor, power = HEALTHY_INFANT
    return possible_water(factor * weight_kg**power, weight_kg)


@formula(
    unit="L",
    places=1,
    review_only=True,
    source="kinetics:A4",
    text="0.0846 x (cm x kg)^0.65",
    height_cm=CHILD_HEIGHT,
    weight_kg=CHILD_WEIGHT,
)
def body_water_healthy_boy(*, height_cm: Decimal, weight_kg: Decimal) -> Decimal:
    """Body water of a healthy boy of 3 months to 13 years.  [L]

    height_cm [cm] 40 to 200; weight_kg [kg] 2 to 120. Raises DomainError outside, and where no body can hold
    the litres.
    Source: kinetics:A4 (Morgenstern 2002).
    """
    return _healthy(HEALTHY_CHILD, False, height_cm, weight_kg)


@formula(
    unit="L",
    places=1,
    review_only=True,
    source="kinetics:A4",
    text="0.0846 x (cm x kg)^0.65 x 0.95",
    height_cm=CHILD_HEIGHT,
    weight_kg=CHILD_WEIGHT,
)
def body_water_healthy_girl(*, height_cm: Decimal, weight_kg: Decimal) -> Decimal:
    """Body water of a healthy girl of 3 months to 13 years.  [L]

    height_cm [cm] 40 to 200; weight_kg [kg] 2 to 120. Raises DomainError outside, and where no body can hold
    the litres.
    Source: kinetics:A4 (Morgenstern 2002).
    """
    return _healthy(HEALTHY_CHILD, True, height_cm, weight_kg)


@formula(
    unit="L",
    places=1,
    review_only=True,
    source="kinetics:A4",
    text="0.0758 x (cm x kg)^0.69",
    height_cm=HEIGHT,
    weight_kg=WEIGHT,
)
def body_water_teen_boy(*, height_cm: Decimal, weight_kg: Decimal) -> Decimal:
    """Body water of a healthy boy above 13 years.  [L]

    height_cm [cm] 120 to 220; weight_kg [kg] 20 to 300. Raises DomainError outside, and where no body can hold
    the litres.
    Source: kinetics:A4 (Morgenstern 2002).
    """
    return _healthy(HEALTHY_TEEN, False, height_cm, weight_kg)


@formula(
    unit="L",
    places=1,
    review_only=True,
    source="kinetics:A4",
    text="0.0758 x (cm x kg)^0.69 x 0.84",
    height_cm=HEIGHT,
    weight_kg=WEIGHT,
)
def body_water_teen_girl(*, height_cm: Decimal, weight_kg: Decimal) -> Decimal:
    """Body water of a healthy girl above 13 years.  [L]

    height_cm [cm] 120 to 220; weight_kg [kg] 20 to 300. Raises DomainError outside, and where no body can hold
    the litres.
    Source: kinetics:A4 (Morgenstern 2002).
    """
    return _healthy(HEALTHY_TEEN, True, height_cm, weight_kg)
