"""A year of bloods to one person's own numbers, with all bands: ours beside SciPy on the same residuals.

The yardstick gets the model over arrays, as ours has it: ``least_squares`` for the numbers and their slopes, ``brentq``
over further ``least_squares`` for the ends of the profile. The doses of each month, which ours gives too, are left out
there.
"""

from __future__ import annotations

from math import exp, log, sqrt
from random import Random

import numpy as np
from numpy.typing import NDArray

from bench.rows import Row, in_turns, middle, row, spread, under
from ebbwell.science.bands import NINE_IN_TEN
from ebbwell.science.fit import KNOWN, SPLIT, MonthBloods, expected, fit
from ebbwell.science.fit_many import falls

Array = NDArray[np.float64]

MOST_MS = 300.0
WITHIN = 1e-5
"""How far apart the numbers and the ends of the profile may lie, as a share."""
MONTHS = 12


def year() -> tuple[MonthBloods, ...]:
    """Twelve pairs with 3 % of error, four nights a week, no weight the same."""
    dice = Random(4)
    found = []
    for number in range(MONTHS):
        plain = MonthBloods(
            1.0,
            0.5,
            65.0 + 0.1 * number,
            0.175,
            0.9 / 1440,
            (0, 1440, 4320, 7200),
            480 - number,
            10080,
            number % 4,
        )
        told = expected(plain, 0.55, 1.03)
        before, post = (0.22 * exp(one + dice.gauss(0, 0.03)) for one in (told.before, told.post))
        found.append(plain._replace(before=before, post=post))
    return tuple(found)


def by_scipy(months: tuple[MonthBloods, ...]) -> tuple[float, float, float, float]:
    """Water share [L/kg], clearance over the worked-out one, and both ends of the water's profile."""
    from scipy.optimize import brentq, least_squares

    measured = np.array([log(one.post / one.before) for one in months])
    deviation = KNOWN.ratio_doubt
    start = log(KNOWN.water_share)

    def residuals(water: float, over: float) -> Array:
        fallen = falls(months, [(exp(water), exp(over), *SPLIT)])[:, 0]
        known = ((water - start) / KNOWN.water_doubt, over / KNOWN.clearance_doubt)
        return np.concatenate([(measured - fallen) / deviation, known])

    best = least_squares(lambda x: residuals(x[0], x[1]), (start, 0.0), method="lm", xtol=1e-10, ftol=1e-12)
    water, over = (float(one) for one in best.x)
    lowest = float(2 * best.cost)
    sure = sqrt(float(np.linalg.inv(best.jac.T @ best.jac)[0, 0]))

    def away(at: float) -> float:
        held = least_squares(lambda x: residuals(at, x[0]), (over,), method="lm", xtol=1e-8)
        return sqrt(max(float(2 * held.cost) - lowest, 0.0)) - NINE_IN_TEN

    reach = NINE_IN_TEN * sure
    ends = [
        brentq(away, water + side * 0.5 * reach, water + side * 1.5 * reach, xtol=1e-7) for side in (-1, 1)
    ]
    return exp(water), exp(over), exp(ends[0]), exp(ends[1])


def run(small: bool) -> list[Row]:
    """Two rows: the time of a year, and the same beside SciPy."""
    months = year()
    ours, theirs = fit(months), by_scipy(months)
    profile = ours.water_profile
    mine = (ours.water_share.middle, ours.clearance_over.middle, profile.low, profile.high)
    apart = max(abs(a / b - 1) for a, b in zip(mine, theirs, strict=True))
    if apart > WITHIN:
        raise RuntimeError(f"ours lies {apart:.0e} from SciPy")
    times, other = in_turns(1 if small else 15, lambda: fit(months), lambda: by_scipy(months))
    note = f"{MONTHS} pairs, all bands; {apart:.0e} apart from SciPy's; {spread(times)}"
    fast, slow = middle(times), middle(other)
    beside = f"SciPy's least_squares and brentq on the same residuals; {spread(other)}"
    return [
        under("fit.year", fast, slow, MOST_MS, note),
        row("fit.year.scipy", fast, slow, "quicker", fast < slow, beside),
    ]
