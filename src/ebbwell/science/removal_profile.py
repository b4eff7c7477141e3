"""Removal that isn't even over the night, where the order asks for it: a part without dialysis fluid, or shares by time.

These sums say how fast the fastest part is; none of them proposes a volume, a time or a share.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from ebbwell.core.errors import DomainError
from ebbwell.core.numbers import plain
from ebbwell.science.formula import formula, inside, span
from ebbwell.science.ranges import HOURS, REMOVAL, WEIGHT

WHOLE = Decimal(100)
"""Per cent that the shares of a profile add up to. Source: arithmetic."""

ISOLATED = span("min", "5", "840")
PARTS_OF_TIME = span("parts", "2", "12")
TOP_SHARE = span("%", "0", "100")
RATE = span("mL/h", "0", "10000")


@dataclass(frozen=True, slots=True)
class Leg:
    """A stretch of the night at one rate: what it takes off [L], and how long it is [h]."""

    litres: Decimal
    hours: Decimal


@formula(
    unit="mL/h",
    places=1,
    source="arithmetic",
    text="isolated volume x 1000 x 60 / isolated minutes",
    isolated_l=REMOVAL,
    isolated_min=ISOLATED,
)
def isolated_rate(*, isolated_l: Decimal, isolated_min: Decimal) -> Decimal:
    """Rate of the part that is removed without dialysis fluid, as ordered.  [mL/h]

    isolated_l [L] 0 to 30; isolated_min [min] 5 to 840, within the hours of treatment. Raises DomainError outside.
    Source: arithmetic.
    """
    return isolated_l * 1000 * 60 / isolated_min


@formula(
    unit="mL/h",
    places=1,
    source="arithmetic",
    text="(volume - isolated volume) x 1000 / (hours - isolated minutes / 60)",
    volume_l=REMOVAL,
    isolated_l=REMOVAL,
    hours_h=HOURS,
    isolated_min=ISOLATED,
)
def rate_beside_isolated(
    *, volume_l: Decimal, isolated_l: Decimal, hours_h: Decimal, isolated_min: Decimal
) -> Decimal:
    """Even rate of the rest of the volume in the rest of the hours.  [mL/h]

    volume_l [L] 0 to 30, all of it; isolated_l [L] 0 to 30; hours_h [h] 0.25 to 14, all of them; isolated_min [min]
    5 to 840. Raises DomainError outside, where less is to remove than the isolated part takes, and where the isolated
    part leaves no time. Source: arithmetic.
    """
    if isolated_l > volume_l:
        raise DomainError("science.isolated_over", isolated=plain(isolated_l), volume=plain(volume_l))
    left = hours_h - isolated_min / 60
    if left <= 0:
        raise DomainError("science.isolated_too_long", minutes=plain(isolated_min))
    return (volume_l - isolated_l) * 1000 / left


@formula(
    unit="mL/h",
    places=1,
    source="arithmetic",
    text="volume x 1000 x largest share / 100 / (hours / parts)",
    volume_l=REMOVAL,
    hours_h=HOURS,
    top_share_percent=TOP_SHARE,
    time_parts=PARTS_OF_TIME,
)
def profile_top_rate(
    *, volume_l: Decimal, hours_h: Decimal, top_share_percent: Decimal, time_parts: Decimal
) -> Decimal:
    """Rate in the part of the night that the largest share falls on.  [mL/h]

    volume_l [L] 0 to 30; hours_h [h] 0.25 to 14; top_share_percent [%] 0 to 100, of the volume; time_parts 2 to 12,
    equal parts of the hours. Raises DomainError outside. Source: arithmetic.
    """
    return volume_l * 1000 * top_share_percent / WHOLE / (hours_h / time_parts)


@formula(
    unit="mL/kg/h",
    places=2,
    source="fluids:U3",
    text="highest rate / weight",
    top_rate_ml_h=RATE,
    weight_kg=WEIGHT,
)
def highest_rate_per_kg(*, top_rate_ml_h: Decimal, weight_kg: Decimal) -> Decimal:
    """The highest rate of the night for each kilogram, to be held against the cap.  [mL/kg/h]

    top_rate_ml_h [mL/h] 0 to 10,000; weight_kg [kg] 20 to 300, the target weight. Raises DomainError outside.
    Source: fluids:U3 for the form.
    """
    return top_rate_ml_h / weight_kg


def profile_legs(volume_l: Decimal, hours_h: Decimal, shares: Sequence[Decimal]) -> tuple[Leg, ...]:
    """The equal parts of the hours with their shares of the volume.

    volume_l [L] 0 to 30; hours_h [h] 0.25 to 14; shares [%] of the volume, 2 to 12 of them, 0 to 100, in all 100.
    Raises DomainError otherwise. Source: arithmetic.
    """
    inside("volume_l", volume_l, REMOVAL)
    inside("hours_h", hours_h, HOURS)
    inside("time_parts", Decimal(len(shares)), PARTS_OF_TIME)
    for share in shares:
        inside("top_share_percent", share, TOP_SHARE)
    if sum(shares) != WHOLE:
        raise DomainError("science.shares_sum", sum=plain(sum(shares, Decimal(0))))
    return tuple(Leg(volume_l * share / WHOLE, hours_h / len(shares)) for share in shares)


def isolated_legs(
    volume_l: Decimal, hours_h: Decimal, *, isolated_l: Decimal, isolated_min: Decimal
) -> tuple[Leg, ...]:
    """The isolated part, which comes first, and the rest of the hours with the rest of the volume.

    Ranges and errors as in ``rate_beside_isolated``. Source: arithmetic.
    """
    rest = rate_beside_isolated(
        volume_l=volume_l, isolated_l=isolated_l, hours_h=hours_h, isolated_min=isolated_min
    )
    first = isolated_min / 60
    return Leg(isolated_l, first), Leg(rest * (hours_h - first) / 1000, hours_h - first)


def removed_after(legs: Sequence[Leg], done_h: Decimal) -> Decimal:
    """What such legs have taken off after so many hours of removal.  [L]

    done_h [h] 0 to 840; past the last leg it is the whole. Raises DomainError outside. Source: arithmetic.
    """
    inside("done_h", done_h, span("h", "0", "840"))
    removed, left = Decimal(0), done_h
    for leg in legs:
        if left >= leg.hours:
            removed += leg.litres
        else:
            return removed + leg.litres * left / leg.hours
        left -= leg.hours
    return removed
