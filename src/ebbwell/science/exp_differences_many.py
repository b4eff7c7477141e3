"""``exp_differences`` over arrays, element by element: the quotient for far nodes and the series for near ones.

No element sees the path that it doesn't take, so that nothing divides by 0 and no warning is raised.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ebbwell.science.exp_differences import NEAR, TERMS, over_factorial

Array = NDArray[np.float64]


def exp_difference_many(*nodes: Array) -> Array:
    """The divided difference of e^z over one to six nodes, each an array of one length.

    Nodes finite and at most 700. Raises ValueError without nodes or with more than six. Source: as
    ``exp_differences.exp_difference``.
    """
    if not 1 <= len(nodes) <= 6:
        raise ValueError("a divided difference takes one to six nodes")
    if len(nodes) == 1:
        return np.exp(nodes[0])
    if len(nodes) == 2:
        return difference_of_two(nodes[0], np.exp(nodes[0]), nodes[1], np.exp(nodes[1]))
    return _sorted_difference(np.sort(np.stack(nodes), axis=0))


def difference_of_two(a: Array, exp_a: Array, b: Array, exp_b: Array) -> Array:
    """exp[a, b] where e^a and e^b are known: near nodes go by expm1. Source: as ``exp_difference_many``."""
    gap = a - b
    near = np.abs(gap) <= NEAR
    if not near.any():
        return (exp_a - exp_b) / gap
    if near.all():
        return exp_b * _mean_growth(gap)
    found: Array = (exp_a - exp_b) / np.where(near, 1.0, gap)
    at = np.flatnonzero(near)
    found[at] = exp_b[at] * _mean_growth(gap[at])
    return found


def difference_of_three(a: Array, b: Array, c: Array, ab: Array, bc: Array, ac: Array) -> Array:
    """exp[a, b, c] where the differences of each two are known. Source: as ``exp_difference_many``.

    The quotient is taken over the two nodes that lie farthest apart.
    """
    wide_ab, wide_bc, wide_ac = np.abs(a - b), np.abs(b - c), np.abs(a - c)
    first = (wide_ab >= wide_bc) & (wide_ab >= wide_ac)
    second = ~first & (wide_bc >= wide_ac)
    above = np.where(first, ac - bc, np.where(second, ab - ac, ab - bc))
    below = np.where(first, a - b, np.where(second, b - c, a - c))
    near = np.abs(below) <= NEAR
    if not near.any():
        return above / below
    found: Array = above / np.where(near, 1.0, below)
    at = np.flatnonzero(near)
    found[at] = _series(np.sort(np.stack((a[at], b[at], c[at])), axis=0))
    return found


def _mean_growth(gap: Array) -> Array:
    """(e^gap - 1)/gap, 1 where gap is 0."""
    still = gap == 0
    safe = np.where(still, 1.0, gap)
    return np.where(still, 1.0, np.expm1(safe) / safe)


def _sorted_difference(nodes: Array) -> Array:
    if len(nodes) == 2:
        return difference_of_two(nodes[1], np.exp(nodes[1]), nodes[0], np.exp(nodes[0]))
    width = nodes[-1] - nodes[0]
    near = width <= NEAR
    if near.all():
        return _series(nodes)
    upper, lower = _sorted_difference(nodes[1:]), _sorted_difference(nodes[:-1])
    found: Array = (upper - lower) / np.where(near, 1.0, width)
    at = np.flatnonzero(near)
    if len(at):
        found[at] = _series(nodes[:, at])
    return found


def _series(nodes: Array) -> Array:
    middle = nodes[0] + (nodes[-1] - nodes[0]) / 2
    symmetric = np.zeros((TERMS, nodes.shape[1]))
    symmetric[0] = 1.0
    for node in nodes:
        away = node - middle
        for j in range(1, TERMS):
            symmetric[j] += away * symmetric[j - 1]
    order = len(nodes) - 1
    total = np.zeros(nodes.shape[1])
    for j in range(TERMS - 1, -1, -1):
        total += symmetric[j] * over_factorial(j + order)
    grown: Array = np.exp(middle) * total
    return grown
