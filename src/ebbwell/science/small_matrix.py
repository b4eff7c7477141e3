"""Sets of three or four linear equations, in plain numbers: too small for a library to be worth its call.

Source: arithmetic.
"""

from __future__ import annotations

from operator import mul

from ebbwell.core.errors import DomainError

Rows = list[list[float]]

SINGULAR = 1e-13
"""Pivots below this, beside the largest number, count as none. Source: arithmetic."""


def solve(rows: Rows, right: list[float]) -> list[float]:
    """The solution of a small set of linear equations, by elimination with the largest pivot.

    rows, right: n by n and n. Raises DomainError where there is no single solution. Source: arithmetic.
    """
    size = len(rows)
    work = [[*row, value] for row, value in zip(rows, right, strict=True)]
    largest = max((abs(x) for row in rows for x in row), default=0.0)
    for k in range(size):
        pivot = max(range(k, size), key=lambda i: abs(work[i][k]))
        if abs(work[pivot][k]) <= SINGULAR * largest or largest == 0:
            raise DomainError("science.nothing_removes")
        work[k], work[pivot] = work[pivot], work[k]
        for i in range(k + 1, size):
            factor = work[i][k] / work[k][k]
            for j in range(k, size + 1):
                work[i][j] -= factor * work[k][j]
    found = [0.0] * size
    for k in range(size - 1, -1, -1):
        rest = sum(work[k][j] * found[j] for j in range(k + 1, size))
        found[k] = (work[k][size] - rest) / work[k][k]
    return found


def unit(size: int) -> Rows:
    """Ones on the diagonal."""
    return [[1.0 if i == j else 0.0 for j in range(size)] for i in range(size)]


def times(left: Rows, right: Rows) -> Rows:
    """left x right."""
    columns = list(zip(*right, strict=True))
    return [[sum(map(mul, row, column)) for column in columns] for row in left]
