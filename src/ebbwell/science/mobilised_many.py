"""Nights of a solute that the body brings back towards its level before, for many bodies at once.

Same model as ``solutes.mobilised`` and ``schedule.Body`` with release, one pool, no fluid. Source: kinetics A9.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ebbwell.core.errors import DomainError
from ebbwell.science.exp_differences_many import Array
from ebbwell.science.pools_many import Numbers


def mobilised_nights(
    *,
    start: Array,
    litres: Numbers,
    release_l_min: Numbers,
    clearance_l_min: Numbers,
    bath: Numbers,
    minutes: float,
    gaps_min: Sequence[float],
) -> tuple[Array, Array]:
    """Concentrations before treatments, and as they end, a row for each.

    start: before the first one; litres above 0; release_l_min, clearance_l_min [L/min] 0 or more, not both 0; minutes:
    of a treatment, above 0; gaps_min: after each, 0 or more; one treatment for each gap. While a treatment and the gap
    after it last, the pool is drawn to the concentration before that treatment. Raises DomainError for what can't be.
    Source: kinetics A9.
    """
    both = np.asarray(release_l_min) + np.asarray(clearance_l_min)
    numbers = [
        np.asarray(one) for one in (start, litres, release_l_min, clearance_l_min, bath, minutes, gaps_min)
    ]
    if not all(np.isfinite(one).all() for one in numbers):
        raise DomainError("science.leg_not_a_number")
    above = (both, litres, minutes)
    least = (release_l_min, clearance_l_min, *gaps_min)
    if min(np.min(one) for one in above) <= 0 or min(np.min(one) for one in least) < 0:
        raise DomainError("science.leg_not_above_zero")
    left = np.exp(-both / litres * minutes)
    before, end = [], []
    for gap in gaps_min:
        plateau = (release_l_min * start + clearance_l_min * bath) / both
        after = plateau + (start - plateau) * left
        before.append(start)
        end.append(after)
        start = start + (after - start) * np.exp(-np.asarray(release_l_min) / litres * gap)
    return np.array(before), np.array(end)
