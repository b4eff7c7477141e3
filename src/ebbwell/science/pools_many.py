"""Many schedules at once, over NumPy arrays: what ``schedule.settled`` gives, for whole families of bodies and nights.

Each number below may be one for all or an array with one for each schedule; how many pools there are, how they hang
together and how many treatments a cycle has is the same for all. Treatments take off all the fluid that came in since
the one before. Work goes in chunks that fit the processor's cache. Source: kinetics A8; equations as in ``pools``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import NamedTuple

import numpy as np

from ebbwell.core.errors import DomainError
from ebbwell.science.exp_differences_many import Array, difference_of_two
from ebbwell.science.many_maps import (
    ManyMap,
    Square,
    moved,
    newton,
    periodic,
    roots_of_three,
    roots_of_two,
    row_times,
    then,
    two_pools,
)
from ebbwell.science.pools import MOST_POOLS, SHARES_ADD_TO

Numbers = float | Array
Cut = Callable[[Numbers], Array]
"""Gives the part of some numbers that a chunk works with, as an array."""

CHUNK = 2048
"""Schedules worked at a time. Source: design (some 40 arrays of 16 kB stay in the cache)."""


class ManyLink(NamedTuple):
    """Two pools, numbered from 0, and the flow that solute crosses between them with [L/min]."""

    near: int
    far: int
    flow_l_min: Numbers


class ManyTreatment(NamedTuple):
    """start_min: from the start of the cycle. clearance_l_min [L/min]. bath: concentration in the dialysis fluid."""

    start_min: Numbers
    minutes: Numbers
    clearance_l_min: Numbers
    bath: Numbers = 0.0


@dataclass(frozen=True, slots=True)
class ManyBodies:
    """shares, links, carries: as in ``pools.Pools``; the rest as in ``schedule.Body``. Units as there."""

    shares: tuple[Numbers, ...]
    links: tuple[ManyLink, ...]
    volume_l: Numbers
    generation_per_min: Numbers
    residual_l_min: Numbers = 0.0
    gain_l_min: Numbers = 0.0
    other_l_min: tuple[Numbers, ...] = ()
    carries: bool = False


@dataclass(frozen=True, slots=True)
class ManySettled:
    """before: concentration in the first pool's water, a row for each treatment. mean: its time mean, where asked.

    end: as each treatment ends, where asked; start: concentrations as the cycle begins, a row for each pool, then too.
    """

    before: Array
    mean: Array | None
    end: Array | None = None
    start: Array | None = None


class _Leg(NamedTuple):
    minutes: Array
    volume: Array
    fluid: Array
    losses: tuple[Array, ...]
    into: Array


def settled_many(
    bodies: ManyBodies,
    treatments: Sequence[ManyTreatment],
    cycle_min: Numbers,
    means: bool = False,
    chunk: int = CHUNK,
    ends: bool = False,
) -> ManySettled:
    """What each cycle looks like once it repeats itself.

    treatments: by start, the first at 0. cycle_min [min]. means: whether to work out the time mean, which costs some
    times more. chunk: schedules worked at a time. ends: whether to tell how treatments end. Raises DomainError as
    ``schedule.settled``, even where only one of the schedules can't be. Source: kinetics A8.
    """
    if not treatments:
        raise DomainError("science.no_treatments")
    if len(bodies.links) != len(bodies.shares) - 1 or not 1 <= len(bodies.shares) <= MOST_POOLS:
        raise DomainError("science.pools_links")
    count = _length(bodies, treatments, cycle_min)
    before = np.empty((len(treatments), count))
    mean = np.empty(count) if means else None
    end = np.empty((len(treatments), count)) if ends else None
    start = np.empty((len(bodies.shares), count)) if ends else None
    for place, cut in _chunks(count, chunk):
        part = _Chunk(bodies, treatments, cycle_min, cut)
        before[:, place] = part.settle()
        if mean is not None:
            mean[place] = part.mean()
        if end is not None and start is not None:
            end[:, place] = part.course(part.start, 1)[1]
            start[:, place] = part.concentrations()
    return ManySettled(before, mean, end, start)


def followed_many(
    bodies: ManyBodies,
    treatments: Sequence[ManyTreatment],
    cycle_min: Numbers,
    start: Array,
    cycles: int,
    chunk: int = CHUNK,
) -> tuple[Array, Array]:
    """What so many cycles do, one after another: concentrations before treatments, and as they end, a row for each.

    start: concentrations in the water of each pool as the first treatment begins, a row for each pool; the gap before it
    is the one that ends the cycle. Raises DomainError as ``settled_many``. Source: kinetics A8.
    """
    if not treatments:
        raise DomainError("science.no_treatments")
    count = max(_length(bodies, treatments, cycle_min), start.shape[1])
    before = np.empty((cycles * len(treatments), count))
    end = np.empty_like(before)
    for place, cut in _chunks(count, chunk):
        part = _Chunk(bodies, treatments, cycle_min, cut)
        part.map_all()
        masses = part.masses_of([cut(row) for row in start])
        before[:, place], end[:, place] = part.course(masses, cycles)
    return before, end


def _length(bodies: ManyBodies, treatments: Sequence[ManyTreatment], cycle_min: Numbers) -> int:
    numbers = [
        *bodies.shares, *(link.flow_l_min for link in bodies.links), bodies.volume_l, bodies.generation_per_min,
        bodies.residual_l_min, bodies.gain_l_min, *bodies.other_l_min, cycle_min,
    ]  # fmt: skip
    for one in treatments:
        numbers += one
    arrays = [np.asarray(x) for x in numbers]
    if not all(np.isfinite(x).all() for x in arrays):
        raise DomainError("science.leg_not_a_number")
    return int(np.broadcast_shapes((1,), *(x.shape for x in arrays))[0])


def _chunks(count: int, chunk: int) -> Iterator[tuple[slice, Cut]]:
    """Where each chunk lies among all schedules, and what cuts its part out of any numbers."""
    for low in range(0, count, chunk):
        high = min(low + chunk, count)
        yield slice(low, high), partial(_cut, low=low, high=high)


def _cut(x: Numbers, low: int, high: int) -> Array:
    array = np.asarray(x, dtype=np.float64)
    if array.ndim == 0 or array.shape[0] == 1:
        return np.full(high - low, float(array.reshape(-1)[0]))
    return array[low:high]


class _Chunk:
    """The schedules of one chunk. Legs that hang on the same numbers are one leg, and its map is worked once."""

    def __init__(
        self,
        bodies: ManyBodies,
        treatments: Sequence[ManyTreatment],
        cycle_min: Numbers,
        cut: Cut,
    ) -> None:
        self._volume, self._generation = cut(bodies.volume_l), cut(bodies.generation_per_min)
        self._shares = [cut(x) for x in bodies.shares]
        self._links = [ManyLink(x.near, x.far, cut(x.flow_l_min)) for x in bodies.links]
        self._carries = bodies.carries
        self._residual, self._gain = cut(bodies.residual_l_min), cut(bodies.gain_l_min)
        others = [cut(x) for x in bodies.other_l_min]
        self._others = others + [np.zeros_like(self._volume) for _ in self._shares[len(others) :]]
        self._check()
        self._cycle = cut(cycle_min)
        self._keys: list[object] = []
        self._legs: dict[object, _Leg] = {}
        self._maps: dict[object, ManyMap] = {}
        self._plan(treatments, cycle_min, cut)
        self.start: list[Array] = []

    def _check(self) -> None:
        if any((share <= 0).any() for share in self._shares):
            raise DomainError("science.pools_shares")
        if (np.abs(sum(self._shares) - 1.0) > SHARES_ADD_TO).any():
            raise DomainError("science.pools_shares")
        reached = {0}
        for link in self._links:
            if link.near not in reached or link.far in reached or not 0 < link.far < len(self._shares):
                raise DomainError("science.pools_links")
            if (np.asarray(link.flow_l_min) < 0).any():
                raise DomainError("science.pools_links")
            reached.add(link.far)
        if (self._volume <= 0).any() or any((x < 0).any() for x in (self._residual, *self._others)):
            raise DomainError("science.leg_not_above_zero")

    def _plan(self, treatments: Sequence[ManyTreatment], cycle_min: Numbers, cut: Cut) -> None:
        """A leg for each treatment and one for the gap after it."""
        starts = [one.start_min for one in treatments]
        if (cut(starts[0]) != 0).any():
            raise DomainError("science.treatments_overlap", number=1)
        lengths = {_key(one.minutes): cut(one.minutes) for one in treatments}
        count = len(treatments)
        spans = [
            _less(starts[i + 1], starts[i], cut) if i + 1 < count else _less(cycle_min, starts[i], cut)
            for i in range(count)
        ]
        losses = (self._residual + self._others[0], *self._others[1:])
        for i, one in enumerate(treatments):
            length, clearance, bath = lengths[_key(one.minutes)], one.clearance_l_min, one.bath
            span, last = spans[i], treatments[i - 1]
            night = ("night", *map(_key, (spans[i - 1], last.minutes, one.minutes, clearance, bath)))
            gap = ("gap", _key(span), _key(one.minutes))
            self._keys += [night, gap]
            if night not in self._legs:
                fluid = self._gain * (spans[i - 1] - lengths[_key(last.minutes)])
                taken = cut(clearance)
                if (length <= 0).any() or (taken < 0).any():
                    raise DomainError("science.leg_not_above_zero")
                into = self._generation + taken * cut(bath)
                self._legs[night] = _Leg(
                    length, self._volume + fluid, -fluid / length, (losses[0] + taken, *losses[1:]), into
                )
            if gap not in self._legs:
                rest = span - length
                if (rest < 0).any():
                    raise DomainError("science.treatments_overlap", number=(i + 1) % count + 1)
                self._legs[gap] = _Leg(rest, self._volume, self._gain, losses, self._generation)

    def map_all(self) -> None:
        """Works out the map of each leg, once."""
        for key, leg in self._legs.items():
            self._maps[key] = self._map(leg)

    def settle(self) -> Array:
        """The concentrations before treatment, a row for each; keeps the masses at the start for ``mean``."""
        self.map_all()
        whole = self._maps[self._keys[0]]
        for key in self._keys[1:]:
            whole = then(self._maps[key], whole)
        self.start = masses = periodic(whole)
        rows = np.empty((len(self._keys) // 2, len(self._volume)))
        for i, key in enumerate(self._keys):
            if i % 2 == 0:
                rows[i // 2] = masses[0] / (self._shares[0] * self._legs[key].volume)
            masses = moved(self._maps[key], masses)
        return rows

    def course(self, masses: list[Array], cycles: int) -> tuple[Array, Array]:
        """Concentrations before treatments and as they end, from masses at the start on."""
        count = len(self._keys) // 2
        before = np.empty((cycles * count, len(self._volume)))
        end = np.empty_like(before)
        for cycle in range(cycles):
            for i, key in enumerate(self._keys):
                place = cycle * count + i // 2
                if i % 2 == 0:
                    before[place] = masses[0] / (self._shares[0] * self._legs[key].volume)
                masses = moved(self._maps[key], masses)
                if i % 2 == 0:
                    end[place] = masses[0] / (self._shares[0] * self._volume)
        return before, end

    def concentrations(self) -> Array:
        """Of each pool as the settled cycle begins."""
        volume = self._legs[self._keys[0]].volume
        return np.array([m / (share * volume) for m, share in zip(self.start, self._shares, strict=True)])

    def masses_of(self, concentrations: list[Array]) -> list[Array]:
        """The same the other way round, of any."""
        volume = self._legs[self._keys[0]].volume
        return [c * share * volume for c, share in zip(concentrations, self._shares, strict=True)]

    def mean(self) -> Array:
        """The time mean of the concentration in the first pool's water over the cycle."""
        areas = {key: self._first_area(leg) for key, leg in self._legs.items()}
        masses, total = self.start, np.zeros_like(self._volume)
        for key in self._keys:
            row, more = areas[key]
            total += row_times(row, masses) + more
            masses = moved(self._maps[key], masses)
        mean: Array = total / self._cycle
        return mean

    def _map(self, leg: _Leg) -> ManyMap:
        rates, losses, stretch, end = self._rates(leg)
        scale = leg.volume * stretch * leg.into
        exp_end = 1.0 + leg.fluid * leg.minutes / leg.volume
        if len(rates) == 1:
            node = rates[0][0] * stretch
            carry = np.exp(node)
            return ManyMap([[carry]], [scale * difference_of_two(node, carry, end, exp_end)])
        if len(rates) == 2:
            return two_pools(rates, losses, stretch, end, exp_end, scale)
        roots = roots_of_three(rates, losses)
        whole = newton(rates, roots, (), stretch, np.ones_like(scale))
        return ManyMap(whole, [row[0] for row in newton(rates, roots, (end,), stretch, scale)])

    def _first_area(self, leg: _Leg) -> tuple[list[Array], Array]:
        """The integral of the first pool's concentration over a leg: a row for the masses before, and what is added."""
        rates, losses, stretch, end = self._rates(leg)
        if len(rates) == 1:
            roots = [rates[0][0]]
        elif len(rates) == 2:
            roots = list(roots_of_two(rates, losses))
        else:
            roots = roots_of_three(rates, losses)
        still = np.zeros_like(end)
        carry = newton(rates, roots, (still,), stretch, stretch)
        added = newton(rates, roots, (end, still), stretch, leg.volume * stretch * stretch * leg.into)
        share = self._shares[0]
        return [x / share for x in carry[0]], added[0][0] / share

    def _rates(self, leg: _Leg) -> tuple[Square, list[Array], Array, Array]:
        """B, the losses over shares, the stretched length and ln(V1/V0), as in ``pools``."""
        size, nothing = len(self._shares), np.zeros_like(self._volume)
        change = leg.fluid * leg.minutes / leg.volume
        if (leg.volume <= 0).any() or (change <= -1).any():
            raise DomainError("science.leg_empties", volume=f"{leg.volume.min():.1f}")
        end = np.log1p(change)
        still = change == 0
        stretch = leg.minutes / leg.volume * np.where(still, 1.0, end / np.where(still, 1.0, change))
        losses = [loss / share for loss, share in zip(leg.losses, self._shares, strict=True)]
        rates: Square = [[nothing] * size for _ in range(size)]
        for i, loss in enumerate(losses):
            rates[i][i] = -loss
        for near, far, flow in self._links:
            out = back = np.asarray(flow)
            if self._carries:
                water = leg.fluid * self._beyond(far)
                out, back = flow + np.maximum(water, 0.0), flow + np.maximum(-water, 0.0)
            rates[far][near], rates[near][far] = out / self._shares[near], back / self._shares[far]
            rates[near][near] = rates[near][near] - rates[far][near]
            rates[far][far] = rates[far][far] - rates[near][far]
        return rates, losses, stretch, end

    def _beyond(self, far: int) -> Array:
        behind = {far}
        for other in self._links:
            if other.near in behind:
                behind.add(other.far)
        total: Array = np.sum([self._shares[i] for i in behind], axis=0)
        return total


def _key(numbers: Numbers) -> object:
    """What tells equal legs: the number itself, or which array it is."""
    return float(numbers) if isinstance(numbers, (int, float)) else id(numbers)


def _less(later: Numbers, earlier: Numbers, cut: Cut) -> Numbers:
    if isinstance(later, (int, float)) and isinstance(earlier, (int, float)):
        return float(later - earlier)
    return cut(later) - cut(earlier)
