"""Collected urine beside the bloods of its own days: what own kidneys clear is told by levels of that time alone."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from typing import NamedTuple

from ebbwell.core.errors import DomainError
from ebbwell.journal.kinds.bloods import TAKEN, UrineCollected
from ebbwell.science.protein_rate import own_kidneys, own_kidneys_day
from ebbwell.state.bloods import as_date, figure_of, urine
from ebbwell.state.facts import Facts

UREA = "urea"
LAST_DAY, BETWEEN = TAKEN[:2]
ABOUT_A_DAY_MIN = (Decimal(1200), Decimal(1680))
"""Minutes of a collection that is taken as that of the last day before a treatment. Source: the range of
``own_kidneys_day``."""


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


def cleared_ml_min(one: Collected) -> tuple[Decimal, str]:
    """What own kidneys clear by a collection [mL/min of plasma], and as which of ``TAKEN`` it counts.

    It counts as its entry says. Where that doesn't say, one of about a day counts as of the last day before a treatment,
    when urea is highest, any other as of all the time between two. Raises DomainError as the formulas, and for a
    collection at another time, when urea isn't known. Source: kinetics A7.
    """
    minutes = Decimal(one.body.hours) * 60
    about_a_day = ABOUT_A_DAY_MIN[0] <= minutes <= ABOUT_A_DAY_MIN[1]
    taken = one.body.taken or (LAST_DAY if about_a_day else BETWEEN)
    if taken == LAST_DAY:
        return (
            own_kidneys_day(
                urine_urea_mmol_l=one.urea,
                urine_ml=Decimal(one.body.volume_ml),
                collected_min=minutes,
                urea_before_mmol_l=one.levels.before,
            ),
            taken,
        )
    if taken != BETWEEN:
        raise DomainError("own.urine_other")
    return (
        own_kidneys(
            urine_urea_mmol_l=one.urea,
            urine_ml=Decimal(one.body.volume_ml),
            collected_min=minutes,
            urea_after_mmol_l=one.levels.after,
            urea_before_mmol_l=one.levels.before,
        ),
        taken,
    )
