"""Water as supply: what a night drains and costs, flow by temperature, and how long carbon lasts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal, localcontext

from ebbwell.core.quantity import Quantity
from ebbwell.science.formula import CONTEXT, formula, inside, span
from ebbwell.science.ranges import REMOVAL, ZERO
from ebbwell.science.water import FEED_FLOW, RECOVERY, WATER

KELVIN_AT_0_C = Decimal("273.15")
"""Kelvin at 0 C, by definition. Source: arithmetic."""
FLOW_REFERENCE_C = Decimal(25)
"""Temperature to which membrane flow is brought. Source: fluids:1.5."""
MEMBRANE_LEAST_K = Decimal(2700)
MEMBRANE_MOST_K = Decimal(3000)
"""How strongly membrane flow follows temperature, least and most met with. Source: from memory (fluids 1.5)."""
LITRES_PER_M3 = Decimal(1000)
"""Litres in a cubic metre, by definition. Source: arithmetic."""

COLD = span("C", "1", "45")
CAPACITY = span("mg", "1", "10000000")
CHLORINE = span("mg/L", "0.01", "20")
FEED_CHLORINE = span("mg/L", "0", "20")
NIGHT_FEED = span("L", "1", "5000")
NIGHTS = span("nights", "0", "100000")
MOST_NIGHTS = 1000
"""Nights counted at the most; further ahead no trend reaches."""


@formula(
    unit="L",
    places=0,
    rounding="up",
    source="fluids:W15",
    text="100 x product / recovery - product",
    product_l=WATER,
    recovery_percent=RECOVERY,
)
def reject_water(*, product_l: Decimal, recovery_percent: Decimal) -> Decimal:
    """Water that the membrane sends to the drain for an amount of product.  [L]

    product_l [L] 0 to 5,000; recovery_percent [%] 5 to 95. Raises DomainError outside. Shown rounded up.
    Source: fluids:W15, fluids 1.8.
    """
    return 100 * product_l / recovery_percent - product_l


@formula(
    unit="L",
    places=0,
    rounding="up",
    source="arithmetic",
    text="feed + fluid removed",
    feed_l=WATER,
    removal_l=REMOVAL,
)
def drain_water(*, feed_l: Decimal, removal_l: Decimal) -> Decimal:
    """All that runs to the drain: reject, spent dialysis fluid and the fluid removed.  [L]

    feed_l [L] 0 to 5,000; removal_l [L] 0 to 30. Raises DomainError outside. Shown rounded up.
    Source: arithmetic (fluids 1.8).
    """
    return feed_l + removal_l


@formula(
    unit="",
    places=2,
    source="arithmetic",
    text="feed / 1000 x price of a cubic metre",
    feed_l=WATER,
    price_per_m3=span("", "0", "100000"),
)
def water_cost(*, feed_l: Decimal, price_per_m3: Decimal) -> Decimal:
    """What the water of a night costs, in the money of the price.

    feed_l [L] 0 to 5,000; price_per_m3, for 1,000 L in and out together, 0 to 100,000. Raises DomainError
    outside. Source: arithmetic (fluids 1.8).
    """
    return feed_l / LITRES_PER_M3 * price_per_m3


def _to_reference(flow: Decimal, temperature_c: Decimal, strength_k: Decimal) -> Decimal:
    there, here = KELVIN_AT_0_C + FLOW_REFERENCE_C, KELVIN_AT_0_C + temperature_c
    return flow * (strength_k * (1 / here - 1 / there)).exp()


@formula(
    unit="L/min",
    places=3,
    source="from memory",
    text="the smaller of flow x e ^ (b x (1 / (273.15 + temperature) - 1 / 298.15)), b = 2700 and 3000",
    product_flow_l_min=FEED_FLOW,
    water_temperature_c=COLD,
)
def flow_at_25_least(*, product_flow_l_min: Decimal, water_temperature_c: Decimal) -> Decimal:
    """Membrane flow brought to 25 C, low end of the band; compare only such flows night by night.  [L/min]

    product_flow_l_min [L/min] 0.01 to 1,000; water_temperature_c [C] 1 to 45. Raises DomainError outside.
    Source: from memory (fluids 1.5).
    """
    return min(
        _to_reference(product_flow_l_min, water_temperature_c, k) for k in (MEMBRANE_LEAST_K, MEMBRANE_MOST_K)
    )


@formula(
    unit="L/min",
    places=3,
    source="from memory",
    text="the larger of flow x e ^ (b x (1 / (273.15 + temperature) - 1 / 298.15)), b = 2700 and 3000",
    product_flow_l_min=FEED_FLOW,
    water_temperature_c=COLD,
)
def flow_at_25_most(*, product_flow_l_min: Decimal, water_temperature_c: Decimal) -> Decimal:
    """Membrane flow brought to 25 C, high end of the band; compare only such flows night by night.  [L/min]

    product_flow_l_min [L/min] 0.01 to 1,000; water_temperature_c [C] 1 to 45. Raises DomainError outside.
    Source: from memory (fluids 1.5).
    """
    return max(
        _to_reference(product_flow_l_min, water_temperature_c, k) for k in (MEMBRANE_LEAST_K, MEMBRANE_MOST_K)
    )


@formula(
    unit="mg",
    places=0,
    rounding="up",
    source="arithmetic",
    text="feed litres x chlorine in the feed",
    feed_l=span("L", "0", "2000000"),
    feed_chlorine_mg_l=FEED_CHLORINE,
)
def carbon_load(*, feed_l: Decimal, feed_chlorine_mg_l: Decimal) -> Decimal:
    """Chlorine that a carbon bed has taken up.  [mg]

    feed_l [L] 0 to 2,000,000, all water that passed; feed_chlorine_mg_l [mg/L] 0 to 20, total chlorine before
    the carbon. Raises DomainError outside. Shown rounded up. Source: arithmetic (fluids 1.4).
    """
    return feed_l * feed_chlorine_mg_l


@formula(
    unit="L",
    places=0,
    rounding="down",
    source="arithmetic",
    text="(rated - taken up, not under 0) / chlorine in the feed",
    rated_mg=CAPACITY,
    taken_up_mg=span("mg", "0", "40000000"),
    feed_chlorine_mg_l=CHLORINE,
)
def carbon_litres_left(*, rated_mg: Decimal, taken_up_mg: Decimal, feed_chlorine_mg_l: Decimal) -> Decimal:
    """Feed water left in a carbon bed by its rated mg; its date counts as well.  [L]

    rated_mg [mg] 1 to 10,000,000, on the cartridge's sheet; taken_up_mg [mg] 0 to 40,000,000;
    feed_chlorine_mg_l [mg/L] 0.01 to 20. Raises DomainError outside. Shown rounded down. No figure here
    replaces the test after the tank. Source: arithmetic (fluids 1.4).
    """
    return max(rated_mg - taken_up_mg, ZERO) / feed_chlorine_mg_l


@dataclass(frozen=True, slots=True)
class CarbonNight:
    """A past night: feed_l [L] through the bed, chlorine [mg/L] in the feed; ``below`` keeps its "<"."""

    feed_l: Decimal
    chlorine: Quantity


@dataclass(frozen=True, slots=True)
class CarbonLife:
    """Whole nights left, fewest to most. taken_up_mg [mg]: the most that may have been taken up so far.

    by_date: it is the date on the cartridge (or the last night counted), not its capacity, that ends it.
    """

    taken_up_mg: Decimal
    fewest: int
    most: int
    by_date: bool


def carbon_life(
    nights: Sequence[CarbonNight],
    *,
    rated_mg: Decimal,
    feed_l_a_night: Decimal,
    nights_to_date: int,
) -> CarbonLife:
    """How many nights a bed has left, as a band over what the feed has held and where it is going.

    nights: since the bed was new, oldest first, at least one. rated_mg [mg] 1 to 10,000,000;
    feed_l_a_night [L] 1 to 5,000; nights_to_date: whole nights to the date on the cartridge, 0 where it is past.
    Fewest: "<" counts as the whole figure, and each night ahead holds the highest figure so far or where an even
    rise leads, whichever is more. Most: "<" counts as nothing, and each night ahead holds the lowest figure.
    Raises DomainError outside and without nights. Source: arithmetic (fluids 1.4).
    """
    inside("rated_mg", rated_mg, CAPACITY)
    inside("feed_l", feed_l_a_night, NIGHT_FEED)
    inside("nights", Decimal(nights_to_date), NIGHTS)
    inside("nights", Decimal(len(nights)), span("nights", "1", "100000"))
    for night in nights:
        inside("feed_l", night.feed_l, WATER)
        inside("feed_chlorine_mg_l", night.chlorine.value, FEED_CHLORINE)
    end = min(nights_to_date, MOST_NIGHTS)
    with localcontext(CONTEXT):
        high = [night.chlorine.value for night in nights]
        low = [ZERO if night.chlorine.below else night.chlorine.value for night in nights]
        most_taken = sum((n.feed_l * c for n, c in zip(nights, high, strict=True)), ZERO)
        least_taken = sum((n.feed_l * c for n, c in zip(nights, low, strict=True)), ZERO)
        rise = max(_slope(high), ZERO)
        mean, middle = sum(high, ZERO) / len(high), Decimal(len(high) - 1) / 2
        left, fewest = rated_mg - most_taken, 0
        while fewest < end:
            ahead = mean + rise * (len(high) + fewest - middle)
            left -= feed_l_a_night * max(max(high), ahead)
            if left < 0:
                break
            fewest += 1
        room, most = max(rated_mg - least_taken, ZERO), end
        if min(low) > 0:
            most = min(end, int(room / (feed_l_a_night * min(low))))
    return CarbonLife(most_taken, fewest, most, by_date=fewest == end)


def _slope(values: Sequence[Decimal]) -> Decimal:
    """Least-squares rise for each step; 0 for fewer than 3 values."""
    if len(values) < 3:
        return ZERO
    middle, mean = Decimal(len(values) - 1) / 2, sum(values, ZERO) / len(values)
    over = sum(((at - middle) * (value - mean) for at, value in enumerate(values)), ZERO)
    return over / sum(((at - middle) ** 2 for at in range(len(values))), ZERO)
