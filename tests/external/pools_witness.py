"""Random schedules whose legs general solvers of differential equations go through, knowing nothing of this project.

Each leg is linear: its map is what it does to one unit of mass in each pool, and to none with the input flowing. The
solver takes all legs of all schedules at once, in the share of a leg gone by, so that hundreds cost one run. Water is
either shared by all pools in step, with or without its solute, or the outer pool's alone.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ebbwell.science.pools import Link, Pools
from ebbwell.science.pools_outer import OuterPools
from ebbwell.science.schedule import WEEK_MIN, Body, Part, Treatment

Array = NDArray[np.float64]
STARTS = ((0.0, 24.0, 72.0, 120.0), (0.0, 48.0, 96.0), (0.0, 72.0), (0.0, 20.0, 48.0, 70.0, 100.0, 120.0))
COLUMNS = 4
"""Three pools at most, and the input."""


@dataclass
class Schedule:
    """minutes, litres and L/min as in ``schedule``; outer: the first pool takes all change of water."""

    shares: tuple[float, ...]
    flows: tuple[tuple[int, int, float], ...]
    carries: bool
    outer: bool
    volume: float
    generation: float
    residual: float
    gain: float
    clearance: float
    bath: float
    minutes: float
    starts: tuple[float, ...]
    legs: list[int] = field(default_factory=list)

    def body(self) -> Body:
        pools = Pools(self.shares, tuple(Link(*one) for one in self.flows), self.carries)
        water = OuterPools(pools, self.volume) if self.outer else pools
        return Body(water, self.volume, self.generation, self.residual, gain_l_min=self.gain)

    def nights(self) -> tuple[Treatment, ...]:
        return tuple(
            Treatment(start, (Part(self.minutes, self.clearance, bath=self.bath),)) for start in self.starts
        )


def draw(count: int, outer_every: int, seed: int) -> list[Schedule]:
    """Schedules of one, two and three pools; each ``outer_every``-th with the water outside, 0 for none."""
    dice = np.random.default_rng(seed)
    found = []
    for number in range(count):
        outer = bool(outer_every) and number % outer_every == 0
        pools = int(dice.integers(2, 3) if outer else dice.integers(1, 4))
        parts = dice.uniform(0.25, 1, pools)
        flows = [
            (0, 1, float(dice.uniform(0.1, 1))),
            (int(dice.integers(0, 2)), 2, float(dice.uniform(0.02, 0.4))),
        ]
        found.append(
            Schedule(
                tuple(float(x) for x in parts / parts.sum()),
                tuple(flows[: pools - 1]),
                carries=bool(dice.integers(0, 2)) and not outer,
                outer=outer,
                volume=float(dice.uniform(25, 55)),
                generation=float(dice.uniform(0.1, 0.4)),
                residual=float(dice.choice([0.0, dice.uniform(0, 0.004)])),
                gain=float(dice.choice([0.0, dice.uniform(0, 1.5)])) / 1440,
                clearance=float(dice.uniform(0.08, 0.3)),
                bath=float(dice.choice([0.0, dice.uniform(0, 2)])),
                minutes=float(dice.uniform(120, 540)),
                starts=tuple(60 * x for x in STARTS[int(dice.integers(0, len(STARTS)))]),
            )
        )
    return found


class Legs:
    """All different legs of some schedules, side by side: states are (leg, column, pool), three pools for all."""

    def __init__(self, schedules: list[Schedule]) -> None:
        self._rows: list[tuple[Schedule, float, float, float, float]] = []
        for one in schedules:
            seen: dict[tuple[float, ...], int] = {}
            for i, start in enumerate(one.starts):
                before = start - one.starts[i - 1] if i else WEEK_MIN - one.starts[-1]
                after = (one.starts[i + 1] if i + 1 < len(one.starts) else WEEK_MIN) - start - one.minutes
                came = one.gain * (before - one.minutes)
                for leg in (
                    (one.minutes, one.volume + came, -came / one.minutes, one.clearance),
                    (after, one.volume, one.gain, 0.0),
                ):
                    if leg not in seen:
                        seen[leg] = len(self._rows)
                        self._rows.append((one, *leg))
                    one.legs.append(seen[leg])
        rows = self._rows
        self.count = len(rows)
        self.minutes = np.array([row[1] for row in rows])
        self.volume = np.array([row[2] for row in rows])
        self.fluid = np.array([row[3] for row in rows])
        lost = np.array([row[0].residual + row[4] for row in rows])
        into = np.array([row[0].generation + row[4] * row[0].bath for row in rows])
        self._into = into * self.minutes
        self._outer = np.array([row[0].outer for row in rows])
        self._share = np.array([(*row[0].shares, 1.0, 1.0)[:3] for row in rows])
        self._size = np.array([row[0].volume for row in rows])
        out = np.zeros((self.count, 3, 3))
        for k, (one, _, _, fluid, _) in enumerate(rows):
            out[k, 0, 0] -= lost[k]
            for near, far, flow in one.flows:
                beyond = {far} | {other[1] for other in one.flows if other[0] == far}
                water = fluid * sum(one.shares[i] for i in beyond) if one.carries else 0.0
                there, back = flow + max(water, 0.0), flow + max(-water, 0.0)
                out[k, near, near] -= there
                out[k, far, near] += there
                out[k, far, far] -= back
                out[k, near, far] += back
        self._flows = out * self.minutes[:, None, None]

    def litres(self, gone: float) -> Array:
        """Of each pool at a share of the leg."""
        moved = self.fluid * self.minutes * gone
        even = self._share * (self.volume + moved)[:, None]
        inner = self._share * self._size[:, None]
        first = self.volume + moved - inner[:, 1]
        found: Array = np.where(
            self._outer[:, None], np.stack((first, inner[:, 1], inner[:, 2]), axis=1), even
        )
        return found

    def matrix(self, gone: float) -> Array:
        """Masses to their change for each share of the leg, for each leg."""
        found: Array = self._flows / self.litres(gone)[:, None, :]
        return found

    def change(self, gone: float, state: Array) -> Array:
        """The right side of the equations, for a flat state."""
        masses = state.reshape(self.count, COLUMNS, 3)
        found: Array = np.einsum("kij,kcj->kci", self.matrix(gone), masses)
        found[:, 3, 0] += self._into
        return found.reshape(-1)

    def start(self) -> Array:
        """A unit in each pool by itself, and none."""
        state = np.zeros((self.count, COLUMNS, 3))
        state[:, [0, 1, 2], [0, 1, 2]] = 1.0
        return state.reshape(-1)


def befores(one: Schedule, ends: Array) -> list[float]:
    """The concentrations before treatment of the settled week, from where a solver ended."""
    size = len(one.shares)
    maps = [(ends[k, :size, :size].T, ends[k, 3, :size]) for k in one.legs]
    whole, more = np.eye(size), np.zeros(size)
    for carry, added in maps:
        whole, more = carry @ whole, carry @ more + added
    masses = np.linalg.solve(np.eye(size) - whole, more)
    found = []
    for number, (carry, added) in enumerate(maps):
        if number % 2 == 0:
            i = number // 2
            before = one.starts[i] - one.starts[i - 1] if i else WEEK_MIN - one.starts[-1]
            volume = one.volume + one.gain * (before - one.minutes)
            inner = sum(one.shares[1:]) * one.volume
            found.append(float(masses[0] / (volume - inner if one.outer else one.shares[0] * volume)))
        masses = carry @ masses + added
    return found
