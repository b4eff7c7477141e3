"""Maps of many legs at once: small matrices whose entries are arrays, one number for each schedule.

Same equations and same order of sums as in ``pools``. Source: kinetics A8.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from ebbwell.core.errors import DomainError
from ebbwell.science.exp_differences_many import (
    Array,
    difference_of_three,
    difference_of_two,
    exp_difference_many,
)
from ebbwell.science.pools import STEPS
from ebbwell.science.small_matrix import SINGULAR

Square = list[list[Array]]


class ManyMap(NamedTuple):
    """after = carry x before + added."""

    carry: Square
    added: list[Array]


def row_times(row: Sequence[Array], masses: Sequence[Array]) -> Array:
    """The sum of row x masses, element by element; both at least one long."""
    total = row[0] * masses[0]
    for a, x in zip(row[1:], masses[1:], strict=True):
        total = total + a * x
    return total


def moved(one: ManyMap, masses: Sequence[Array]) -> list[Array]:
    """The masses after a leg, from those before it."""
    return [row_times(row, masses) + more for row, more in zip(one.carry, one.added, strict=True)]


def then(second: ManyMap, first: ManyMap) -> ManyMap:
    """What both legs do, the first one first."""
    size = len(first.added)
    columns = [[first.carry[i][j] for i in range(size)] for j in range(size)]
    return ManyMap(
        [[row_times(second.carry[i], column) for column in columns] for i in range(size)],
        [row_times(second.carry[i], first.added) + second.added[i] for i in range(size)],
    )


def periodic(whole: ManyMap) -> list[Array]:
    """The masses that a cycle gives back, by elimination.

    I - A has its largest number of each column on the diagonal. Raises DomainError where nothing is removed.
    Source: kinetics A8.
    """
    size = len(whole.added)
    work = [
        [(1.0 - a if i == j else -a) for j, a in enumerate(whole.carry[i])] + [whole.added[i]]
        for i in range(size)
    ]
    for k in range(size):
        if not (work[k][k] > SINGULAR).all():
            raise DomainError("science.nothing_removes")
        for i in range(k + 1, size):
            factor = work[i][k] / work[k][k]
            work[i] = [x - factor * y for x, y in zip(work[i], work[k], strict=True)]
    found: list[Array] = [work[k][size] for k in range(size)]
    for k in range(size - 1, -1, -1):
        for j in range(k + 1, size):
            found[k] = found[k] - work[k][j] * found[j]
        found[k] = found[k] / work[k][k]
    return found


def roots_of_two(rates: Square, losses: list[Array]) -> tuple[Array, Array]:
    """Both eigenvalues [L/min], the one nearer 0 first. Source: as in ``pools``."""
    (b11, b12), (b21, b22) = rates
    half = (b11 - b22) / 2
    far = (b11 + b22) / 2 - np.sqrt(half * half + b12 * b21)
    product = losses[0] * losses[1] + losses[0] * b12 + losses[1] * b21
    return product / np.where(far == 0, 1.0, far), far


def two_pools(
    rates: Square, losses: list[Array], stretch: Array, end: Array, exp_end: Array, scale: Array
) -> ManyMap:
    """The map of masses of two pools.

    end: ln(V1/V0); exp_end: V1/V0; scale: V0 x stretch x input into the first pool. Source: as in ``pools``.
    """
    (b11, b12), (b21, b22) = rates
    near, far = roots_of_two(rates, losses)
    a, b = stretch * near, stretch * far
    exp_a, exp_b = np.exp(a), np.exp(b)
    ab = difference_of_two(a, exp_a, b, exp_b)
    ac = difference_of_two(a, exp_a, end, exp_end)
    bc = difference_of_two(b, exp_b, end, exp_end)
    abc = difference_of_three(a, b, end, ab, bc, ac)
    slope, turn, first = stretch * ab, scale * stretch * abc, b11 - near
    return ManyMap(
        [[exp_a + slope * first, slope * b12], [slope * b21, exp_a + slope * (b22 - near)]],
        [scale * ac + turn * first, turn * b21],
    )


def roots_of_three(rates: Square, losses: list[Array]) -> list[Array]:
    """The three eigenvalues [L/min], as in ``pools``; steps go on until no root of the arrays moves."""
    out = [-rates[i][i] for i in range(3)]
    first = out[0] + out[1] + out[2]

    def minor(i: int, j: int) -> Array:
        k = 3 - i - j
        return (losses[i] + rates[k][i]) * out[j] + rates[j][i] * (losses[j] + rates[k][j])

    second = minor(0, 1) + minor(0, 2) + minor(1, 2)
    a12, a13, a21, a23, a31, a32 = (
        rates[1][0], rates[2][0], rates[0][1], rates[2][1], rates[0][2], rates[1][2],
    )  # fmt: skip
    third = (
        losses[0] * minor(1, 2)
        + a12 * (losses[1] * (losses[2] + a31 + a32) + a23 * losses[2])
        + a13 * (losses[2] * (losses[1] + a21 + a23) + a32 * losses[1])
    )
    near = np.zeros_like(first)
    for _ in range(STEPS):
        value = ((near - first) * near + second) * near - third
        slope = (3 * near - 2 * first) * near + second
        on = (value < 0) & (slope > 0)
        step = np.where(on, near - value / np.where(on, slope, 1.0), near)
        if (step == near).all():
            break
        near = step
    some = near > 0
    total, product = first - near, np.where(some, third / np.where(some, near, 1.0), second)
    far = total / 2 + np.sqrt(np.maximum(total * total / 4 - product, 0.0))
    return [-near, -product / np.where(far > 0, far, 1.0), -far]


def newton(
    rates: Square, roots: list[Array], more: tuple[Array, ...], stretch: Array, scale: Array
) -> Square:
    """scale x exp[stretch B, more...], as in ``pools``."""
    size, nothing = len(rates), np.zeros_like(scale)
    nodes = [stretch * root for root in roots]
    product: Square = [[np.ones_like(scale) if i == j else nothing for j in range(size)] for i in range(size)]
    total: Square = [[nothing] * size for _ in range(size)]
    power = scale
    for k in range(size):
        factor = power * exp_difference_many(*nodes[: k + 1], *more)
        total = [
            [t + factor * p for t, p in zip(*rows, strict=True)] for rows in zip(total, product, strict=True)
        ]
        if k + 1 < size:
            columns = [
                [rates[i][j] - roots[k] if i == j else rates[i][j] for i in range(size)] for j in range(size)
            ]
            product = [[row_times(row, column) for column in columns] for row in product]
            power = power * stretch
    return total
