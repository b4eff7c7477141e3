"""Divided differences of the exponential function, without loss where nodes meet.

exp[a] = e^a, exp[a, b] = (e^a - e^b) / (a - b), and so on; where nodes are equal the difference is the derivative over
its factorial. They are all above 0. The plain quotient loses every digit as nodes draw near; here near nodes take a
series about their middle instead, and far nodes the quotient, so that nothing leaps in between.
"""

from __future__ import annotations

from math import exp, expm1, factorial

NEAR = 1.0
"""Nodes no further apart than this take the series. Source: arithmetic (the term of the last power is below 1e-17)."""
TERMS = 17
"""Powers in the series. Source: arithmetic, see NEAR."""

_OVER_FACTORIAL = tuple(1.0 / factorial(k) for k in range(TERMS + 6))


def over_factorial(k: int) -> float:
    """1/k! for k from 0 to 22. Source: arithmetic."""
    return _OVER_FACTORIAL[k]


def exp_difference(*nodes: float) -> float:
    """The divided difference of e^z over one to six nodes, equal or not, in any order.

    nodes: each finite and at most 700. Relative error some 1e-15. Raises ValueError without nodes or with more than
    six, OverflowError for a larger node. Source: arithmetic (definition); Opitz 1964 for equal nodes, from memory.
    """
    if not 1 <= len(nodes) <= 6:
        raise ValueError("a divided difference takes one to six nodes")
    return _sorted_difference(sorted(nodes))


def exp_difference_of_two(a: float, b: float) -> float:
    """exp[a, b] for finite a and b, at most 700: the mean of e^z between them. Source: as ``exp_difference``."""
    if a < b:
        a, b = b, a
    gap = a - b
    return exp(a) * (-expm1(-gap) / gap) if gap else exp(a)


def _sorted_difference(nodes: list[float]) -> float:
    """By the triangle of differences, each row from the one before; near neighbours by the series."""
    count = len(nodes)
    if count == 1:
        return exp(nodes[0])
    if count > 2 and nodes[-1] - nodes[0] <= NEAR:
        return _series(nodes)
    row = [exp_difference_of_two(nodes[i + 1], nodes[i]) for i in range(count - 1)]
    for order in range(2, count):
        above = []
        for i in range(count - order):
            width = nodes[i + order] - nodes[i]
            above.append((row[i + 1] - row[i]) / width if width > NEAR else _series(nodes[i : i + order + 1]))
        row = above
    return row[0]


def _series(nodes: list[float]) -> float:
    """e^middle times the sum of h_j / (j + order)!, h_j the complete symmetric sums of the nodes about the middle."""
    middle = nodes[0] + (nodes[-1] - nodes[0]) / 2
    symmetric = [1.0] + [0.0] * (TERMS - 1)
    for node in nodes:
        away, last = node - middle, 1.0
        for j in range(1, TERMS):
            symmetric[j] = last = symmetric[j] + away * last
    order = len(nodes) - 1
    total = 0.0
    for j in range(TERMS - 1, -1, -1):
        total += symmetric[j] * _OVER_FACTORIAL[j + order]
    return exp(middle) * total
