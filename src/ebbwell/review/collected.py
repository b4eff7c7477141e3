"""Collected urine beside the bloods of its own days: what own kidneys clear is told by levels of that time alone."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from typing import NamedTuple

from ebbwell.core.errors import DomainError
from ebbwell.journal.kinds.bloods import TAKEN, UrineCollected
from ebbwell.review.basis import DAY_MIN, Nights
from ebbwell.review.levels import UREA
from ebbwell.science.protein_rate import own_kidneys, own_kidneys_day
from ebbwell.state.bloods import as_date, figure_of, urine
from ebbwell.state.facts import Facts

LAST_DAY, BETWEEN = TAKEN[:2]
ABOUT_A_DAY_MIN = (Decimal(1200), Decimal(1680))
"""Minutes of a collection that is taken as that of the last day before a treatment. Source: the range of
``own_kidneys_day``."""
MOST_OF_GAP = Decimal("0.8")
"""Share of the time between two treatments from which urine counts as that of all of it. Own choice."""


class Levels(NamedTuple):
    """Urea before and after the treatment of a night [mmol/L of plasma]."""

    night: date
    before: Decimal
    after: Decimal


class Collected(NamedTuple):
    """A collection of urine, its urea [mmol/L], and the levels nearest to its end."""

    ended: date
    body: UrineCollected
    urea: Decimal
    levels: Levels


def collected_urine(standing: Facts, levels: Sequence[Levels]) -> list[Collected]:
    """Every collection with urea, newest first; () where there are no levels. Source: kinetics A7 (Pmean)."""
    found = []
    for _, body in urine(standing):
        ended = as_date(body.ended_on)
        figure = next((f for line in body.lines if line.substance == UREA and (f := figure_of(line))), None)
        if ended is not None and figure is not None and figure.exact and levels:
            nearest = min(levels, key=lambda one: abs((one.night - ended).days))
            found.append(Collected(ended, body, figure.value, nearest))
    return found


def cleared_ml_min(
    *,
    urine_urea_mmol_l: Decimal,
    urine_ml: Decimal,
    minutes: Decimal,
    after_mmol_l: Decimal,
    before_mmol_l: Decimal,
    gap_min: float,
    taken: str = "",
) -> tuple[Decimal, str]:
    """What own kidneys clear by a collection [mL/min of plasma], and whether as ``LAST_DAY`` or as ``BETWEEN``.

    minutes: of the collection; after_mmol_l, before_mmol_l: urea of plasma as the time between two treatments began and
    ended; gap_min: how long that was; taken: one of ``TAKEN``, as told. One that lasts for most of that time, or longer,
    goes by the mean of both levels. A shorter one of about a day, told to be the last before a treatment or not told, is
    taken as drawn to its end, when urea is highest. Any other can't be told: within such a time, that mean may lie 45 %
    off. Raises DomainError for it, and as the formulas.
    Source: kinetics A7; which of the two holds for which gap by the equations of section C.
    """
    if taken not in (LAST_DAY, BETWEEN, ""):
        raise DomainError("own.urine_other")
    gap = Decimal(repr(float(gap_min)))
    if minutes >= MOST_OF_GAP * gap:
        found = own_kidneys(
            urine_urea_mmol_l=urine_urea_mmol_l,
            urine_ml=urine_ml,
            collected_min=minutes,
            urea_after_mmol_l=after_mmol_l,
            urea_before_mmol_l=before_mmol_l,
        )
        return found, BETWEEN
    if taken == BETWEEN or not ABOUT_A_DAY_MIN[0] <= minutes <= ABOUT_A_DAY_MIN[1]:
        raise DomainError("science.urine_part_of_gap", hours=f"{minutes / 60:.3g}", between=f"{gap / 60:.3g}")
    found = own_kidneys_day(
        urine_urea_mmol_l=urine_urea_mmol_l,
        urine_ml=urine_ml,
        collected_min=minutes,
        urea_before_mmol_l=before_mmol_l,
    )
    return found, LAST_DAY


def cleared_by(one: Collected, gap_min: float) -> tuple[Decimal, str]:
    """``cleared_ml_min`` of a collection of the record; gap_min: before the treatment of its levels."""
    return cleared_ml_min(
        urine_urea_mmol_l=one.urea,
        urine_ml=Decimal(one.body.volume_ml),
        minutes=Decimal(one.body.hours) * 60,
        after_mmol_l=one.levels.after,
        before_mmol_l=one.levels.before,
        gap_min=gap_min,
        taken=one.body.taken,
    )


def gap_before_min(night: date, nights: Nights) -> float:
    """Minutes since the treatment before began, of a night of a pattern; for any other night the shortest such time."""
    gaps, place = nights.gaps_days(), nights.place_of(night)
    return (min(gaps) if place is None else gaps[place]) * DAY_MIN
