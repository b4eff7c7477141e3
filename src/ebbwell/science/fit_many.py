"""The fitted model for many months and many sets of numbers at once, and how a fit moves with the split of the water.

Same model and same figures as ``fit.expected``, over arrays. Source: kinetics A8, C; text of ``fit``.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, log

import numpy as np

from ebbwell.science.exp_differences_many import Array
from ebbwell.science.fit import DIFFERENCE, SPLIT, Expected, Fit, Known, MonthBloods, Split, expected
from ebbwell.science.pools_many import ManyBodies, ManyLink, ManyTreatment, settled_many
from ebbwell.science.schedule import WEEK_MIN

Parameters = tuple[float, float, float, float]
"""Water share [L/kg], clearance over the worked-out one, share that blood sees, flow between over the water [1/min]."""


def expected_many(months: Sequence[MonthBloods], numbers: Sequence[Parameters]) -> list[list[Expected]]:
    """``fit.expected`` of each month (a list) at each set of numbers. Raises DomainError as there.

    Source: kinetics A2, A8, C.
    """
    found: list[list[Expected]] = [[] for _ in months]
    alike: dict[tuple[tuple[float, ...], float], list[int]] = {}
    for place, month in enumerate(months):
        if month.drawn_after_min:
            found[place] = [expected(month, water, over, Split(*split)) for water, over, *split in numbers]
        else:
            alike.setdefault((month.starts_min, month.cycle_min), []).append(place)
    for places in alike.values():
        told = _at_the_end([months[place] for place in places], numbers)
        rows = [one.reshape(len(places), -1).tolist() for one in told]
        for place, *ones in zip(places, *rows, strict=True):
            found[place] = [Expected(*each) for each in zip(*ones, strict=True)]
    return found


def falls(months: Sequence[MonthBloods], numbers: Sequence[Parameters]) -> Array:
    """The log of urea after over urea before, by the model: a row for each month, a column for each set of numbers.

    Raises DomainError as ``fit.expected``. Source: kinetics A8, C.
    """
    told = expected_many(months, numbers)
    return np.array([[one.post - one.before for one in row] for row in told]).reshape(len(months), -1)


def _at_the_end(months: Sequence[MonthBloods], numbers: Sequence[Parameters]) -> tuple[Array, Array, Array]:
    """``Expected`` of months of one pattern, with the second sample drawn as the treatment ends, month by month."""
    water, over, outer, between = (np.tile(row, len(months)) for row in np.array(numbers, dtype=float).T)

    def each(values: list[float]) -> Array:
        return np.repeat(np.array(values), len(numbers))

    volume = water * each([one.weight_kg for one in months])
    bodies = ManyBodies(
        (outer, 1 - outer),
        (ManyLink(0, 1, between * volume),),
        volume,
        1.0,
        each([one.residual_l_min for one in months]),
        each([one.gain_l_min for one in months]),
    )
    minutes = each([one.minutes for one in months])
    cleared = over * each([one.clearance_l_min for one in months])
    nights = [ManyTreatment(start, minutes, cleared) for start in months[0].starts_min]
    settled = settled_many(bodies, nights, months[0].cycle_min, ends=True)
    if settled.end is None:
        raise ValueError("ends were asked for")
    standard = np.log(WEEK_MIN / (settled.before.mean(axis=0) * volume))
    which = np.repeat([one.which for one in months], len(numbers))
    measured = (which, np.arange(len(which)))
    return np.log(settled.before[measured]), np.log(settled.end[measured]), standard


def moved_by_split(
    months: Sequence[MonthBloods], known: Known, found: Fit, steps: Split
) -> tuple[tuple[float, float], tuple[float, float]]:
    """How the fit would move with another split of the water: slopes of both logs by the log of each part of a split.

    found: the fit of these months with ``SPLIT``. steps: how far the logs of a split are moved for it, above 0. A pair
    is (water share, clearance), first by ``outer_share``, then by ``between_per_min``. One step of Gauss and Newton
    from the found place, so right to first order. Raises DomainError as ``expected``. Source: text of ``fit``.
    """
    moves = (DIFFERENCE, DIFFERENCE, *steps)
    middle = (log(found.water_share.middle), log(found.clearance_over.middle), *map(log, SPLIT))
    numbers: list[Parameters] = []
    for place, move in enumerate(moves):
        for side in (move, -move):
            water, over, outer, between = (
                exp(one + side) if n == place else exp(one) for n, one in enumerate(middle)
            )
            numbers.append((water, over, outer, between))
    fallen = falls(months, numbers) / known.ratio_doubt
    slopes = [(fallen[:, 2 * n] - fallen[:, 2 * n + 1]) / (2 * move) for n, move in enumerate(moves)]
    by_water, by_over = slopes[:2]
    square = np.array([[by_water @ by_water, by_water @ by_over], [by_over @ by_water, by_over @ by_over]])
    square += np.diag([known.water_doubt**-2, known.clearance_doubt**-2])
    moved = [-np.linalg.solve(square, np.array([by_water @ s, by_over @ s])) for s in slopes[2:]]
    first, second = ((float(pair[0]), float(pair[1])) for pair in moved)
    return first, second
