"""A sample drawn while dialysis still ran: the fitted model against SciPy's integration of the same equations."""

from __future__ import annotations

from math import exp

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from ebbwell.science.fit import MonthBloods, expected

SHARE, WATER, OUTER, BETWEEN = 0.55, 0.55 * 66, 1 / 3, 0.016
GAIN, CLEARED, KIDNEYS, MINUTES = 0.9 / 1440, 0.18, 0.001, 480.0

Vector = NDArray[np.float64]


def leg(masses: Vector, minutes: float, litres: float, rate: float, cleared: float) -> Vector:
    """Two pools of fixed shares of the water; 1 mmol/min comes into the first."""

    def change(at: float, now: Vector) -> list[float]:
        water = litres + rate * at
        near, far = now[0] / (OUTER * water), now[1] / ((1 - OUTER) * water)
        across = BETWEEN * WATER * (near - far)
        return [1 - (cleared + KIDNEYS) * near - across, across]

    found: Vector = solve_ivp(change, (0, minutes), masses, method="DOP853", rtol=1e-10, atol=1e-10).y[:, -1]
    return found


def level(starts: tuple[float, ...], cycle: float, which: int, early: float) -> float:
    """The first pool's level so many minutes before the end, after many cycles."""
    masses: Vector = np.array([20 * WATER / 3, 40 * WATER / 3])
    befores = (starts[-1] - cycle, *starts)
    found = 0.0
    for _ in range(12):
        for number, start in enumerate(starts):
            gap = start - befores[number] - MINUTES
            masses = leg(masses, gap, WATER, GAIN, 0.0)
            full, rate = WATER + GAIN * gap, -GAIN * gap / MINUTES
            if number == which:
                here = leg(masses, MINUTES - early, full, rate, CLEARED)
                found = here[0] / (OUTER * (WATER + GAIN * gap * early / MINUTES))
            masses = leg(masses, MINUTES, full, rate, CLEARED)
    return found


@pytest.mark.source("kinetics:A8", detail="two-pool equations, integrated by SciPy (DOP853)")
@pytest.mark.parametrize(
    ("starts", "cycle", "which"),
    [((0.0,), 2880.0, 0), ((0.0, 1440.0, 4320.0, 7200.0), 10080.0, 0), ((0.0, 1440.0, 4320.0), 10080.0, 1)],
)
def test_a_sample_of_an_hour_before_the_end_is_read_as_of_then(
    starts: tuple[float, ...], cycle: float, which: int
) -> None:
    month = MonthBloods(1.0, 0.5, 66.0, CLEARED, GAIN, starts, MINUTES, cycle, which, KIDNEYS, -60.0)
    post = exp(expected(month, SHARE, 1.0).post)
    assert post == pytest.approx(level(starts, cycle, which, 60.0), rel=1e-7)
    at_the_end = exp(expected(month._replace(drawn_after_min=0.0), SHARE, 1.0).post)
    assert post > 1.05 * at_the_end
