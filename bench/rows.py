"""What a benchmark gives: a figure of ours beside that of a yardstick measured in the same run, turn by turn."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

import msgspec

Work = Callable[[], object]


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


def under(name: str, ours: float, other: float, most: float, note: str, unit: str = "ms") -> Row:
    """A row whose goal is to stay under so much."""
    return row(name, ours, other, f"under {most:g} {unit}", ours < most, note, unit)


def took_ms(work: Work) -> float:
    """Milliseconds that a piece of work took."""
    start = time.perf_counter()
    work()
    return (time.perf_counter() - start) * 1000


def in_turns(turns: int, ours: Work, other: Work) -> tuple[list[float], list[float]]:
    """Milliseconds of ours and of the yardstick, turn by turn, so that a busy machine slows both alike.

    Who goes first changes with every turn.
    """
    mine: list[float] = []
    bare: list[float] = []
    for turn in range(turns):
        pair = [(mine, ours), (bare, other)]
        for times, work in pair if turn % 2 else pair[::-1]:
            times.append(took_ms(work))
    return mine, bare


def p95(times: list[float]) -> float:
    """The 95th percentile."""
    return sorted(times)[max(0, round(len(times) * 0.95) - 1)]


def middle(times: list[float]) -> float:
    """The median."""
    return statistics.median(times)


def spread(times: list[float]) -> str:
    """Median, 95th percentile and longest, for a note."""
    return f"median {middle(times):.2f}, p95 {p95(times):.2f}, longest {max(times):.2f} of {len(times)}"
