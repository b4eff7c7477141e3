"""What a fit of monthly bloods says in other figures, each with its band: means over the week, and what made them.

Bands come from the slopes of the logarithms, as in ``fit``: what laboratory, water share and clearance leave open is
carried on together, so that a ratio of two figures isn't told wider than it is. All of it rests on the two-pool model
and on a pattern that was kept; untested on any one person. Source: kinetics A2, A3, C.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import exp, log
from typing import NamedTuple

from ebbwell.science.bands import Band
from ebbwell.science.fit import (
    DIFFERENCE,
    KNOWN,
    Fit,
    Known,
    MonthBloods,
    expected,
    urea_body,
)
from ebbwell.science.schedule import WEEK_MIN, Part, Treatment, settled


class MonthFigures(NamedTuple):
    """Of one month, by the fitted model, concentrations in water.

    made [mmol/min] of urea; water_l [L] after treatment; clearance [mL/min] of the dialyser, in use; standard: weekly
    stdKt/V; mean_before, mean [mmol/L]: urea before treatments, and over time; ekr [mL/min]; ekr_week [/week]: that over
    the water; cleared_week [L]: stdKt/V times the water; made_in_litre [mmol/min/L]: urea made over the water, what the
    protein rate is made of.
    """

    made: Band
    water_l: Band
    clearance: Band
    standard: Band
    mean_before: Band
    mean: Band
    ekr: Band
    ekr_week: Band
    cleared_week: Band
    made_in_litre: Band


class _Logs(NamedTuple):
    """For urea made of 1 mmol/min: log of what it has to be multiplied with, of the mean before, and over time."""

    level: float
    before: float
    mean: float


def month_figures(
    months: Sequence[MonthBloods], found: Fit, known: Known = KNOWN
) -> tuple[MonthFigures, ...]:
    """The figures of each month, in their order.

    months, known: what ``found`` was made from. Raises DomainError for a month that the model can't keep.
    """
    water, over = log(found.water_share.middle), log(found.clearance_over.middle)
    memo: dict[tuple[MonthBloods, float, float], _Logs] = {}

    def at(month: MonthBloods, x: float, y: float) -> _Logs:
        key = (month.without_bloods(), x, y)
        if key not in memo:
            memo[key] = _logs(key[0], exp(x), exp(y))
        return memo[key]

    def band(
        middle: float, month: MonthBloods, of: Callable[[_Logs], float], by_water: float, lab: bool
    ) -> Band:
        """of: its logarithm but for the water; by_water: how often the water goes into it; lab: bloods go into it."""
        h = DIFFERENCE
        x = (of(at(month, water + h, over)) - of(at(month, water - h, over))) / (2 * h) + by_water
        y = (of(at(month, water, over + h)) - of(at(month, water, over - h))) / (2 * h)
        bloods = known.level_variance if lab else 0.0
        return Band.of_log(log(middle), found.spread.carried(x, y) + bloods)

    figures = []
    for number, month in enumerate(months):
        made, standard = found.generation[number], found.standard[number]
        here = at(month, water, over)
        litres = found.water_share.middle * month.weight_kg
        per_week = WEEK_MIN / litres
        figures.append(
            MonthFigures(
                made=made,
                water_l=found.water_share.times(month.weight_kg),
                clearance=found.clearance_over.times(1000 * month.clearance_l_min),
                standard=standard,
                mean_before=band(
                    made.middle * exp(here.before), month, lambda one: one.level + one.before, 0.0, True
                ),
                mean=band(made.middle * exp(here.mean), month, lambda one: one.level + one.mean, 0.0, True),
                ekr=band(1000 * exp(-here.mean), month, lambda one: -one.mean, 0.0, False),
                ekr_week=band(per_week * exp(-here.mean), month, lambda one: -one.mean, -1.0, False),
                cleared_week=band(WEEK_MIN * exp(-here.before), month, lambda one: -one.before, 0.0, False),
                made_in_litre=band(made.middle / litres, month, lambda one: one.level, -1.0, True),
            )
        )
    return tuple(figures)


def _logs(month: MonthBloods, water_share: float, clearance_over: float) -> _Logs:
    told = expected(month, water_share, clearance_over)
    part = Part(month.minutes, month.clearance_l_min * clearance_over)
    treatments = [Treatment(start, (part,)) for start in month.starts_min]
    course = settled(urea_body(month, water_share), treatments, month.cycle_min)
    return _Logs(-(told.before + told.post) / 2, log(course.mean_before), log(course.mean))
