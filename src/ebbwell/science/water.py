"""Water: what the membrane keeps back, how much a night takes, contact with carbon, hardness and softener."""

from __future__ import annotations

from decimal import Decimal

from ebbwell.core.errors import DomainError
from ebbwell.core.numbers import plain
from ebbwell.science.formula import formula, span
from ebbwell.science.ranges import DIALYSATE_FLOW, MINUTES, SHARE, ZERO

CACO3_MG_L_PER_GRAIN = Decimal("64.79891") / Decimal("3.785411784")
"""mg/L as CaCO3 in one grain per US gallon (17.118). Source: examples:E17.8."""

CONDUCTIVITY = span("uS/cm", "1", "50000")
WATER = span("L", "0", "5000")
FEED_FLOW = span("L/min", "0.01", "1000")
RECOVERY = span("%", "5", "95")
HARDNESS = span("mg/L CaCO3", "0", "2000")
GRAMS = span("g", "0.1", "50000")


@formula(
    unit="%",
    places=2,
    source="fluids:W15",
    text="100 x (1 - product conductivity / feed conductivity)",
    feed_conductivity_us_cm=CONDUCTIVITY,
    product_conductivity_us_cm=span("uS/cm", "0", "50000"),
)
def rejection(*, feed_conductivity_us_cm: Decimal, product_conductivity_us_cm: Decimal) -> Decimal:
    """Share of the salts that the membrane keeps back; always show both conductivities beside it.  [%]

    feed_conductivity_us_cm [uS/cm] 1 to 50,000; product_conductivity_us_cm [uS/cm] 0 to 50,000, at the same
    reference temperature. Raises DomainError outside, and where product is above feed (swapped).
    Source: fluids:W15.
    """
    if product_conductivity_us_cm > feed_conductivity_us_cm:
        raise DomainError(
            "science.product_above_feed",
            product=plain(product_conductivity_us_cm),
            feed=plain(feed_conductivity_us_cm),
        )
    return 100 * (1 - product_conductivity_us_cm / feed_conductivity_us_cm)


@formula(
    unit="%",
    places=1,
    source="fluids:W15",
    text="100 x product flow / (product flow + reject flow)",
    product_flow_l_min=FEED_FLOW,
    reject_flow_l_min=span("L/min", "0", "1000"),
)
def recovery(*, product_flow_l_min: Decimal, reject_flow_l_min: Decimal) -> Decimal:
    """Share of the feed that becomes product.  [%]

    product_flow_l_min [L/min] 0.01 to 1,000; reject_flow_l_min [L/min] 0 to 1,000. Raises DomainError
    outside.
    Source: fluids:W15.
    """
    return 100 * product_flow_l_min / (product_flow_l_min + reject_flow_l_min)


@formula(
    unit="",
    places=2,
    source="arithmetic",
    text="(1 - r x (1 - R)) / (1 - r), r = recovery / 100, R = rejection / 100",
    recovery_percent=RECOVERY,
    rejection_percent=SHARE,
)
def reject_concentration(*, recovery_percent: Decimal, rejection_percent: Decimal) -> Decimal:
    """How many times saltier the reject is than the feed.

    recovery_percent [%] 5 to 95; rejection_percent [%] 0 to 100. Raises DomainError outside.
    Source: arithmetic (fluids 1.5).
    """
    share = recovery_percent / 100
    return (1 - share * (1 - rejection_percent / 100)) / (1 - share)


@formula(
    unit="L",
    places=1,
    rounding="up",
    source="arithmetic",
    text="dialysate flow x minutes / 1000 + other use",
    dialysate_flow_ml_min=DIALYSATE_FLOW,
    treatment_min=MINUTES,
    other_use_l=span("L", "0", "200"),
)
def product_needed(
    *, dialysate_flow_ml_min: Decimal, treatment_min: Decimal, other_use_l: Decimal = ZERO
) -> Decimal:
    """Product water that a night takes.  [L]

    dialysate_flow_ml_min [mL/min] 0 to 1,000; treatment_min [min] 15 to 840; other_use_l [L] 0 to 200, for
    rinse, prime and disinfection. Raises DomainError outside. Shown rounded up. Source: arithmetic (fluids
    1.8).
    """
    return dialysate_flow_ml_min * treatment_min / 1000 + other_use_l


@formula(
    unit="L",
    places=0,
    rounding="up",
    source="fluids:W15",
    text="100 x product / recovery",
    product_l=WATER,
    recovery_percent=RECOVERY,
)
def feed_needed(*, product_l: Decimal, recovery_percent: Decimal) -> Decimal:
    """Feed water that goes in for an amount of product.  [L]

    product_l [L] 0 to 5,000; recovery_percent [%] 5 to 95. Raises DomainError outside. Shown rounded up.
    Source: fluids:W15, fluids 1.8.
    """
    return 100 * product_l / recovery_percent


@formula(
    unit="min",
    places=2,
    rounding="down",
    source="fluids:W12",
    text="carbon volume / feed flow",
    carbon_l=span("L", "0.1", "20000"),
    feed_flow_l_min=FEED_FLOW,
)
def contact_time(*, carbon_l: Decimal, feed_flow_l_min: Decimal) -> Decimal:
    """Empty-bed contact time of water with carbon; tanks in series add.  [min]

    carbon_l [L] 0.1 to 20,000, the carbon and not the shell; feed_flow_l_min [L/min] 0.01 to 1,000, what
    passes the carbon and not the product. Raises DomainError outside. Shown rounded down.
    Source: fluids:W12.
    """
    return carbon_l / feed_flow_l_min


@formula(
    unit="L",
    places=2,
    rounding="up",
    source="fluids:W12",
    text="contact time x feed flow",
    contact_time_min=span("min", "0.1", "600"),
    feed_flow_l_min=FEED_FLOW,
)
def carbon_needed(*, contact_time_min: Decimal, feed_flow_l_min: Decimal) -> Decimal:
    """Carbon that gives a contact time.  [L]

    contact_time_min [min] 0.1 to 600; feed_flow_l_min [L/min] 0.01 to 1,000. Raises DomainError outside.
    Shown rounded up. Source: fluids:W12.
    """
    return contact_time_min * feed_flow_l_min


@formula(
    unit="grain/gal",
    places=2,
    source="examples:E17.8",
    text="hardness / 17.118 mg/L",
    hardness_mg_l=HARDNESS,
)
def hardness_grains(*, hardness_mg_l: Decimal) -> Decimal:
    """Hardness in grains per US gallon.  [grain/gal]

    hardness_mg_l [mg/L CaCO3] 0 to 2,000. Raises DomainError outside. Source: examples:E17.8.
    """
    return hardness_mg_l / CACO3_MG_L_PER_GRAIN


@formula(
    unit="mg/L CaCO3",
    places=1,
    source="examples:E17.8",
    text="grains per US gallon x 17.118 mg/L",
    hardness_grain_gal=span("grain/gal", "0", "120"),
)
def hardness_caco3(*, hardness_grain_gal: Decimal) -> Decimal:
    """Hardness in mg/L as CaCO3.  [mg/L CaCO3]

    hardness_grain_gal [grain/gal] 0 to 120. Raises DomainError outside. Source: examples:E17.8.
    """
    return hardness_grain_gal * CACO3_MG_L_PER_GRAIN


@formula(
    unit="g",
    places=1,
    rounding="up",
    source="arithmetic",
    text="hardness x feed litres / 1000",
    hardness_mg_l=HARDNESS,
    feed_l=WATER,
)
def softener_load(*, hardness_mg_l: Decimal, feed_l: Decimal) -> Decimal:
    """Hardness that the softener takes up, as grams of CaCO3.  [g]

    hardness_mg_l [mg/L CaCO3] 0 to 2,000, before the softener; feed_l [L] 0 to 5,000, feed and not product.
    Raises DomainError outside. Shown rounded up. Source: arithmetic (fluids 1.6).
    """
    return hardness_mg_l * feed_l / 1000


@formula(
    unit="L",
    places=0,
    rounding="down",
    source="arithmetic",
    text="capacity x 1000 / hardness",
    capacity_g=GRAMS,
    hardness_mg_l=span("mg/L CaCO3", "1", "2000"),
)
def softener_litres(*, capacity_g: Decimal, hardness_mg_l: Decimal) -> Decimal:
    """Feed water that a softener can treat between two regenerations.  [L]

    capacity_g [g] 0.1 to 50,000, as CaCO3; hardness_mg_l [mg/L CaCO3] 1 to 2,000. Raises DomainError
    outside. Shown rounded down. Source: arithmetic (fluids 1.6).
    """
    return capacity_g * 1000 / hardness_mg_l


@formula(
    unit="nights",
    places=0,
    rounding="down",
    source="arithmetic",
    text="whole nights in capacity x share used / 100 / load of a night",
    capacity_g=GRAMS,
    load_g=GRAMS,
    share_used_percent=SHARE,
)
def softener_nights(*, capacity_g: Decimal, load_g: Decimal, share_used_percent: Decimal) -> Decimal:
    """Whole nights between two regenerations.

    capacity_g, load_g [g] 0.1 to 50,000, as CaCO3; share_used_percent [%] 0 to 100, how much of the
    capacity is counted on (75 to 90 is common practice). Raises DomainError outside. Source: arithmetic
    (fluids 1.6).
    """
    return (capacity_g * share_used_percent / 100 / load_g).to_integral_value(rounding="ROUND_FLOOR")
