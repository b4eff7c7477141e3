"""The same pools where the first one takes all the change of water and the others stay as they are.

The first pool's volume is then alone in changing, the equations have no closed form in everyday functions, and the
masses go by power series: the equation times that volume gives each coefficient from the two before it, exactly, and a
step is so short that the coefficients left out are below the last digit. ``pools`` is the quick way and this is the
picture that most published tables were made with; ``docs/theory.md`` shows how far they lie apart.
Source: kinetics A8 (inner pool constant, the outer carries all fluid change).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from ebbwell.core.errors import DomainError
from ebbwell.science.pools import Leg, LegMap, Pools, Vector, stretched

ORDER = 26
"""Powers of a step. Source: arithmetic (with BITE at 1, what is left out is below 1e-16)."""
BITE = 1.0
"""Largest of rate x step. Source: arithmetic, see ORDER."""


@dataclass(frozen=True, slots=True)
class OuterPools:
    """pools: shares of the water at ``reference_l`` [L]; whatever is gained or taken off is the first pool's.

    Water doesn't move between the pools, so that ``carries`` of pools says nothing here. Raises DomainError for a
    reference that isn't above 0.
    """

    pools: Pools
    reference_l: float

    def __post_init__(self) -> None:
        if not self.reference_l > 0:
            raise DomainError("science.leg_not_above_zero")

    def volumes(self, volume_l: float) -> Vector:
        """Litres in each pool where the water is volume_l [L]. Raises DomainError where nothing is left in the first."""
        inner = tuple(share * self.reference_l for share in self.pools.shares[1:])
        outer = volume_l - sum(inner)
        if outer <= 0:
            raise DomainError("science.leg_empties", volume=f"{volume_l:.1f}")
        return (outer, *inner)

    def over(self, leg: Leg) -> LegMap:
        """The map of masses over a leg. Raises DomainError as ``Pools.over``. Source: module text."""
        return self._walk(leg)[0]

    def area_over(self, leg: Leg) -> LegMap:
        """The time integral of each concentration over a leg, as ``Pools.area_over``. Source: module text."""
        return self._walk(leg)[1]

    def concentrations(self, masses: Vector, volume_l: float) -> Vector:
        """Concentration in the water of each pool, mass/L. Raises DomainError as ``volumes``."""
        return tuple(mass / volume for mass, volume in zip(masses, self.volumes(volume_l), strict=True))

    def masses_at(self, concentration: float, volume_l: float) -> Vector:
        """Masses with the same concentration, mass/L, in every pool. Raises DomainError as ``volumes``."""
        return tuple(concentration * volume for volume in self.volumes(volume_l))

    def _walk(self, leg: Leg) -> tuple[LegMap, LegMap]:
        """Columns: one for each unit mass in a pool, then one for each unit of input; beside them their areas."""
        stretched(leg)
        count = len(self.pools.shares)
        outer, *inner = self.volumes(leg.volume_l)
        self.volumes(leg.volume_end_l)
        lowest = min(outer, outer + leg.fluid_l_min * leg.minutes)
        flows = [*leg.clearance_l_min, *(2 * link.flow_l_min for link in self.pools.links)]
        fastest = (sum(flows) + abs(leg.fluid_l_min)) / min((lowest, *inner))
        steps = max(1, ceil(leg.minutes * fastest / BITE))
        step = leg.minutes / steps
        columns = [[1.0 if i == j else 0.0 for i in range(count)] for j in range(count)]
        columns += [[0.0] * count for _ in range(count)]
        areas = [[0.0] * count for _ in range(2 * count)]
        for number in range(steps):
            volumes = (outer + leg.fluid_l_min * step * number, *inner)
            for j, column in enumerate(columns):
                unit = j - count
                inflow = [1.0 if i == unit else 0.0 for i in range(count)]
                columns[j], gained = self._step(leg, volumes, column, inflow, step)
                areas[j] = [area + more for area, more in zip(areas[j], gained, strict=True)]
        return _turned(columns, count), _turned(areas, count)

    def _step(
        self, leg: Leg, volumes: Vector, masses: list[float], inflow: list[float], step: float
    ) -> tuple[list[float], list[float]]:
        """Masses after one step, and the area under each concentration in it.

        The unknowns are the concentrations c, in powers of the step: V c' + beta c = flows of c + input.
        """
        count = len(masses)
        c = [[mass / volume for mass, volume in zip(masses, volumes, strict=True)]]
        beta = [leg.fluid_l_min] + [0.0] * (count - 1)
        for k in range(ORDER):
            flow = [-loss * x for loss, x in zip(leg.clearance_l_min, c[k], strict=True)]
            for near, far, across in self.pools.links:
                moved = across * (c[k][near] - c[k][far])
                flow[near] -= moved
                flow[far] += moved
            c.append(
                [
                    (flow[i] + (inflow[i] if k == 0 else 0.0) - beta[i] * (k + 1) * c[k][i])
                    / ((k + 1) * volumes[i])
                    for i in range(count)
                ]
            )
        ends, gained = [], []
        for i in range(count):
            value = area = 0.0
            for k in range(ORDER, -1, -1):
                value = value * step + c[k][i]
                area = area * step + c[k][i] / (k + 1)
            ends.append(value * (volumes[i] + beta[i] * step))
            gained.append(area * step)
        return ends, gained


def _turned(columns: list[list[float]], count: int) -> LegMap:
    rows = [tuple(column[i] for column in columns) for i in range(count)]
    return LegMap(tuple(row[:count] for row in rows), tuple(row[count:] for row in rows))
