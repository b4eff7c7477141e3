"""A solute in one, two or three pools of body water while the water changes: closed form over a leg of time.

Each pool is a fixed share of the water V(t) = V0 + beta t, so that concentrations are masses over shares of V. Within
a leg (dialysis on or off, all flows constant) the masses M obey dM/dt = B M / V + w, with B constant. In the stretched
time s = ln(V/V0)/beta this has constant coefficients, and

    M(s) = exp(sB) M0 + V0 s exp[sB, s beta] w

where exp[., .] is a divided difference; ``exp_differences`` gives it without loss where beta goes to 0, where it meets
an eigenvalue of B (water taken off without dialysis) and where eigenvalues meet. A leg ends at every switch: nothing
steps across one.

Water that moves between pools, so that each keeps its share, carries solute with it or not: ``Pools.carries`` says
which. Concentrations are those in water. Masses may be in mmol or in mg; all else in litres and minutes.
Source: kinetics A8 and section C for the equations, derived in docs/theory.md.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import exp, isfinite, log1p, sqrt
from operator import mul
from typing import NamedTuple

from ebbwell.core.errors import DomainError
from ebbwell.science.exp_differences import exp_difference, exp_difference_of_two

Vector = tuple[float, ...]
Matrix = tuple[Vector, ...]

MOST_POOLS = 3
STEPS = 200
"""Most steps of Newton towards the root nearest 0; some ten are needed. Source: arithmetic."""
SHARES_ADD_TO = 1e-9
"""How far the shares may add up beside 1. Source: arithmetic."""


class Link(NamedTuple):
    """Two pools, numbered from 0, and the flow that solute crosses between them with [L/min], the same both ways."""

    near: int
    far: int
    flow_l_min: float


@dataclass(frozen=True, slots=True)
class Pools:
    """shares: of the water, adding up to 1; the first pool is the one that blood and kidneys see.

    links: one fewer than pools, ``near`` always closer to the first pool. carries: water that moves between the pools
    takes its solute along. Raises DomainError for what isn't such a set of pools.
    """

    shares: Vector
    links: tuple[Link, ...] = ()
    carries: bool = False

    def __post_init__(self) -> None:
        count = len(self.shares)
        reached = {0}
        for link in self.links:
            if link.near not in reached or link.far in reached or not 0 < link.far < count:
                raise DomainError("science.pools_links")
            if not (isfinite(link.flow_l_min) and link.flow_l_min >= 0):
                raise DomainError("science.pools_links")
            reached.add(link.far)
        if not 1 <= count <= MOST_POOLS or len(reached) != count:
            raise DomainError("science.pools_links")
        if not all(isfinite(share) and share > 0 for share in self.shares):
            raise DomainError("science.pools_shares")
        if abs(sum(self.shares) - 1) > SHARES_ADD_TO:
            raise DomainError("science.pools_shares")

    def beyond(self, link: Link) -> float:
        """The share of the water that lies behind a link, seen from the first pool."""
        behind = {link.far}
        for other in self.links:
            if other.near in behind:
                behind.add(other.far)
        return sum(self.shares[i] for i in behind)

    def over(self, leg: Leg) -> LegMap:
        """The map of masses over a leg. Raises DomainError for a leg that can't be, such as one that empties the pools.

        Source: module text.
        """
        return _map(self, leg)

    def area_over(self, leg: Leg) -> LegMap:
        """The exact time integral of each concentration over a leg, as a map of the masses before and the input.

        Unit: concentration x min. Divided by the minutes it is the time mean. Raises DomainError as ``over``.
        Source: module text; the integral adds a node at 0.
        """
        return _area(self, leg)

    def concentrations(self, masses: Vector, volume_l: float) -> Vector:
        """Concentration in the water of each pool, mass/L; volume_l [L] above 0."""
        return tuple(mass / (share * volume_l) for mass, share in zip(masses, self.shares, strict=True))

    def masses_at(self, concentration: float, volume_l: float) -> Vector:
        """Masses with the same concentration, mass/L, in every pool; volume_l [L] above 0."""
        return tuple(concentration * share * volume_l for share in self.shares)


ONE_POOL = Pools((1.0,))


class Leg(NamedTuple):
    """A stretch of time with all flows constant.

    minutes above 0. volume_l [L]: the water as it begins, above 0. fluid_l_min [L/min]: gained, or below 0 taken off.
    clearance_l_min [L/min]: loss from each pool over its concentration, 0 or more.
    """

    minutes: float
    volume_l: float
    fluid_l_min: float
    clearance_l_min: Vector

    @property
    def volume_end_l(self) -> float:
        """The water as the leg ends [L]."""
        return self.volume_l + self.fluid_l_min * self.minutes


class LegMap(NamedTuple):
    """What a leg does to masses: after = carry x before + response x input; input is mass/min into each pool."""

    carry: Matrix
    response: Matrix


def _map(pools: Pools, leg: Leg) -> LegMap:
    rates, stretch = _rates(pools, leg), stretched(leg)
    if len(rates) == 1:
        return _one_pool(rates[0][0], leg, stretch)
    if len(rates) == 2:
        return _two_pools(rates, _losses(pools, leg), leg, stretch)
    nodes = [stretch * root for root in _roots_of_three(rates, pools, leg)]
    end = stretch * leg.fluid_l_min
    carry = _newton(rates, nodes, (), stretch, 1.0)
    return LegMap(carry, _newton(rates, nodes, (end,), stretch, leg.volume_l * stretch))


def _area(pools: Pools, leg: Leg) -> LegMap:
    rates, stretch = _rates(pools, leg), stretched(leg)
    end, scale = stretch * leg.fluid_l_min, leg.volume_l * stretch * stretch
    if len(rates) == 2:
        near, far = _roots_of_two(rates, _losses(pools, leg))
        a, b = stretch * near, stretch * far
        carry = _first_order(
            rates,
            near,
            stretch * exp_difference_of_two(a, 0.0),
            stretch * stretch * exp_difference(a, b, 0.0),
        )
        response = _first_order(
            rates, near, scale * exp_difference(a, end, 0.0), scale * stretch * exp_difference(a, b, end, 0.0)
        )
    else:
        roots = _roots_of_three(rates, pools, leg) if len(rates) == 3 else (rates[0][0],)
        nodes = [stretch * root for root in roots]
        carry = _newton(rates, nodes, (0.0,), stretch, stretch)
        response = _newton(rates, nodes, (end, 0.0), stretch, scale)
    return LegMap(_over(carry, pools.shares), _over(response, pools.shares))


def after(step: LegMap, masses: Vector, inflow: Vector) -> Vector:
    """Masses after a leg (or areas, from ``area_over``), from masses before and mass/min into each pool."""
    return tuple(
        sum(map(mul, carry, masses)) + sum(map(mul, response, inflow))
        for carry, response in zip(step.carry, step.response, strict=True)
    )


def stretched(leg: Leg) -> float:
    """A leg's length in the time that the equations are linear in [min/L].

    s = ln(V1/V0)/beta, which goes to minutes/V0 as beta goes to 0. Raises DomainError for a leg that can't be.
    """
    if not all(map(isfinite, (leg.minutes, leg.volume_l, leg.fluid_l_min, *leg.clearance_l_min))):
        raise DomainError("science.leg_not_a_number")
    if leg.minutes <= 0 or leg.volume_l <= 0 or any(k < 0 for k in leg.clearance_l_min):
        raise DomainError("science.leg_not_above_zero")
    change = leg.fluid_l_min * leg.minutes / leg.volume_l
    if change <= -1:
        raise DomainError("science.leg_empties", volume=f"{leg.volume_l:.1f}")
    return leg.minutes / leg.volume_l * (log1p(change) / change if change else 1.0)


def _transfers(pools: Pools, fluid_l_min: float) -> list[tuple[int, int, float]]:
    """Flows of solute [L/min] from pool to pool: across the links, and with the water where it carries."""
    flows = []
    for link in pools.links:
        water = fluid_l_min * pools.beyond(link) if pools.carries else 0.0
        flows.append((link.near, link.far, link.flow_l_min + max(water, 0.0)))
        flows.append((link.far, link.near, link.flow_l_min + max(-water, 0.0)))
    return flows


@lru_cache(maxsize=64)
def _exchange(pools: Pools, fluid_l_min: float) -> Matrix:
    """B without the losses."""
    count = len(pools.shares)
    rows = [[0.0] * count for _ in range(count)]
    for start, end, flow in _transfers(pools, fluid_l_min):
        rows[start][start] -= flow / pools.shares[start]
        rows[end][start] += flow / pools.shares[start]
    return tuple(tuple(row) for row in rows)


def _losses(pools: Pools, leg: Leg) -> Vector:
    return tuple(k / share for k, share in zip(leg.clearance_l_min, pools.shares, strict=True))


def _rates(pools: Pools, leg: Leg) -> Matrix:
    """The matrix B [L/min]."""
    exchange = _exchange(pools, leg.fluid_l_min if pools.carries else 0.0)
    return tuple(
        tuple(rate - loss if i == j else rate for j, rate in enumerate(row))
        for i, (row, loss) in enumerate(zip(exchange, _losses(pools, leg), strict=True))
    )


def _one_pool(rate: float, leg: Leg, stretch: float) -> LegMap:
    node = rate * stretch
    response = leg.volume_l * stretch * exp_difference_of_two(node, leg.fluid_l_min * stretch)
    return LegMap(((exp(node),),), ((response,),))


def _roots_of_two(rates: Matrix, losses: Vector) -> tuple[float, float]:
    """Both eigenvalues, the one nearer 0 from the product, which has no cancelling terms."""
    (b11, b12), (b21, b22) = rates
    half = (b11 - b22) / 2
    far = (b11 + b22) / 2 - sqrt(half * half + b12 * b21)
    if far == 0:
        return 0.0, 0.0
    return (losses[0] * losses[1] + losses[0] * b12 + losses[1] * b21) / far, far


def _two_pools(rates: Matrix, losses: Vector, leg: Leg, stretch: float) -> LegMap:
    near, far = _roots_of_two(rates, losses)
    a, b, c = stretch * near, stretch * far, stretch * leg.fluid_l_min
    scale = leg.volume_l * stretch
    carry = _first_order(rates, near, exp(a), stretch * exp_difference_of_two(a, b))
    return LegMap(
        carry,
        _first_order(
            rates, near, scale * exp_difference_of_two(a, c), scale * stretch * exp_difference(a, b, c)
        ),
    )


def _first_order(rates: Matrix, root: float, plain: float, slope: float) -> Matrix:
    """plain x I + slope x (B - root)."""
    (b11, b12), (b21, b22) = rates
    return (plain + slope * (b11 - root), slope * b12), (slope * b21, plain + slope * (b22 - root))


def _roots_of_three(rates: Matrix, pools: Pools, leg: Leg) -> tuple[float, float, float]:
    """The three eigenvalues, all real and none above 0.

    The characteristic polynomial's coefficients are sums of products of rates, without differences; Newton's steps from
    0 climb to the root nearest 0 without passing it, and the other two are those of the quadratic that is left.
    """
    out = [-rates[i][i] for i in range(3)]
    loss = _losses(pools, leg)
    first = sum(out)
    second = sum(_minor(rates, out, loss, i, j) for i, j in ((0, 1), (0, 2), (1, 2)))
    a12, a13, a21, a23, a31, a32 = (
        rates[1][0], rates[2][0], rates[0][1], rates[2][1], rates[0][2], rates[1][2],
    )  # fmt: skip
    third = (
        loss[0] * _minor(rates, out, loss, 1, 2)
        + a12 * (loss[1] * (loss[2] + a31 + a32) + a23 * loss[2])
        + a13 * (loss[2] * (loss[1] + a21 + a23) + a32 * loss[1])
    )
    near = 0.0
    for _ in range(STEPS):
        value = ((near - first) * near + second) * near - third
        slope = (3 * near - 2 * first) * near + second
        if value >= 0 or slope <= 0:
            break
        step = near - value / slope
        if step == near:
            break
        near = step
    rest_sum, rest_product = first - near, (third / near if near else second)
    root = sqrt(max(rest_sum * rest_sum / 4 - rest_product, 0.0))
    far = rest_sum / 2 + root
    return -near, -(rest_product / far if far else 0.0), -far


def _minor(rates: Matrix, out: list[float], loss: Vector, i: int, j: int) -> float:
    """out_i out_j less the product of the flows between i and j, written as a sum: no digits cancel."""
    k = 3 - i - j
    i_to_j, i_away = rates[j][i], loss[i] + rates[k][i]
    j_away = loss[j] + rates[k][j]
    return i_away * out[j] + i_to_j * j_away


def _newton(rates: Matrix, nodes: list[float], more: Vector, stretch: float, scale: float) -> Matrix:
    """scale x exp[stretch B, more...], by Newton's form at the eigenvalues (nodes: stretched)."""
    count = len(rates)
    product = [[1.0 if i == j else 0.0 for j in range(count)] for i in range(count)]
    total = [[0.0] * count for _ in range(count)]
    power = scale
    for k in range(count):
        factor = power * exp_difference(*nodes[: k + 1], *more)
        for i in range(count):
            for j in range(count):
                total[i][j] += factor * product[i][j]
        if k + 1 < count:
            root = nodes[k] / stretch
            shifted = [
                [b - (root if i == j else 0.0) for j, b in enumerate(row)] for i, row in enumerate(rates)
            ]
            product = [
                [sum(product[i][m] * shifted[m][j] for m in range(count)) for j in range(count)]
                for i in range(count)
            ]
            power *= stretch
    return tuple(tuple(row) for row in total)


def _over(matrix: Matrix, shares: Vector) -> Matrix:
    return tuple(tuple(x / share for x in row) for row, share in zip(matrix, shares, strict=True))
