"""What a benchmark gives: milliseconds of ours beside those of a yardstick measured in the same run."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

import msgspec


class Row(msgspec.Struct, frozen=True):
    """ours, other: in unit; other is 0 where the goal is a plain time. holds: whether the goal is met."""

    name: str
    ours: float
    other: float
    unit: str
    ratio: float
    goal: str
    holds: bool
    note: str


def row(name: str, ours: float, other: float, goal: str, holds: bool, note: str, unit: str = "ms") -> Row:
    """A row with its ratio worked out, to three digits."""
    ratio = ours / other if other else 0.0
    return Row(name, round(ours, 3), round(other, 3), unit, round(ratio, 3), goal, holds, note)


def took_ms(work: Callable[[], object]) -> float:
    """Milliseconds that a piece of work took."""
    start = time.perf_counter()
    work()
    return (time.perf_counter() - start) * 1000


def p95(times: list[float]) -> float:
    """The 95th percentile."""
    return sorted(times)[max(0, round(len(times) * 0.95) - 1)]


def middle(times: list[float]) -> float:
    """The median."""
    return statistics.median(times)
