"""How much protein the body turns to urea in a day, and what own kidneys clear. For looking back only.

Urea nitrogen goes in as mg/dL of plasma before the session, the dose as the evened out one. Only in a person whose weeks
are alike does the rate tell what was eaten. For 4 nights a week and more no such form is in print; there the urea made
comes from a fit.
"""

from __future__ import annotations

from decimal import Decimal

from ebbwell.core.errors import DomainError
from ebbwell.core.numbers import plain
from ebbwell.science.formula import formula
from ebbwell.science.ranges_solutes import (
    BODY_WATER,
    COLLECTED,
    GAP,
    GENERATION_NITROGEN,
    LAST_DAY,
    NPCR_DOSE,
    RESIDUAL,
    RISE,
    UREA,
    UREA_NITROGEN,
    URINE,
    URINE_UREA,
)

THRICE_FIRST = (Decimal("36.3"), Decimal("5.48"), Decimal("53.5"))
THRICE_MIDDLE = (Decimal("25.8"), Decimal("1.15"), Decimal("56.4"))
THRICE_LAST = (Decimal("16.3"), Decimal("4.30"), Decimal("56.6"))
TWICE_FIRST = (Decimal("48.0"), Decimal("5.14"), Decimal("79.0"))
TWICE_SECOND = (Decimal("33.0"), Decimal("3.60"), Decimal("83.2"))
"""Fixed, times the dose, over the dose. Source: from memory (kinetics A3: Depner and Daugirdas 1996)."""
LOST_OTHERWISE = Decimal("0.168")
"""Protein lost but as urea, g/kg/day. Source: from memory (kinetics A3)."""
OWN_THRICE = (Decimal("0.79"), Decimal("3.08"))
OWN_TWICE = (Decimal("1.15"), Decimal("4.56"))
"""Fixed and over the dose: what own kidneys hid. Source: from memory (kinetics A3)."""
ANY = (Decimal("5.42"), Decimal("0.17"))
"""For each mg/min of nitrogen in a litre of water, and fixed. Source: from memory (kinetics A3)."""
TOTAL = (Decimal("9.35"), Decimal("0.294"))
"""Grams a day for each mg/min of nitrogen and each litre of water. Source: from memory (kinetics A3)."""
BETWEEN = (Decimal("0.22"), Decimal("0.036"))
"""Fixed, and for each mg/dL of rise in a day. Source: examples:E1.1."""
DAY_MEAN = Decimal("0.9")
"""Mean urea of the last day before a session over that before it. Source: from memory (kinetics A7)."""
FORMS = {
    (2, 1): "protein_rate_twice_first",
    (2, 2): "protein_rate_twice_second",
    (3, 1): "protein_rate_thrice_first",
    (3, 2): "protein_rate_thrice_middle",
    (3, 3): "protein_rate_thrice_last",
}
"""Sessions a week and place of the session in its week, to the formula."""


def protein_form(sessions_per_week: int, place: int) -> str:
    """Name of the formula for a session at its place in the week, counted from 1.

    Raises DomainError for any other schedule: none is in print for 4 nights and more. Source: from memory (kinetics A3).
    """
    form = FORMS.get((sessions_per_week, place))
    if form is None:
        raise DomainError("science.no_protein_form", sessions=sessions_per_week)
    return form


def _rate(rule: tuple[Decimal, Decimal, Decimal], nitrogen: Decimal, dose: Decimal) -> Decimal:
    fixed, times, over = rule
    return nitrogen / (fixed + times * dose + over / dose) + LOST_OTHERWISE


def _with_own(rule: tuple[Decimal, Decimal], nitrogen: Decimal, dose: Decimal, share: Decimal) -> Decimal:
    fixed, over = rule
    return nitrogen * (1 + (fixed + over / dose) * share)


@formula(
    unit="g/kg/day",
    places=2,
    review_only=True,
    source="from memory",
    text="urea nitrogen / (36.3 + 5.48 x dose + 53.5 / dose) + 0.168",
    urea_nitrogen_mg_dl=UREA_NITROGEN,
    equilibrated_factor=NPCR_DOSE,
)
def protein_rate_thrice_first(*, urea_nitrogen_mg_dl: Decimal, equilibrated_factor: Decimal) -> Decimal:
    """Protein rate before the first of 3 sessions a week.  [g/kg/day]

    urea_nitrogen_mg_dl [mg/dL] 5 to 250; equilibrated_factor 0.3 to 3. Raises DomainError outside.
    Source: from memory (kinetics A3: Depner and Daugirdas 1996).
    """
    return _rate(THRICE_FIRST, urea_nitrogen_mg_dl, equilibrated_factor)


@formula(
    unit="g/kg/day",
    places=2,
    review_only=True,
    source="from memory",
    text="urea nitrogen / (25.8 + 1.15 x dose + 56.4 / dose) + 0.168",
    urea_nitrogen_mg_dl=UREA_NITROGEN,
    equilibrated_factor=NPCR_DOSE,
)
def protein_rate_thrice_middle(*, urea_nitrogen_mg_dl: Decimal, equilibrated_factor: Decimal) -> Decimal:
    """Protein rate before the second of 3 sessions a week.  [g/kg/day]

    urea_nitrogen_mg_dl [mg/dL] 5 to 250; equilibrated_factor 0.3 to 3. Raises DomainError outside.
    Source: from memory (kinetics A3: Depner and Daugirdas 1996).
    """
    return _rate(THRICE_MIDDLE, urea_nitrogen_mg_dl, equilibrated_factor)


@formula(
    unit="g/kg/day",
    places=2,
    review_only=True,
    source="from memory",
    text="urea nitrogen / (16.3 + 4.30 x dose + 56.6 / dose) + 0.168",
    urea_nitrogen_mg_dl=UREA_NITROGEN,
    equilibrated_factor=NPCR_DOSE,
)
def protein_rate_thrice_last(*, urea_nitrogen_mg_dl: Decimal, equilibrated_factor: Decimal) -> Decimal:
    """Protein rate before the last of 3 sessions a week.  [g/kg/day]

    urea_nitrogen_mg_dl [mg/dL] 5 to 250; equilibrated_factor 0.3 to 3. Raises DomainError outside.
    Source: from memory (kinetics A3: Depner and Daugirdas 1996).
    """
    return _rate(THRICE_LAST, urea_nitrogen_mg_dl, equilibrated_factor)


@formula(
    unit="g/kg/day",
    places=2,
    review_only=True,
    source="from memory",
    text="urea nitrogen / (48.0 + 5.14 x dose + 79.0 / dose) + 0.168",
    urea_nitrogen_mg_dl=UREA_NITROGEN,
    equilibrated_factor=NPCR_DOSE,
)
def protein_rate_twice_first(*, urea_nitrogen_mg_dl: Decimal, equilibrated_factor: Decimal) -> Decimal:
    """Protein rate before the first of 2 sessions a week.  [g/kg/day]

    urea_nitrogen_mg_dl [mg/dL] 5 to 250; equilibrated_factor 0.3 to 3. Raises DomainError outside.
    Source: from memory (kinetics A3: Depner and Daugirdas 1996).
    """
    return _rate(TWICE_FIRST, urea_nitrogen_mg_dl, equilibrated_factor)


@formula(
    unit="g/kg/day",
    places=2,
    review_only=True,
    source="from memory",
    text="urea nitrogen / (33.0 + 3.60 x dose + 83.2 / dose) + 0.168",
    urea_nitrogen_mg_dl=UREA_NITROGEN,
    equilibrated_factor=NPCR_DOSE,
)
def protein_rate_twice_second(*, urea_nitrogen_mg_dl: Decimal, equilibrated_factor: Decimal) -> Decimal:
    """Protein rate before the second of 2 sessions a week.  [g/kg/day]

    urea_nitrogen_mg_dl [mg/dL] 5 to 250; equilibrated_factor 0.3 to 3. Raises DomainError outside.
    Source: from memory (kinetics A3: Depner and Daugirdas 1996).
    """
    return _rate(TWICE_SECOND, urea_nitrogen_mg_dl, equilibrated_factor)


@formula(
    unit="mg/dL",
    places=0,
    review_only=True,
    source="from memory",
    text="urea nitrogen x (1 + (0.79 + 3.08 / dose) x own kidneys / body water)",
    urea_nitrogen_mg_dl=UREA_NITROGEN,
    equilibrated_factor=NPCR_DOSE,
    own_kidneys_ml_min=RESIDUAL,
    body_water_l=BODY_WATER,
)
def urea_nitrogen_with_own_thrice(
    *,
    urea_nitrogen_mg_dl: Decimal,
    equilibrated_factor: Decimal,
    own_kidneys_ml_min: Decimal,
    body_water_l: Decimal,
) -> Decimal:
    """Urea nitrogen as it would be without own kidneys, thrice weekly.  [mg/dL]

    urea_nitrogen_mg_dl [mg/dL] 5 to 250; equilibrated_factor 0.3 to 3; own_kidneys_ml_min [mL/min] 0 to 20;
    body_water_l [L] 2 to 100. Raises DomainError outside.
    Source: from memory (kinetics A3).
    """
    share = own_kidneys_ml_min / body_water_l
    return _with_own(OWN_THRICE, urea_nitrogen_mg_dl, equilibrated_factor, share)


@formula(
    unit="mg/dL",
    places=0,
    review_only=True,
    source="from memory",
    text="urea nitrogen x (1 + (1.15 + 4.56 / dose) x own kidneys / body water)",
    urea_nitrogen_mg_dl=UREA_NITROGEN,
    equilibrated_factor=NPCR_DOSE,
    own_kidneys_ml_min=RESIDUAL,
    body_water_l=BODY_WATER,
)
def urea_nitrogen_with_own_twice(
    *,
    urea_nitrogen_mg_dl: Decimal,
    equilibrated_factor: Decimal,
    own_kidneys_ml_min: Decimal,
    body_water_l: Decimal,
) -> Decimal:
    """Urea nitrogen as it would be without own kidneys, twice weekly.  [mg/dL]

    urea_nitrogen_mg_dl [mg/dL] 5 to 250; equilibrated_factor 0.3 to 3; own_kidneys_ml_min [mL/min] 0 to 20;
    body_water_l [L] 2 to 100. Raises DomainError outside.
    Source: from memory (kinetics A3).
    """
    share = own_kidneys_ml_min / body_water_l
    return _with_own(OWN_TWICE, urea_nitrogen_mg_dl, equilibrated_factor, share)


@formula(
    unit="g/kg/day",
    places=2,
    review_only=True,
    source="from memory",
    text="5.42 x nitrogen made / body water + 0.17",
    nitrogen_made_mg_min=GENERATION_NITROGEN,
    body_water_l=BODY_WATER,
)
def protein_rate_any(*, nitrogen_made_mg_min: Decimal, body_water_l: Decimal) -> Decimal:
    """Protein rate on any schedule, from the nitrogen made.  [g/kg/day]

    nitrogen_made_mg_min [mg/min] 0 to 30; body_water_l [L] 2 to 100. Raises DomainError outside.
    Source: from memory (kinetics A3).
    """
    per, fixed = ANY
    return per * nitrogen_made_mg_min / body_water_l + fixed


@formula(
    unit="g/day",
    places=0,
    review_only=True,
    source="from memory",
    text="9.35 x nitrogen made + 0.294 x body water",
    nitrogen_made_mg_min=GENERATION_NITROGEN,
    body_water_l=BODY_WATER,
)
def protein_total(*, nitrogen_made_mg_min: Decimal, body_water_l: Decimal) -> Decimal:
    """Protein turned over in a day.  [g/day]

    nitrogen_made_mg_min [mg/min] 0 to 30; body_water_l [L] 2 to 100. Raises DomainError outside.
    Source: from memory (kinetics A3).
    """
    per, litre = TOTAL
    return per * nitrogen_made_mg_min + litre * body_water_l


@formula(
    unit="g/kg/day",
    places=2,
    review_only=True,
    source="examples:E1.1",
    text="0.22 + 0.036 x rise x 24 / hours between",
    rise_mg_dl=RISE,
    gap_h=GAP,
)
def protein_rate_between(*, rise_mg_dl: Decimal, gap_h: Decimal) -> Decimal:
    """Protein rate from the rise between two sessions, no urine.  [g/kg/day]

    rise_mg_dl [mg/dL] 0 to 200; gap_h [h] 12 to 96. Raises DomainError outside.
    Source: examples:E1.1.
    """
    fixed, per = BETWEEN
    return fixed + per * rise_mg_dl * 24 / gap_h


@formula(
    unit="mL/min",
    places=1,
    review_only=True,
    source="kinetics:A7",
    text="urine urea x urine / (minutes x (urea after + urea before the next) / 2)",
    urine_urea_mmol_l=URINE_UREA,
    urine_ml=URINE,
    collected_min=COLLECTED,
    urea_after_mmol_l=UREA,
    urea_before_mmol_l=UREA,
)
def own_kidneys(
    *,
    urine_urea_mmol_l: Decimal,
    urine_ml: Decimal,
    collected_min: Decimal,
    urea_after_mmol_l: Decimal,
    urea_before_mmol_l: Decimal,
) -> Decimal:
    """What own kidneys clear, from all urine between two sessions.  [mL/min]

    urine_urea_mmol_l [mmol/L] 0 to 1,000; urine_ml [mL] 0 to 10,000; collected_min [min] 240 to 5,760;
    urea_after_mmol_l [mmol/L] 0.5 to 80; urea_before_mmol_l [mmol/L] 0.5 to 80. The plain mean, since urea
    rises nearly straight; it still reads some 4 to 11 % high. Urea after is best drawn 30 min after the end.
    Raises DomainError outside, and where urea fell between the sessions.
    Source: kinetics:A7.
    """
    if urea_after_mmol_l > urea_before_mmol_l:
        raise DomainError(
            "science.fell_between", before=plain(urea_before_mmol_l), after=plain(urea_after_mmol_l)
        )
    mean = (urea_after_mmol_l + urea_before_mmol_l) / 2
    return urine_urea_mmol_l * urine_ml / (collected_min * mean)


@formula(
    unit="mL/min",
    places=1,
    review_only=True,
    source="from memory",
    text="urine urea x urine / (minutes x 0.9 x urea before)",
    urine_urea_mmol_l=URINE_UREA,
    urine_ml=URINE,
    collected_min=LAST_DAY,
    urea_before_mmol_l=UREA,
)
def own_kidneys_day(
    *,
    urine_urea_mmol_l: Decimal,
    urine_ml: Decimal,
    collected_min: Decimal,
    urea_before_mmol_l: Decimal,
) -> Decimal:
    """What own kidneys clear, from the urine of the last day before a session.  [mL/min]

    urine_urea_mmol_l [mmol/L] 0 to 1,000; urine_ml [mL] 0 to 10,000; collected_min [min] 1200 to 1,680;
    urea_before_mmol_l [mmol/L] 0.5 to 80. Raises DomainError outside.
    Source: from memory (kinetics A7).
    """
    return urine_urea_mmol_l * urine_ml / (collected_min * DAY_MEAN * urea_before_mmol_l)
