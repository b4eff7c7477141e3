"""Fluid: what there is to remove, how fast, what fits tonight, and what the scale should say afterwards.

Volumes are in litres, weights in kilograms; 1 kg of body weight is taken as 1 L (common practice).
These sums check what the unit prescribed; none of them proposes a weight, a rate or a number of hours.
"""

from __future__ import annotations

from decimal import Decimal

from ebbwell.core.errors import DomainError, NothingToDo
from ebbwell.core.numbers import plain
from ebbwell.science.formula import formula, span
from ebbwell.science.ranges import (
    CAP,
    CAP_VOLUME,
    DRINK,
    HOURS,
    HOURS_LEFT,
    LOSSES,
    PRIME,
    REMOVAL,
    RINSE_BACK,
    SALINE,
    WEIGHT,
    ZERO,
)

L_PER_KG = Decimal(1)
"""Litres of fluid for each kilogram of body weight. Source: common practice (fluids 0)."""
SALINE_SODIUM_MMOL_ML = Decimal("0.154")
"""Sodium in 0.9 % saline. Source: arithmetic (9 g/L over 58.443 g/mol)."""
SALINE_SALT_G_ML = Decimal("0.009")
"""Salt in 0.9 % saline: 9 g/L. Source: arithmetic."""
FAIR_SLOPE = Decimal(3)
"""mL/h for each kg in the weight-fair form. Source: fluids:U6."""
FAIR_20 = Decimal(500)
"""mL/h added for the line with 20 % more risk. Source: fluids:U6."""
FAIR_40 = Decimal(630)
"""mL/h added for the line with 40 % more risk. Source: fluids:U6."""

WATER_L_KG = Decimal("0.58")
"""Litres of water in each kilogram of a body, roughly. Source: common practice (kinetics A4)."""

EXCESS = span("kg", "0", "30")
GAIN = span("kg", "0", "20")
INTAKE = span("L", "0", "10")
RATE = span("mL/h", "0", "10000")


@formula(
    unit="L",
    places=2,
    source="fluids:U1",
    text="(weight before - target weight) x 1 L/kg + rinse-back + prime given + drink + saline - losses",
    weight_before_kg=WEIGHT,
    target_weight_kg=WEIGHT,
    rinse_back_l=RINSE_BACK,
    prime_given_l=PRIME,
    drink_l=DRINK,
    saline_l=SALINE,
    losses_l=LOSSES,
)
def removal_volume(
    *,
    weight_before_kg: Decimal,
    target_weight_kg: Decimal,
    rinse_back_l: Decimal,
    prime_given_l: Decimal = ZERO,
    drink_l: Decimal = ZERO,
    saline_l: Decimal = ZERO,
    losses_l: Decimal = ZERO,
) -> Decimal:
    """Fluid to remove so that the target weight is met after everything that goes in and out.  [L]

    weight_before_kg, target_weight_kg [kg] 20 to 300; rinse_back_l, prime_given_l [L] 0 to 2; drink_l [L] 0
    to 4; saline_l [L] 0 to 3; losses_l [L] 0 to 4, urine and vomit expected before the weight after.
    prime_given_l is 0 where the prime was run to drain. Count each volume once.
    Raises DomainError outside the ranges, NothingToDo where the sum is 0 or less: a rate is never negative.
    Source: fluids:U1, fluids 4.1.
    """
    goes_in = rinse_back_l + prime_given_l + drink_l + saline_l
    volume = (weight_before_kg - target_weight_kg) * L_PER_KG + goes_in - losses_l
    if volume <= 0:
        raise NothingToDo("science.nothing_to_remove", volume=plain(volume))
    return volume


@formula(
    unit="%",
    places=0,
    source="common practice",
    text="100 x removal volume / (0.58 L/kg x target weight)",
    removal_l=span("L", "0", "300"),
    target_weight_kg=WEIGHT,
)
def removal_of_body_water(*, removal_l: Decimal, target_weight_kg: Decimal) -> Decimal:
    """A removal as a share of all the water in a body: tells a slip from a gain.  [%]

    removal_l [L] 0 to 300; target_weight_kg [kg] 20 to 300. The rule of 58 % is rough, and is used for nothing else.
    Raises DomainError outside. Source: common practice (kinetics A4).
    """
    return 100 * removal_l / (WATER_L_KG * target_weight_kg)


@formula(
    unit="mL/h", places=1, source="arithmetic", text="volume x 1000 / hours", volume_l=REMOVAL, hours_h=HOURS
)
def removal_rate(*, volume_l: Decimal, hours_h: Decimal) -> Decimal:
    """Removal rate that takes a volume off evenly.  [mL/h]

    volume_l [L] 0 to 30; hours_h [h] 0.25 to 14, of removal. Raises DomainError outside.
    Source: arithmetic.
    """
    return volume_l * 1000 / hours_h


@formula(unit="mL/kg/h", places=2, source="fluids:U3", text="rate / weight", rate_ml_h=RATE, weight_kg=WEIGHT)
def removal_rate_per_kg(*, rate_ml_h: Decimal, weight_kg: Decimal) -> Decimal:
    """Removal rate for each kilogram.  [mL/kg/h]

    rate_ml_h [mL/h] 0 to 10,000; weight_kg [kg] 20 to 300: the target weight before, the true weight after.
    Raises DomainError outside. Source: fluids:U3 for the form.
    """
    return rate_ml_h / weight_kg


@formula(
    unit="L",
    places=2,
    rounding="down",
    source="arithmetic",
    text="cap x target weight x hours / 1000",
    cap_ml_kg_h=CAP,
    target_weight_kg=WEIGHT,
    hours_h=HOURS,
)
def cap_volume(*, cap_ml_kg_h: Decimal, target_weight_kg: Decimal, hours_h: Decimal) -> Decimal:
    """The most that the unit's removal cap lets off in the prescribed hours.  [L]

    cap_ml_kg_h [mL/kg/h] 0.5 to 30; target_weight_kg [kg] 20 to 300; hours_h [h] 0.25 to 14.
    Raises DomainError outside. Shown rounded down. Source: arithmetic (fluids 4.3).
    """
    return cap_ml_kg_h * target_weight_kg * hours_h / 1000


@formula(
    unit="L",
    places=2,
    rounding="down",
    source="arithmetic",
    text="the smaller of removal volume and cap volume",
    removal_l=REMOVAL,
    cap_volume_l=CAP_VOLUME,
)
def fits_tonight(*, removal_l: Decimal, cap_volume_l: Decimal) -> Decimal:
    """What can come off tonight within the prescribed hours and cap.  [L]

    removal_l [L] 0 to 30; cap_volume_l [L] 0 to 130. Raises DomainError outside. Shown rounded down.
    Source: arithmetic (fluids 4.3).
    """
    return min(removal_l, cap_volume_l)


@formula(
    unit="L",
    places=2,
    rounding="up",
    source="arithmetic",
    text="removal volume - cap volume, or 0 where all of it fits",
    removal_l=REMOVAL,
    cap_volume_l=CAP_VOLUME,
)
def remains_after(*, removal_l: Decimal, cap_volume_l: Decimal) -> Decimal:
    """What stays in the body when tonight keeps to the cap.  [L]

    removal_l [L] 0 to 30; cap_volume_l [L] 0 to 130. Raises DomainError outside. Shown rounded up.
    Source: arithmetic (fluids 4.3).
    """
    return max(ZERO, removal_l - cap_volume_l)


@formula(
    unit="mL/h",
    places=1,
    source="arithmetic",
    text="volume left x 1000 / hours left",
    remaining_l=REMOVAL,
    remaining_h=HOURS_LEFT,
)
def rate_to_finish(*, remaining_l: Decimal, remaining_h: Decimal) -> Decimal:
    """Rate that would take off what is left in the time that is left.  [mL/h]

    Hold it against the cap again.

    remaining_l [L] 0 to 30; remaining_h [h] 0.05 to 14. Raises DomainError outside. Source: arithmetic
    (fluids 4.1).
    """
    return remaining_l * 1000 / remaining_h


@formula(
    unit="h",
    places=2,
    rounding="up",
    source="arithmetic",
    text="volume x 1000 / (cap x weight)",
    volume_l=REMOVAL,
    cap_ml_kg_h=CAP,
    weight_kg=WEIGHT,
)
def hours_under_cap(*, volume_l: Decimal, cap_ml_kg_h: Decimal, weight_kg: Decimal) -> Decimal:
    """Hours in which a volume would just keep to a cap: a figure for the talk with the unit.  [h]

    volume_l [L] 0 to 30; cap_ml_kg_h [mL/kg/h] 0.5 to 30; weight_kg [kg] 20 to 300. Raises DomainError
    outside. Shown rounded up. Source: arithmetic.
    """
    return volume_l * 1000 / (cap_ml_kg_h * weight_kg)


@formula(
    unit="kg",
    places=1,
    source="fluids:U1",
    text="weight before - (removed - rinse-back - prime given - drink - saline + losses) / 1 L/kg",
    weight_before_kg=WEIGHT,
    removed_l=REMOVAL,
    rinse_back_l=RINSE_BACK,
    prime_given_l=PRIME,
    drink_l=DRINK,
    saline_l=SALINE,
    losses_l=LOSSES,
)
def weight_after_expected(
    *,
    weight_before_kg: Decimal,
    removed_l: Decimal,
    rinse_back_l: Decimal,
    prime_given_l: Decimal = ZERO,
    drink_l: Decimal = ZERO,
    saline_l: Decimal = ZERO,
    losses_l: Decimal = ZERO,
) -> Decimal:
    """What the scale should say afterwards.  [kg]

    weight_before_kg [kg] 20 to 300; removed_l [L] 0 to 30; the other volumes [L] as in removal_volume.
    Raises DomainError outside. Source: fluids:U1, fluids 4.5.
    """
    goes_in = rinse_back_l + prime_given_l + drink_l + saline_l
    return weight_before_kg - (removed_l - goes_in + losses_l) / L_PER_KG


@formula(
    unit="kg",
    places=1,
    source="arithmetic",
    text="weight before - weight after the last treatment",
    weight_before_kg=WEIGHT,
    last_weight_after_kg=WEIGHT,
)
def weight_gain(*, weight_before_kg: Decimal, last_weight_after_kg: Decimal) -> Decimal:
    """Gain since the last treatment; a loss is negative.  [kg]

    weight_before_kg, last_weight_after_kg [kg] 20 to 300. Raises DomainError outside. Source: arithmetic.
    """
    return weight_before_kg - last_weight_after_kg


@formula(
    unit="%",
    places=1,
    source="fluids:U7",
    text="100 x (weight before - weight after the last treatment) / target weight",
    weight_before_kg=WEIGHT,
    last_weight_after_kg=WEIGHT,
    target_weight_kg=WEIGHT,
)
def weight_gain_share(
    *, weight_before_kg: Decimal, last_weight_after_kg: Decimal, target_weight_kg: Decimal
) -> Decimal:
    """Gain since the last treatment as a share of the target weight.  [%]

    All three [kg] 20 to 300. Raises DomainError outside. Source: fluids:U7 for the form.
    """
    return 100 * (weight_before_kg - last_weight_after_kg) / target_weight_kg


def _net(cap_volume_l: Decimal, intake_l: Decimal, gain_kg: Decimal, excess_kg: Decimal) -> Decimal:
    net = (cap_volume_l - intake_l) / L_PER_KG
    if net <= 0 or (excess_kg > net and gain_kg >= net):
        raise DomainError("science.never_reaches", net=plain(net), gain=plain(gain_kg))
    return net


@formula(
    unit="nights",
    places=0,
    source="arithmetic",
    text="nights until what is over the target fits: over - (cap volume - intake), + gain each time between",
    excess_kg=EXCESS,
    cap_volume_l=CAP_VOLUME,
    intake_l=INTAKE,
    gain_kg=GAIN,
)
def nights_to_target(
    *, excess_kg: Decimal, cap_volume_l: Decimal, intake_l: Decimal, gain_kg: Decimal
) -> Decimal:
    """Treatments until the target weight is met if each one runs at the cap.  [nights]

    A figure for the talk with the unit.

    excess_kg [kg] 0 to 30, over target before the first; cap_volume_l [L] 0 to 130; intake_l [L] 0 to 10,
    rinse-back and drinks of one night; gain_kg [kg] 0 to 20, between two treatments.
    Raises DomainError outside, and where the gain is as large as what one night takes off: it is never met.
    Source: arithmetic (fluids 4.3).
    """
    net = _net(cap_volume_l, intake_l, gain_kg, excess_kg)
    nights, left = 1, excess_kg - net
    if left > 0:
        further = left / (net - gain_kg)
        nights += int(further) + (further != int(further))
    return Decimal(nights)


@formula(
    unit="kg",
    places=2,
    rounding="up",
    source="arithmetic",
    text="over target after each night: the larger of 0 and over - (cap volume - intake), + gain between",
    excess_kg=EXCESS,
    cap_volume_l=CAP_VOLUME,
    intake_l=INTAKE,
    gain_kg=GAIN,
    nights=span("nights", "1", "60"),
)
def left_after_nights(
    *, excess_kg: Decimal, cap_volume_l: Decimal, intake_l: Decimal, gain_kg: Decimal, nights: Decimal
) -> Decimal:
    """Weight still over the target after so many treatments at the cap.  [kg]

    excess_kg [kg] 0 to 30, cap_volume_l [L] 0 to 130, intake_l [L] 0 to 10, gain_kg [kg] 0 to 20, all as in
    nights_to_target; nights 1 to 60, whole. Raises DomainError outside, for part of a night, and where the
    target is never met. Source: arithmetic (fluids 4.3).
    """
    if nights != nights.to_integral_value():
        raise DomainError("science.whole_nights", nights=plain(nights))
    net = _net(cap_volume_l, intake_l, gain_kg, excess_kg)
    left = excess_kg
    for night in range(int(nights)):
        left = max(ZERO, left + (gain_kg if night else ZERO) - net)
    return left


@formula(
    unit="mmol",
    places=1,
    source="arithmetic",
    text="0.154 mmol/mL x volume",
    volume_ml=span("mL", "0", "3000"),
)
def saline_sodium(*, volume_ml: Decimal) -> Decimal:
    """Sodium given with 0.9 % saline.  [mmol]

    volume_ml [mL] 0 to 3,000. Raises DomainError outside. Source: arithmetic (fluids 4.4).
    """
    return SALINE_SODIUM_MMOL_ML * volume_ml


@formula(
    unit="g", places=2, source="arithmetic", text="0.009 g/mL x volume", volume_ml=span("mL", "0", "3000")
)
def saline_salt(*, volume_ml: Decimal) -> Decimal:
    """Salt given with 0.9 % saline.  [g]

    volume_ml [mL] 0 to 3,000. Raises DomainError outside. Source: arithmetic (fluids 4.4).
    """
    return SALINE_SALT_G_ML * volume_ml


@formula(unit="mL/h", places=0, source="fluids:U6", text="3 x weight + 500", weight_kg=WEIGHT)
def weight_fair_rate_20(*, weight_kg: Decimal) -> Decimal:
    """Removal rate at which a study saw 20 % more risk, by weight. An association, not a limit.  [mL/h]

    weight_kg [kg] 20 to 300. Raises DomainError outside. Source: fluids:U6.
    """
    return FAIR_SLOPE * weight_kg + FAIR_20


@formula(unit="mL/h", places=0, source="fluids:U6", text="3 x weight + 630", weight_kg=WEIGHT)
def weight_fair_rate_40(*, weight_kg: Decimal) -> Decimal:
    """Removal rate at which a study saw 40 % more risk, by weight. An association, not a limit.  [mL/h]

    weight_kg [kg] 20 to 300. Raises DomainError outside. Source: fluids:U6.
    """
    return FAIR_SLOPE * weight_kg + FAIR_40
