"""Only the concentrations before treatment that a cycle settles to, for work that asks for them thousands of times.

One and two pools without release or meals go by plain numbers here, leg by leg, with the map of a leg kept for its
equals; all else goes the general way of ``schedule``. Both give the same.
Source: kinetics A8; the equations are those of ``pools``.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, expm1, inf, log1p, sqrt

from ebbwell.science.exp_differences import NEAR, exp_difference, exp_difference_of_two
from ebbwell.science.pools import Pools, Vector
from ebbwell.science.schedule import FLUID_LEFT_L, Body, settled_before_by_maps
from ebbwell.science.small_matrix import SINGULAR
from ebbwell.science.treatments import Intake, Treatment, shared

PlainLeg = tuple[float, float, float, float, float]
"""Minutes, litres as it begins, L/min gained, L/min lost from the first pool, mass/min into it."""
PairMap = tuple[float, float, float, float, float, float]
"""Of two masses: what is carried over, row by row, then what is added to each."""


def settled_before(
    body: Body, treatments: Sequence[Treatment], cycle_min: float, intakes: Sequence[Intake] = ()
) -> Vector:
    """The concentration in the first pool's water before each treatment, once the cycle repeats itself.

    treatments: as in ``schedule.steps_of``. cycle_min [min]. Unit: that of the input over litres. Raises DomainError as
    ``schedule.settled``. Source: kinetics A8.
    """
    found = None
    if isinstance(body.water, Pools) and treatments and not intakes and not body.release_l_min:
        legs: list[PlainLeg] = []
        begins: list[int] = []
        if _walk(body, treatments, cycle_min, legs, begins):
            shares = body.water.shares
            if len(shares) == 1:
                found = _one(legs, begins)
            elif len(shares) == 2:
                found = _two(body.water, body, legs, begins)
    if found is None:
        return settled_before_by_maps(body, treatments, cycle_min, intakes)
    return found


def _walk(
    body: Body, treatments: Sequence[Treatment], cycle_min: float, legs: list[PlainLeg], begins: list[int]
) -> bool:
    """Fills in the legs and where treatments begin; False for what the general way is to refuse."""
    litres, gain, base_in = body.volume_l, body.gain_l_min, body.generation_per_min
    base_loss = body.residual_l_min + (body.other_l_min[0] if body.other_l_min else 0.0)
    last = treatments[-1]
    over = first_over = gain * (cycle_min - last.start_min - last.minutes)
    now = until = 0.0
    count = len(treatments)
    for number in range(count):
        start, parts = treatments[number]
        if start != until or not parts:
            return False
        begins.append(len(legs))
        if len(parts) == 1 and parts[0][2] is None:
            cut = [(parts[0], over)]
        else:
            cut = shared(treatments[number], over)
        for (minutes, clearance, _, bath, isolated), fluid in cut:
            if not minutes > 0:
                return False
            rate = -fluid / minutes
            if isolated:
                legs.append((minutes, litres + over, rate, base_loss - rate, base_in))
            else:
                legs.append((minutes, litres + over, rate, clearance + base_loss, base_in + clearance * bath))
            over -= fluid
            now += minutes
        until = treatments[number + 1][0] if number + 1 < count else cycle_min
        gap = until - now
        if gap > 0:
            legs.append((gap, litres + over, gain, base_loss, base_in))
            over += gain * gap
        elif gap != 0:
            return False
        now = until
    return abs(over - first_over) <= FLUID_LEFT_L


def _two(pools: Pools, body: Body, legs: list[PlainLeg], begins: list[int]) -> Vector | None:
    """The befores with two pools; None for what the general way is to refuse."""
    seen: dict[PlainLeg, PairMap] = {}
    maps: list[PairMap] = []
    other = body.other_l_min[1] if len(body.other_l_min) > 1 else 0.0
    a11 = a22 = 1.0
    a12 = a21 = b1 = b2 = 0.0
    for leg in legs:
        one = seen.get(leg)
        if one is None:
            one = _pair_map(pools, leg, other)
            if one is None:
                return None
            seen[leg] = one
        maps.append(one)
        c11, c12, c21, c22, d1, d2 = one
        a11, a21, b1, a12, a22, b2 = (
            c11 * a11 + c12 * a21, c21 * a11 + c22 * a21, c11 * b1 + c12 * b2 + d1,
            c11 * a12 + c12 * a22, c21 * a12 + c22 * a22, c21 * b1 + c22 * b2 + d2,
        )  # fmt: skip
    e11, e22 = 1.0 - a11, 1.0 - a22
    whole = e11 * e22 - a12 * a21
    if not whole > SINGULAR:
        return None
    x, y = (e22 * b1 + a12 * b2) / whole, (a21 * b1 + e11 * b2) / whole
    if not -inf < x + y < inf:
        return None
    share, found, ahead = pools.shares[0], [], 0
    for number in begins:
        while ahead < number:
            c11, c12, c21, c22, d1, d2 = maps[ahead]
            x, y = c11 * x + c12 * y + d1, c21 * x + c22 * y + d2
            ahead += 1
        found.append(x / (share * legs[number][1]))
    return tuple(found)


def _pair_map(pools: Pools, leg: PlainLeg, other: float) -> PairMap | None:
    """The map of a leg as ``pools`` makes it, its sums written out: here a call costs as much as the sum in it.

    other: L/min lost from the second pool. None for what the general way is to refuse.
    """
    minutes, litres, rate, loss, into = leg
    if not (0 < minutes < inf and 0 < litres < inf and 0 <= loss < inf):
        return None
    change = rate * minutes / litres
    if not change > -1:
        return None
    near_share, far_share = pools.shares
    out = back = pools.links[0].flow_l_min
    if pools.carries:
        water = rate * far_share
        if water > 0:
            out += water
        else:
            back -= water
    b21, b12 = out / near_share, back / far_share
    loss1, loss2 = loss / near_share, other / far_share
    b11, b22 = -loss1 - b21, -loss2 - b12
    half = (b11 - b22) / 2
    far = (b11 + b22) / 2 - sqrt(half * half + b12 * b21)
    near = (loss1 * loss2 + loss1 * b12 + loss2 * b21) / far if far else 0.0
    c = log1p(change)
    stretch = minutes / litres * (c / change) if change else minutes / litres
    a, b = stretch * near, stretch * far
    plain, gap = exp(a), a - b
    ab = -plain * expm1(-gap) / gap if gap else plain
    ac = exp_difference_of_two(a, c)
    if c >= a:
        width = c - b
        abc = (ac - ab) / width if width > NEAR else exp_difference(a, b, c)
    elif c <= b:
        width = a - c
        abc = (ab - exp_difference_of_two(b, c)) / width if width > NEAR else exp_difference(a, b, c)
    else:
        abc = (ac - exp_difference_of_two(c, b)) / gap if gap > NEAR else exp_difference(a, b, c)
    slope, scale = stretch * ab, litres * stretch * into
    turn = scale * stretch * abc
    first, second = b11 - near, b22 - near
    return (
        plain + slope * first, slope * b12, slope * b21, plain + slope * second,
        scale * ac + turn * first, turn * b21,
    )  # fmt: skip


def _one(legs: list[PlainLeg], begins: list[int]) -> Vector | None:
    """The befores with one pool; None for what the general way is to refuse."""
    seen: dict[PlainLeg, tuple[float, float]] = {}
    maps: list[tuple[float, float]] = []
    carry, gained = 1.0, 0.0
    for leg in legs:
        one = seen.get(leg)
        if one is None:
            minutes, litres, rate, loss, into = leg
            if not (0 < minutes < inf and 0 < litres < inf and 0 <= loss < inf):
                return None
            change = rate * minutes / litres
            if not change > -1:
                return None
            c = log1p(change)
            stretch = minutes / litres * (c / change) if change else minutes / litres
            node = -loss * stretch
            one = seen[leg] = exp(node), litres * stretch * into * exp_difference_of_two(node, c)
        maps.append(one)
        carry, gained = one[0] * carry, one[0] * gained + one[1]
    if not 1.0 - carry > SINGULAR:
        return None
    mass = gained / (1.0 - carry)
    if not -inf < mass < inf:
        return None
    found, ahead = [], 0
    for number in begins:
        while ahead < number:
            mass = maps[ahead][0] * mass + maps[ahead][1]
            ahead += 1
        found.append(mass / legs[number][1])
    return tuple(found)
