"""The dose of a week, and which measure may be quoted for which schedule. For looking back only.

Minutes are minutes here, not hours. Removal is that of a whole WEEK. Whether the dose of a session or the evened out
one stands in the first denominator of the weekly dose could not be settled. They lie 0.6 % apart, and the dose of a
session is taken here.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from ebbwell.core.errors import DomainError
from ebbwell.core.numbers import plain
from ebbwell.science.formula import formula, inside
from ebbwell.science.ranges_solutes import (
    ALL_HOURS,
    ANY_HOURS,
    BODY_WATER,
    DOSE,
    EKR,
    GENERATION,
    REGRESSION_HOURS,
    RESIDUAL,
    SESSION_MINUTES,
    SESSIONS,
    STANDARD_DOSE,
    SURFACE,
    THRICE_HOURS,
    UREA,
    WEEKLY_REMOVED,
)

WEEK_MIN = Decimal(10080)
"""Minutes in a week. Source: arithmetic."""
REMOVAL_RAISES = Decimal("0.74")
"""Source: from memory (kinetics A2: Daugirdas 2010)."""
RESIDUAL_TERM = (Decimal("0.974"), Decimal("1.62"), Decimal("0.4"))
"""How own kidneys count. Some prints have 0.947 for the first. Source: from memory (kinetics A2: Daugirdas 2010)."""
SURFACE_ADULT = Decimal(20)
"""Litres of water for each square metre of a grown-up. Source: kinetics:A2 (PMC2692381)."""
SURFACE_CHILD = Decimal("17.5")
"""The same in children; never to be merged with that of grown-ups. Source: kinetics:A2 (PMC2863971)."""
STANDARD_WATER_L = Decimal(40)
"""Body water that EKRc is told for. Source: from memory (kinetics A2)."""
EKR_THRICE = (Decimal(1), Decimal(10))
"""EKRc thrice weekly: first and second times the dose. Source: kinetics:A2 (Casino and Lopez 1996)."""


@formula(
    unit="/week",
    places=2,
    review_only=True,
    source="kinetics:A2",
    text="(10080 x a / minutes) / (a / dose + 10080 / (sessions x minutes) - 1), a = 1 - e ^ (-evened out"
    " dose)",
    dose_factor=DOSE,
    equilibrated_factor=DOSE,
    sessions_per_week=SESSIONS,
    minutes_min=SESSION_MINUTES,
)
def standard_dose(
    *,
    dose_factor: Decimal,
    equilibrated_factor: Decimal,
    sessions_per_week: Decimal,
    minutes_min: Decimal,
) -> Decimal:
    """Standard dose of a week of equal sessions, volume steady.  [/week]

    dose_factor 0 to 5; equilibrated_factor 0 to 5; sessions_per_week [/week] 2 to 7; minutes_min [min] 60 to
    1,440. No dose makes 0. Raises DomainError outside, and where the evened out dose is above the other.
    Source: kinetics:A2 (Leypoldt 2004).
    """
    if equilibrated_factor > dose_factor:
        raise DomainError(
            "science.evened_out_above", dose=plain(dose_factor), even=plain(equilibrated_factor)
        )
    if equilibrated_factor == 0:
        return equilibrated_factor
    cleared = 1 - (-equilibrated_factor).exp()
    rest = WEEK_MIN / (sessions_per_week * minutes_min) - 1
    return WEEK_MIN * cleared / minutes_min / (cleared / dose_factor + rest)


@formula(
    unit="/week",
    places=2,
    review_only=True,
    source="from memory",
    text="S / (1 - 0.74 / sessions x removal of the WEEK / body water) + own kidneys x (0.974 / (dose +"
    " 1.62) + 0.4) x 10.08 / body water, S standard dose",
    standard_per_week=STANDARD_DOSE,
    dose_factor=DOSE,
    sessions_per_week=SESSIONS,
    week_removal_l=WEEKLY_REMOVED,
    own_kidneys_ml_min=RESIDUAL,
    body_water_l=BODY_WATER,
)
def standard_dose_with_fluid(
    *,
    standard_per_week: Decimal,
    dose_factor: Decimal,
    sessions_per_week: Decimal,
    week_removal_l: Decimal,
    own_kidneys_ml_min: Decimal,
    body_water_l: Decimal,
) -> Decimal:
    """Standard dose of a week with removal and own kidneys.  [/week]

    standard_per_week [/week] 0 to 15; dose_factor 0 to 5; sessions_per_week [/week] 2 to 7; week_removal_l [L]
    0 to 40; own_kidneys_ml_min [mL/min] 0 to 20; body_water_l [L] 2 to 100. Raises DomainError outside, and
    where the removal is far above what the water can hold.
    Source: from memory (kinetics A2: Daugirdas 2010).
    """
    left = 1 - REMOVAL_RAISES / sessions_per_week * week_removal_l / body_water_l
    if left <= 0:
        raise DomainError("science.removal_over_water", removal=plain(week_removal_l))
    share, more, fixed = RESIDUAL_TERM
    own = own_kidneys_ml_min * (share / (dose_factor + more) + fixed)
    return standard_per_week / left + own * WEEK_MIN / (1000 * body_water_l)


@formula(
    unit="/week",
    places=2,
    review_only=True,
    source="kinetics:A2",
    text="urea made x 10080 / (mean urea before x body water)",
    urea_made_mmol_min=GENERATION,
    mean_before_mmol_l=UREA,
    body_water_l=BODY_WATER,
)
def standard_dose_by_model(
    *,
    urea_made_mmol_min: Decimal,
    mean_before_mmol_l: Decimal,
    body_water_l: Decimal,
) -> Decimal:
    """Standard dose of a week from urea made and mean urea before.  [/week]

    urea_made_mmol_min [mmol/min] 0 to 2; mean_before_mmol_l [mmol/L] 0.5 to 80; body_water_l [L] 2 to 100.
    Raises DomainError outside.
    Source: kinetics:A2 (definition, Vartia thesis; body water after).
    """
    return urea_made_mmol_min * WEEK_MIN / (mean_before_mmol_l * body_water_l)


@formula(
    unit="/week",
    places=2,
    review_only=True,
    source="kinetics:A2",
    text="standard dose x body water / surface / 20",
    standard_per_week=STANDARD_DOSE,
    body_water_l=BODY_WATER,
    surface_m2=SURFACE,
)
def surface_dose_adult(
    *,
    standard_per_week: Decimal,
    body_water_l: Decimal,
    surface_m2: Decimal,
) -> Decimal:
    """Standard dose held against body surface, grown-ups.  [/week]

    standard_per_week [/week] 0 to 15; body_water_l [L] 2 to 100; surface_m2 [m2] 0.2 to 4. Raises DomainError
    outside.
    Source: kinetics:A2 (PMC2692381; water by Watson, surface by DuBois).
    """
    return standard_per_week * body_water_l / surface_m2 / SURFACE_ADULT


@formula(
    unit="/week",
    places=2,
    review_only=True,
    source="kinetics:A2",
    text="standard dose x body water / surface / 17.5",
    standard_per_week=STANDARD_DOSE,
    body_water_l=BODY_WATER,
    surface_m2=SURFACE,
)
def surface_dose_child(
    *,
    standard_per_week: Decimal,
    body_water_l: Decimal,
    surface_m2: Decimal,
) -> Decimal:
    """Standard dose held against body surface, children.  [/week]

    standard_per_week [/week] 0 to 15; body_water_l [L] 2 to 100; surface_m2 [m2] 0.2 to 4. Raises DomainError
    outside.
    Source: kinetics:A2 (PMC2863971; water by Morgenstern).
    """
    return standard_per_week * body_water_l / surface_m2 / SURFACE_CHILD


@formula(
    unit="L/m2",
    places=1,
    review_only=True,
    source="kinetics:A2",
    text="standard dose x body water / surface",
    standard_per_week=STANDARD_DOSE,
    body_water_l=BODY_WATER,
    surface_m2=SURFACE,
)
def cleared_per_surface(
    *,
    standard_per_week: Decimal,
    body_water_l: Decimal,
    surface_m2: Decimal,
) -> Decimal:
    """Litres cleared in a week for each square metre.  [L/m2]

    standard_per_week [/week] 0 to 15; body_water_l [L] 2 to 100; surface_m2 [m2] 0.2 to 4. Raises DomainError
    outside.
    Source: kinetics:A2 (PMC2692381).
    """
    return standard_per_week * body_water_l / surface_m2


@formula(
    unit="mL/min",
    places=1,
    review_only=True,
    source="kinetics:A2",
    text="1000 x urea made / mean urea over time",
    urea_made_mmol_min=GENERATION,
    mean_urea_mmol_l=UREA,
)
def renal_clearance_like(*, urea_made_mmol_min: Decimal, mean_urea_mmol_l: Decimal) -> Decimal:
    """Steady clearance that would hold the same mean urea (EKR).  [mL/min]

    urea_made_mmol_min [mmol/min] 0 to 2; mean_urea_mmol_l [mmol/L] 0.5 to 80. The mean is over a whole cycle.
    Raises DomainError outside.
    Source: kinetics:A2 (Casino and Lopez 1996).
    """
    return 1000 * urea_made_mmol_min / mean_urea_mmol_l


@formula(
    unit="mL/min",
    places=1,
    review_only=True,
    source="from memory",
    text="EKR x 40 / body water",
    ekr_ml_min=EKR,
    body_water_l=BODY_WATER,
)
def renal_clearance_like_40(*, ekr_ml_min: Decimal, body_water_l: Decimal) -> Decimal:
    """EKR for a body water of 40 L.  [mL/min]

    ekr_ml_min [mL/min] 0 to 200; body_water_l [L] 2 to 100. Raises DomainError outside.
    Source: from memory (kinetics A2; idea of Casino and Lopez 1996).
    """
    return ekr_ml_min * STANDARD_WATER_L / body_water_l


@formula(
    unit="/week",
    places=2,
    review_only=True,
    source="kinetics:A2",
    text="EKR x 10.08 / body water",
    ekr_ml_min=EKR,
    body_water_l=BODY_WATER,
)
def renal_clearance_like_week(*, ekr_ml_min: Decimal, body_water_l: Decimal) -> Decimal:
    """EKR as times the body water in a week.  [/week]

    ekr_ml_min [mL/min] 0 to 200; body_water_l [L] 2 to 100. Raises DomainError outside.
    Source: kinetics:A2 (worked out).
    """
    return ekr_ml_min * WEEK_MIN / (1000 * body_water_l)


@formula(
    unit="mL/min",
    places=1,
    review_only=True,
    source="kinetics:A2",
    text="1 + 10 x evened out dose + own kidneys",
    equilibrated_factor=DOSE,
    own_kidneys_ml_min=RESIDUAL,
)
def renal_clearance_like_thrice(*, equilibrated_factor: Decimal, own_kidneys_ml_min: Decimal) -> Decimal:
    """EKRc from the dose, thrice weekly alone.  [mL/min]

    equilibrated_factor 0 to 5; own_kidneys_ml_min [mL/min] 0 to 20. Far too low for other schedules. Raises
    DomainError outside.
    Source: kinetics:A2 (Casino and Lopez 1996).
    """
    fixed, per_dose = EKR_THRICE
    return fixed + per_dose * equilibrated_factor + own_kidneys_ml_min


@dataclass(frozen=True, slots=True)
class Measure:
    """name: a public formula. why_not: empty where it may be quoted, else a wording key that says why not."""

    name: str
    why_not: str = ""


def measures_for(sessions_per_week: int | Decimal, hours: Decimal) -> tuple[Measure, ...]:
    """Which measures may be quoted for a schedule of equal sessions, and why the others may not.

    sessions_per_week: 2 to 7, such as 3.5 for every other night. hours [h] 0.5 to 24 of a session. Raises DomainError
    outside. A figure made for three sessions a week must not be quoted for other schedules, nor one made for 2 to 6 h
    for a long night.
    Source: kinetics:A1, kinetics:A2, kinetics:A3 (ranges).
    """
    inside("sessions_per_week", Decimal(sessions_per_week), SESSIONS)
    inside("hours", hours, ALL_HOURS)
    thrice = "" if sessions_per_week == 3 else "science.why_thrice"
    twice = "" if sessions_per_week == 2 else "science.why_twice"
    short = "" if THRICE_HOURS.low <= hours <= THRICE_HOURS.high else "science.why_hours"
    trial = "" if REGRESSION_HOURS.low <= hours <= REGRESSION_HOURS.high else "science.why_hours"
    reduction = "science.why_reduction" if hours >= REGRESSION_HOURS.high else ""
    any_hours = "" if ANY_HOURS.low <= hours <= ANY_HOURS.high else "science.why_hours"
    return (
        Measure("urea_reduction", thrice or reduction),
        Measure("single_pool_dose", thrice or short),
        Measure("single_pool_dose_by_water", thrice or short),
        Measure("single_pool_dose_any", any_hours),
        Measure("equilibrated_dose_fistula", short),
        Measure("equilibrated_dose_catheter", short),
        Measure("equilibrated_dose_regression", trial),
        Measure("equilibrated_dose_time"),
        Measure("standard_dose"),
        Measure("standard_dose_with_fluid"),
        Measure("renal_clearance_like"),
        Measure("renal_clearance_like_thrice", thrice),
        Measure("protein_rate_thrice_first", thrice),
        Measure("protein_rate_thrice_middle", thrice),
        Measure("protein_rate_thrice_last", thrice),
        Measure("protein_rate_twice_first", twice),
        Measure("protein_rate_twice_second", twice),
        Measure("protein_rate_any"),
    )
