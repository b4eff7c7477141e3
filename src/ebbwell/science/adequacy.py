"""The dose of one session from urea before and after it, and once the body has evened out. For looking back only.

R is urea after over urea before. The sum takes a logarithm of R less what was made meanwhile: on long nights little is
left there, so a small slip in either moves the dose a lot. ``single_pool_dose_error`` says how much. Where nothing is
left there is no answer, and none is made up. The ``bare_`` functions hold the arithmetic without the published range.
"""

from __future__ import annotations

from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

from ebbwell.core.errors import DomainError
from ebbwell.core.numbers import plain
from ebbwell.science.formula import formula
from ebbwell.science.ranges_solutes import (
    ALL_HOURS,
    ANY_HOURS,
    BODY_WATER,
    CLEARANCE,
    DAYS,
    DOSE,
    FACTOR_ERROR,
    GENERATION_FACTOR,
    RATIO_ERROR,
    REGRESSION_HOURS,
    REMOVED,
    SESSION_MINUTES,
    THRICE_DOSE,
    THRICE_HOURS,
    UREA,
    WEIGHT,
)

GENERATION_THRICE = Decimal("0.008")
"""Urea made in an hour, as a share of that before, thrice weekly. Source: kinetics:A1 (ERA-EDTA 2002)."""
GENERATION_DAYS = Decimal("0.0174")
"""The same for any schedule, to be parted by the days since the last session. Source: from memory (kinetics A1)."""
REMOVAL_TERM = (Decimal(4), Decimal("3.5"))
"""How removal counts: first less second times R. Source: kinetics:A1 (ERA-EDTA 2002)."""
WATER_IN_WEIGHT = Decimal("0.55")
"""Litres of water in a kilogram that the removal term takes. Source: from memory (kinetics A1)."""
FISTULA = (Decimal("0.6"), Decimal("0.03"))
"""Source: kinetics:A1 (ERA-EDTA 2002)."""
CATHETER = (Decimal("0.47"), Decimal("0.02"))
"""Source: kinetics:A1 (ERA-EDTA 2002)."""
EVENING_OUT_MIN = Decimal(35)
"""Time a body takes to even out. Source: from memory (kinetics A1: Tattersall 1996; another review prints 36)."""
REGRESSION = (Decimal("0.924"), Decimal("0.395"), Decimal("0.056"))
"""Source: from memory (kinetics A1)."""


def bare_dose(ratio: Decimal, hours: Decimal, generation_per_h: Decimal, removed_share: Decimal) -> Decimal:
    """Second generation sum: -ln(R - g t) + (4 - 3.5 R) x removed share, without the published range.

    Raises DomainError where R - g t is not above 0. Source: kinetics:A1.
    """
    left = ratio - generation_per_h * hours
    if left <= 0:
        raise DomainError("science.no_dose", hours=plain(hours))
    whole, less = REMOVAL_TERM
    return -left.ln() + (whole - less * ratio) * removed_share


def bare_first_generation(ratio: Decimal, hours: Decimal, removed_share: Decimal) -> Decimal:
    """The oldest sum, -ln(R - 0.008 t - removal / weight): kept to read old papers, never offered.

    Raises DomainError where nothing is left for the logarithm. Source: kinetics:A1 (Daugirdas 1989).
    """
    left = ratio - GENERATION_THRICE * hours - removed_share
    if left <= 0:
        raise DomainError("science.no_dose", hours=plain(hours))
    return -left.ln()


def bare_after_rebound(dose: Decimal, hours: Decimal, rule: tuple[Decimal, Decimal]) -> Decimal:
    """Dose - a x dose / hours + b, without the published range; rule: FISTULA or CATHETER. Source: kinetics:A1."""
    per_hour, more = rule
    return dose - per_hour * dose / hours + more


def bare_regression(dose: Decimal, hours: Decimal) -> Decimal:
    """0.924 dose - 0.395 dose / hours + 0.056, without its range. Source: from memory (kinetics A1)."""
    share, per_hour, more = REGRESSION
    return share * dose - per_hour * dose / hours + more


def _thrice(dose: Decimal) -> Decimal:
    """The dose, if it's one that the thrice weekly sum was made for; else DomainError, which tells the figure."""
    if THRICE_DOSE.low <= dose <= THRICE_DOSE.high:
        return dose
    away = ROUND_CEILING if dose > THRICE_DOSE.high else ROUND_FLOOR
    told = plain(dose.quantize(Decimal("0.01"), rounding=away))
    low, high = plain(THRICE_DOSE.low), plain(THRICE_DOSE.high)
    raise DomainError("science.dose_outside", dose=told, low=low, high=high)


def _ratio(before: Decimal, after: Decimal) -> Decimal:
    if after > before:
        raise DomainError("science.after_above_before", before=plain(before), after=plain(after))
    return after / before


@formula(
    unit="%",
    places=0,
    review_only=True,
    source="kinetics:A1",
    text="100 x (1 - urea after / urea before)",
    urea_before_mmol_l=UREA,
    urea_after_mmol_l=UREA,
)
def urea_reduction(*, urea_before_mmol_l: Decimal, urea_after_mmol_l: Decimal) -> Decimal:
    """Share by which urea fell.  [%]

    urea_before_mmol_l [mmol/L] 0.5 to 80; urea_after_mmol_l [mmol/L] 0.5 to 80. It leaves removal out; its
    printed target is for sessions under 5 h. Raises DomainError outside, and where urea rose.
    Source: kinetics:A1 (KDOQI 2006).
    """
    return 100 * (1 - _ratio(urea_before_mmol_l, urea_after_mmol_l))


@formula(
    unit="",
    places=2,
    review_only=True,
    source="kinetics:A1",
    text="-ln(R - 0.008 x hours) + (4 - 3.5 x R) x removal / weight, R = urea after / urea before",
    urea_before_mmol_l=UREA,
    urea_after_mmol_l=UREA,
    hours_h=THRICE_HOURS,
    removal_l=REMOVED,
    weight_kg=WEIGHT,
)
def single_pool_dose(
    *,
    urea_before_mmol_l: Decimal,
    urea_after_mmol_l: Decimal,
    hours_h: Decimal,
    removal_l: Decimal,
    weight_kg: Decimal,
) -> Decimal:
    """Dose of a session thrice weekly, second generation.

    urea_before_mmol_l [mmol/L] 0.5 to 80; urea_after_mmol_l [mmol/L] 0.5 to 80; hours_h [h] 2 to 6; removal_l
    [L] 0 to 10; weight_kg [kg] 20 to 300. The weight is that after. Not for other schedules. Raises DomainError
    outside, where urea rose or nothing is left for the logarithm, and for a dose under 0.7 or over 2.1, which the
    sum was not made for (from memory, kinetics A1).
    Source: kinetics:A1 (ERA-EDTA 2002; Daugirdas 1993).
    """
    ratio = _ratio(urea_before_mmol_l, urea_after_mmol_l)
    return _thrice(bare_dose(ratio, hours_h, GENERATION_THRICE, removal_l / weight_kg))


@formula(
    unit="",
    places=2,
    review_only=True,
    source="from memory",
    text="-ln(R - 0.008 x hours) + (4 - 3.5 x R) x 0.55 x removal / body water, R = urea after / urea before",
    urea_before_mmol_l=UREA,
    urea_after_mmol_l=UREA,
    hours_h=THRICE_HOURS,
    removal_l=REMOVED,
    body_water_l=BODY_WATER,
)
def single_pool_dose_by_water(
    *,
    urea_before_mmol_l: Decimal,
    urea_after_mmol_l: Decimal,
    hours_h: Decimal,
    removal_l: Decimal,
    body_water_l: Decimal,
) -> Decimal:
    """Dose of a session thrice weekly, removal held against body water.

    urea_before_mmol_l [mmol/L] 0.5 to 80; urea_after_mmol_l [mmol/L] 0.5 to 80; hours_h [h] 2 to 6; removal_l
    [L] 0 to 10; body_water_l [L] 2 to 100. Raises DomainError outside, where urea rose or nothing is left for the
    logarithm, and for a dose under 0.7 or over 2.1, which the sum was not made for.
    Source: from memory (kinetics A1).
    """
    ratio = _ratio(urea_before_mmol_l, urea_after_mmol_l)
    return _thrice(bare_dose(ratio, hours_h, GENERATION_THRICE, WATER_IN_WEIGHT * removal_l / body_water_l))


@formula(
    unit="",
    places=2,
    review_only=True,
    source="from memory",
    text="-ln(R - 0.0174 / days x hours) + (4 - 3.5 x R) x removal / weight, R = urea after / urea before",
    urea_before_mmol_l=UREA,
    urea_after_mmol_l=UREA,
    hours_h=ANY_HOURS,
    removal_l=REMOVED,
    weight_kg=WEIGHT,
    since_last_days=DAYS,
)
def single_pool_dose_any(
    *,
    urea_before_mmol_l: Decimal,
    urea_after_mmol_l: Decimal,
    hours_h: Decimal,
    removal_l: Decimal,
    weight_kg: Decimal,
    since_last_days: Decimal,
) -> Decimal:
    """Dose of a session on any schedule of 2 to 7 a week.

    urea_before_mmol_l [mmol/L] 0.5 to 80; urea_after_mmol_l [mmol/L] 0.5 to 80; hours_h [h] 2 to 10; removal_l
    [L] 0 to 10; weight_kg [kg] 20 to 300; since_last_days [days] 1 to 4. Days since the last session began.
    Show it only with its error. Raises DomainError outside, and where urea rose or nothing is left for the
    logarithm.
    Source: from memory (kinetics A1: form published, 0.0174 by Daugirdas 2013).
    """
    ratio = _ratio(urea_before_mmol_l, urea_after_mmol_l)
    return bare_dose(ratio, hours_h, GENERATION_DAYS / since_last_days, removal_l / weight_kg)


@formula(
    unit="/h",
    places=4,
    review_only=True,
    source="from memory",
    text="0.0174 / days",
    since_last_days=DAYS,
)
def generation_by_days(*, since_last_days: Decimal) -> Decimal:
    """Share of urea that is made in an hour, by days since the last session began.  [/h]

    since_last_days [days] 1 to 4. Raises DomainError outside.
    Source: from memory (kinetics A1: Daugirdas 2013).
    """
    return GENERATION_DAYS / since_last_days


@formula(
    unit="",
    places=2,
    review_only=True,
    source="kinetics:A1",
    text="(error of R + hours x error of generation) / (R - generation x hours), R = urea after / urea"
    " before",
    urea_before_mmol_l=UREA,
    urea_after_mmol_l=UREA,
    hours_h=ANY_HOURS,
    generation_per_h=GENERATION_FACTOR,
    ratio_error_factor=RATIO_ERROR,
    generation_error_per_h=FACTOR_ERROR,
)
def single_pool_dose_error(
    *,
    urea_before_mmol_l: Decimal,
    urea_after_mmol_l: Decimal,
    hours_h: Decimal,
    generation_per_h: Decimal,
    ratio_error_factor: Decimal,
    generation_error_per_h: Decimal,
) -> Decimal:
    """How far off the dose may be for an error in R and in what is made.

    urea_before_mmol_l [mmol/L] 0.5 to 80; urea_after_mmol_l [mmol/L] 0.5 to 80; hours_h [h] 2 to 10;
    generation_per_h [/h] 0 to 0.02; ratio_error_factor 0 to 0.2; generation_error_per_h [/h] 0 to 0.02. Raises
    DomainError outside, and where urea rose or nothing is left for the logarithm.
    Source: kinetics:A1 (slope of the logarithm).
    """
    left = _ratio(urea_before_mmol_l, urea_after_mmol_l) - generation_per_h * hours_h
    if left <= 0:
        raise DomainError("science.no_dose", hours=plain(hours_h))
    return (ratio_error_factor + hours_h * generation_error_per_h) / left


@formula(
    unit="",
    places=2,
    review_only=True,
    source="arithmetic",
    text="clearance x minutes / body water",
    clearance_ml_min=CLEARANCE,
    minutes_min=SESSION_MINUTES,
    body_water_l=BODY_WATER,
)
def dose_by_clearance(
    *,
    clearance_ml_min: Decimal,
    minutes_min: Decimal,
    body_water_l: Decimal,
) -> Decimal:
    """Dose as clearance times time over body water.

    clearance_ml_min [mL/min] 1 to 1,000; minutes_min [min] 60 to 1,440; body_water_l [L] 2 to 100. Raises
    DomainError outside.
    Source: arithmetic (definition of Kt/V).
    """
    return clearance_ml_min * minutes_min / (1000 * body_water_l)


@formula(
    unit="",
    places=2,
    review_only=True,
    source="kinetics:A1",
    text="dose - 0.6 x dose / hours + 0.03",
    dose_factor=DOSE,
    hours_h=THRICE_HOURS,
)
def equilibrated_dose_fistula(*, dose_factor: Decimal, hours_h: Decimal) -> Decimal:
    """Dose once evened out, fistula or graft.

    dose_factor 0 to 5; hours_h [h] 2 to 6. Raises DomainError outside.
    Source: kinetics:A1 (ERA-EDTA 2002).
    """
    return bare_after_rebound(dose_factor, hours_h, FISTULA)


@formula(
    unit="",
    places=2,
    review_only=True,
    source="kinetics:A1",
    text="dose - 0.47 x dose / hours + 0.02",
    dose_factor=DOSE,
    hours_h=THRICE_HOURS,
)
def equilibrated_dose_catheter(*, dose_factor: Decimal, hours_h: Decimal) -> Decimal:
    """Dose once evened out, catheter.

    dose_factor 0 to 5; hours_h [h] 2 to 6. Raises DomainError outside.
    Source: kinetics:A1 (ERA-EDTA 2002).
    """
    return bare_after_rebound(dose_factor, hours_h, CATHETER)


@formula(
    unit="",
    places=2,
    review_only=True,
    source="from memory",
    text="dose x minutes / (minutes + 35)",
    dose_factor=DOSE,
    hours_h=ALL_HOURS,
)
def equilibrated_dose_time(*, dose_factor: Decimal, hours_h: Decimal) -> Decimal:
    """Dose once evened out, any length of session.

    dose_factor 0 to 5; hours_h [h] 0.5 to 24. Raises DomainError outside.
    Source: from memory (kinetics A1: Tattersall 1996).
    """
    minutes = 60 * hours_h
    return dose_factor * minutes / (minutes + EVENING_OUT_MIN)


@formula(
    unit="",
    places=2,
    review_only=True,
    source="from memory",
    text="0.924 x dose - 0.395 x dose / hours + 0.056",
    dose_factor=DOSE,
    hours_h=REGRESSION_HOURS,
)
def equilibrated_dose_regression(*, dose_factor: Decimal, hours_h: Decimal) -> Decimal:
    """Dose once evened out, by a trial's regression.

    dose_factor 0 to 5; hours_h [h] 2.5 to 5. Raises DomainError outside.
    Source: from memory (kinetics A1).
    """
    return bare_regression(dose_factor, hours_h)


@formula(
    unit="mmol/L",
    places=1,
    review_only=True,
    source="from memory",
    text="urea before x R ^ (minutes / (minutes + 35)), R = urea after / urea before",
    urea_before_mmol_l=UREA,
    urea_after_mmol_l=UREA,
    hours_h=ALL_HOURS,
)
def equilibrated_urea(
    *,
    urea_before_mmol_l: Decimal,
    urea_after_mmol_l: Decimal,
    hours_h: Decimal,
) -> Decimal:
    """Urea after, once the body has evened out.  [mmol/L]

    urea_before_mmol_l [mmol/L] 0.5 to 80; urea_after_mmol_l [mmol/L] 0.5 to 80; hours_h [h] 0.5 to 24. Raises
    DomainError outside, and where urea rose.
    Source: from memory (kinetics A1: Tattersall 1996).
    """
    minutes = 60 * hours_h
    share = minutes / (minutes + EVENING_OUT_MIN)
    return urea_before_mmol_l * _ratio(urea_before_mmol_l, urea_after_mmol_l) ** share


@formula(
    unit="",
    places=2,
    review_only=True,
    source="kinetics:A1",
    text="dose x (1 + removal / body water)",
    equilibrated_factor=DOSE,
    removal_l=REMOVED,
    body_water_l=BODY_WATER,
)
def equilibrated_dose_with_removal(
    *,
    equilibrated_factor: Decimal,
    removal_l: Decimal,
    body_water_l: Decimal,
) -> Decimal:
    """Dose once evened out, raised by what removal adds, where it was made for a steady volume.

    equilibrated_factor 0 to 5; removal_l [L] 0 to 10; body_water_l [L] 2 to 100. Raises DomainError outside.
    Source: kinetics:A1 (Smye review).
    """
    return equilibrated_factor * (1 + removal_l / body_water_l)
