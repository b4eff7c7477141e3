"""What the next nights would carry, if gains stay as they were and each night keeps to the unit's cap.

Arithmetic on one's own past, with a band: no night, hour or rate is added to what was ordered.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal, localcontext

from ebbwell.core.errors import DomainError
from ebbwell.core.numbers import plain
from ebbwell.science.fluid import EXCESS, GAIN, L_PER_KG
from ebbwell.science.formula import CONTEXT, formula, inside, span
from ebbwell.science.ranges import CAP_VOLUME

LAST_GAINS = 20
"""Gains that make one's own, the last ones of the same gap. Source: design."""
LEAST_GAINS = 5
"""Fewer make no band. Source: design."""
BAND = (Decimal("0.1"), Decimal("0.5"), Decimal("0.9"))
"""Low, middle and high: one gain in ten lay under the low end, one in ten over the high. Source: design."""

GOES_IN = span("L", "-4", "10")
SHARE = span("", "0", "1")
NIGHTS = span("nights", "1", "7")
ZERO = Decimal(0)


@dataclass(frozen=True, slots=True)
class GainBand:
    """Low end, middle and high end of one's own gains [kg], and how many gains they come from."""

    low: Decimal
    middle: Decimal
    high: Decimal
    gains: int


@dataclass(frozen=True, slots=True)
class NightAhead:
    """One of the next nights. over_kg: over the target when it begins; removal_l: to take off so that the target is
    met; fits_l: as much of it as the cap lets off; left_kg: over the target when it ends, below 0 for under it.
    """

    night: int
    over_kg: Decimal
    removal_l: Decimal
    fits_l: Decimal
    left_kg: Decimal


def quantile(values: Sequence[Decimal], share: Decimal) -> Decimal:
    """The value that a share of the values lies at or under; between two values it lies on the straight line.

    values: at least one, in any order and one unit. share: 0 to 1. The definition is number 7 of Hyndman and Fan.
    Raises DomainError for a share outside, ValueError for no value. Source: statistics:HF96.
    """
    inside("share", share, SHARE)
    if not values:
        raise ValueError("no value to take a share of")
    ordered = sorted(values)
    with localcontext(CONTEXT):
        place = share * (len(ordered) - 1)
        below = int(place)
        above = min(below + 1, len(ordered) - 1)
        return ordered[below] + (place - below) * (ordered[above] - ordered[below])


def gain_band(gains: Sequence[Decimal]) -> GainBand | None:
    """One's own gains between treatments the same number of days apart.  [kg]

    gains [kg]: oldest first, each -20 to 20; the last 20 count. None for fewer than 5.
    Raises DomainError outside. Source: design.
    """
    for gain in gains:
        inside("gain_kg", gain, span("kg", "-20", "20"))
    last = gains[-LAST_GAINS:]
    if len(last) < LEAST_GAINS:
        return None
    low, middle, high = (quantile(last, share) for share in BAND)
    return GainBand(low, middle, high, len(last))


def nights_ahead(
    *,
    excess_kg: Decimal,
    cap_volume_l: Decimal,
    goes_in_l: Decimal,
    gain_kg: Decimal,
    nights: int,
) -> tuple[NightAhead, ...]:
    """Night by night from tonight on: what is to take off, what of it fits, what stays.

    excess_kg [kg] -20 to 30, over the target tonight; cap_volume_l [L] 0 to 130, of one night; goes_in_l [L] -4 to
    10, what goes in less what is lost on each night, as tonight; gain_kg [kg] -20 to 20, between two nights; nights 1
    to 7. Nothing is taken off where the sum is 0 or less. Raises DomainError outside.
    Source: arithmetic (fluids 4.3).
    """
    inside("excess_kg", excess_kg, span("kg", "-20", "30"))
    inside("cap_volume_l", cap_volume_l, CAP_VOLUME)
    inside("goes_in_l", goes_in_l, GOES_IN)
    inside("gain_kg", gain_kg, span("kg", "-20", "20"))
    inside("nights", Decimal(nights), NIGHTS)
    out = []
    over = excess_kg
    for night in range(1, nights + 1):
        removal = max(ZERO, over * L_PER_KG + goes_in_l)
        fits = min(removal, cap_volume_l)
        left = over + (goes_in_l - fits) / L_PER_KG
        out.append(NightAhead(night, over, removal, fits, left))
        over = left + gain_kg
    return tuple(out)


@formula(
    unit="L",
    places=2,
    rounding="up",
    source="arithmetic",
    text="(over + (nights - 1) x gain) / nights x 1 L/kg + what goes in on one night",
    excess_kg=EXCESS,
    gain_kg=GAIN,
    goes_in_l=GOES_IN,
    nights=NIGHTS,
)
def spread_volume(*, excess_kg: Decimal, gain_kg: Decimal, goes_in_l: Decimal, nights: Decimal) -> Decimal:
    """The volume that, taken off evenly on so many nights, meets the target on the last: the lowest such.  [L]

    Only where the unit's written rule gives the number of nights. Taking less on one night asks for more on another.

    excess_kg [kg] 0 to 30, over the target tonight; gain_kg [kg] 0 to 20, between two nights; goes_in_l [L] -4 to 10,
    what goes in less what is lost on one night; nights 1 to 7, whole. Where less is over tonight than is gained
    each time, tonight has no more than that to give. Raises DomainError outside, and for part of a night.
    Source: arithmetic (fluids 4.3).
    """
    if nights != nights.to_integral_value():
        raise DomainError("science.whole_nights", nights=plain(nights))
    even = (excess_kg + (nights - 1) * gain_kg) / nights
    return max(ZERO, min(excess_kg, max(even, gain_kg if nights > 1 else ZERO)) * L_PER_KG + goes_in_l)
