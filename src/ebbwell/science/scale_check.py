"""The scale against what the machine took off, over past nights: figures for a look at the scale, no verdict.

Weight before less weight after should be what was removed less what went in. A single night says little (a cup of tea,
a jumper); many nights show a scale that creeps, or one whose kilogram isn't a kilogram.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal, localcontext
from statistics import median

from ebbwell.science.formula import CONTEXT, inside, span
from ebbwell.science.nights_ahead import BAND, quantile

LEAST_NIGHTS = 10
"""Fewer make no figure. Source: design."""
NINE_IN_TEN = Decimal("1.645")
"""Normal deviate that leaves one in twenty on each side. Source: from memory (tables of the normal distribution)."""
DAYS_A_MONTH = Decimal(30)
"""Days over which a creep is told. Source: design."""

DAY = span("days", "0", "40000")
LITRES = span("L", "-15", "30")
KILOS = span("kg", "-30", "30")


@dataclass(frozen=True, slots=True)
class Slope:
    """The middle slope of all pairs, and the band that nine in ten such slopes would lie in."""

    middle: Decimal
    low: Decimal
    high: Decimal


@dataclass(frozen=True, slots=True)
class ScaleCheck:
    """nights: how many count. apart [kg]: scale less machine, middle and the two tenths; above 0 the scale fell by more.

    a_month [kg in 30 days]: how that creeps. a_litre [kg/L]: what the scale fell by for each litre net; None where the
    nights were all alike.
    """

    nights: int
    apart: Decimal
    apart_low: Decimal
    apart_high: Decimal
    a_month: Slope
    a_litre: Slope | None


def middle_slope(places: Sequence[Decimal], values: Sequence[Decimal]) -> Slope | None:
    """The median of the slopes of all pairs of points (Theil and Sen), with its band.

    places, values: one a point, as many; in any units. Pairs at one place are left out; None where fewer than three
    pairs remain. The band takes the slopes at the ranks that the normal form of Kendall's count gives.
    Raises ValueError where they aren't as many. Source: statistics:S68.
    """
    points = list(zip(places, values, strict=True))
    with localcontext(CONTEXT):
        slopes = sorted(
            (later[1] - first[1]) / (later[0] - first[0])
            for at, first in enumerate(points)
            for later in points[at + 1 :]
            if later[0] != first[0]
        )
        count, n = len(slopes), Decimal(len(points))
        if count < 3:
            return None
        half = NINE_IN_TEN * (n * (n - 1) * (2 * n + 5) / 18).sqrt()
        lower = max(0, round((count - half) / 2))
        upper = min(count - 1, round((count + half) / 2))
        middle = min(max(median(slopes), slopes[lower]), slopes[upper])
        return Slope(middle, slopes[lower], slopes[upper])


def scale_check(
    *, days: Sequence[Decimal], change_kg: Sequence[Decimal], net_l: Sequence[Decimal]
) -> ScaleCheck | None:
    """The scale beside the machine.

    days: of each night, counted from any day, 0 to 40,000; change_kg [kg] -30 to 30, weight before less weight after;
    net_l [L] -15 to 30, removed less what went in. As many of each, oldest first. None for fewer than 10 nights.
    Raises DomainError outside, ValueError where they aren't as many. Source: fluids 4.5, statistics:S68.
    """
    for name, values, allowed in (
        ("days", days, DAY),
        ("change_kg", change_kg, KILOS),
        ("net_l", net_l, LITRES),
    ):
        for value in values:
            inside(name, value, allowed)
    apart = [change - net for change, net in zip(change_kg, net_l, strict=True)]
    if len(apart) < LEAST_NIGHTS:
        return None
    creep = middle_slope(days, apart)
    if creep is None:
        return None
    low, middle, high = (quantile(apart, share) for share in BAND)
    month = Slope(*(part * DAYS_A_MONTH for part in (creep.middle, creep.low, creep.high)))
    return ScaleCheck(len(apart), middle, low, high, month, middle_slope(net_l, change_kg))
