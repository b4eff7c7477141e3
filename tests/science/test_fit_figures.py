"""Figures of the months of a fit: each band against the figure's own formula, moved by hand."""

from __future__ import annotations

from math import exp, log, sqrt

import pytest
from scipy import stats

from ebbwell.science.fit import KNOWN, MonthBloods, expected, fit, generation_of, urea_body
from ebbwell.science.fit_figures import MonthFigures, month_figures
from ebbwell.science.schedule import Part, Treatment, settled

WEEK = MonthBloods(17.0, 3.4, 66.0, 0.175, 0.9 / 1440, (0, 1440, 4320, 7200), 480, 10080, 2, 0.001)
MONTHS = (WEEK, WEEK._replace(before=16.1, post=3.3, weight_kg=66.8), WEEK._replace(before=18.2, post=3.5))
FOUND = fit(MONTHS)
STEP = 1e-3
BY_BLOODS = ("made", "mean_before", "mean", "made_in_litre")
"""Figures that the laboratory's error goes into beside the doubt of water and clearance."""


def by_formula(month: MonthBloods, share: float, over: float) -> dict[str, float]:
    """Each figure by what it means. Source: kinetics A2 (stdKt/V, EKR = G over the time mean, EKR x 10.08 / V)."""
    made, litres = generation_of(month, expected(month, share, over)), share * month.weight_kg
    part = Part(month.minutes, month.clearance_l_min * over)
    nights = [Treatment(start, (part,)) for start in month.starts_min]
    course = settled(urea_body(month, share), nights, month.cycle_min)
    mean_before, mean = made * course.mean_before, made * course.mean
    ekr, standard = 1000 * made / mean, made * 10080 / (mean_before * litres)
    return {
        "made": made,
        "water_l": litres,
        "clearance": 1000 * month.clearance_l_min * over,
        "standard": standard,
        "mean_before": mean_before,
        "mean": mean,
        "ekr": ekr,
        "ekr_week": ekr * 10.08 / litres,
        "cleared_week": standard * litres,
        "made_in_litre": made / litres,
    }


@pytest.mark.parametrize("name", MonthFigures._fields)
def test_a_band_is_what_the_formula_makes_of_the_doubt_of_the_fit(name: str) -> None:
    share, over = FOUND.water_share.middle, FOUND.clearance_over.middle
    deviate = float(stats.norm.ppf(0.95))

    def at(month: MonthBloods, x: float, y: float) -> float:
        return log(by_formula(month, share * exp(x), over * exp(y))[name])

    for month, figures in zip(MONTHS, month_figures(MONTHS, FOUND), strict=True):
        band = getattr(figures, name)
        by_share = (at(month, STEP, 0) - at(month, -STEP, 0)) / (2 * STEP)
        by_over = (at(month, 0, STEP) - at(month, 0, -STEP)) / (2 * STEP)
        spread = FOUND.spread
        variance = (
            by_share**2 * spread.water + by_over**2 * spread.over + 2 * by_share * by_over * spread.both
        )
        if name in BY_BLOODS:
            variance += KNOWN.lab_doubt**2 / 2
        assert log(band.middle) == pytest.approx(at(month, 0, 0), abs=1e-9)
        assert log(band.high / band.middle) == pytest.approx(deviate * sqrt(variance), rel=1e-4)
        assert log(band.middle / band.low) == pytest.approx(deviate * sqrt(variance), rel=1e-4)


def test_what_the_bloods_hold_is_told_closer_than_what_was_put_in() -> None:
    """Bloods hold clearance over water, so that the dose over the water is told closer than what isn't over it."""
    for figures in month_figures(MONTHS, FOUND):
        assert figures.standard.high / figures.standard.low < figures.water_l.high / figures.water_l.low
        assert figures.ekr_week.high / figures.ekr_week.low < figures.ekr.high / figures.ekr.low
