"""Nights of a solute that the body brings back towards its level before the first one, for many bodies at once.

Same model as ``solutes.mobilised``, one pool, no fluid. All nights are drawn to one level: were it that before each,
what a short gap leaves over would add up from night to night. Source: kinetics A9.
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
    of a treatment, above 0; gaps_min: after each, 0 or more; one treatment for each gap. All the while the pool is drawn
    to ``start``. Raises DomainError for what can't be. Source: kinetics A9 (C0 of the bicarbonate form).
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
    plateau = (release_l_min * start + clearance_l_min * bath) / both
    level, before, end = start, [], []
    for gap in gaps_min:
        after = plateau + (level - plateau) * left
        before.append(level)
        end.append(after)
        level = start + (after - start) * np.exp(-np.asarray(release_l_min) / litres * gap)
    return np.array(before), np.array(end)
