"""Any pattern of treatments over a body: what it settles to, and how it gets there.

A cycle (a week, two weeks, two days) is a chain of legs, each an affine map of the masses, so the cycle is one affine
map x -> A x + b, and the state it settles to is one small solve of (I - A) x = b. The same maps, applied one after
another, give what a missed, moved or shortened night does. Nothing here knows a clock or a calendar: starts are
minutes from the start of the cycle. Source: kinetics A8.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite
from operator import mul
from typing import NamedTuple, Protocol

from ebbwell.core.errors import DomainError
from ebbwell.science.pools import Leg, LegMap, Vector, after
from ebbwell.science.small_matrix import Rows, solve, times, unit
from ebbwell.science.treatments import Intake as Intake
from ebbwell.science.treatments import Part as Part
from ebbwell.science.treatments import Treatment as Treatment
from ebbwell.science.treatments import check_numbers, cuts, shared

WEEK_MIN = 10080.0
"""Minutes in a week. Source: arithmetic."""
HALF_HOUR_MIN, HOUR_MIN = 30.0, 60.0
"""When after a treatment its rebound is told [min]. Source: kinetics C (the rows of the reference runs)."""
FLUID_LEFT_L = 1e-6
"""How far what a cycle removes may lie beside what it gains [L]. Source: arithmetic."""


class Water(Protocol):
    """Pools of water: ``pools.Pools`` or ``pools_outer.OuterPools``."""

    def over(self, leg: Leg) -> LegMap:
        """Map of masses over a leg."""

    def area_over(self, leg: Leg) -> LegMap:
        """Map to the time integrals of the concentrations."""

    def concentrations(self, masses: Vector, volume_l: float) -> Vector:
        """Concentrations of masses."""

    def masses_at(self, concentration: float, volume_l: float) -> Vector:
        """Masses of one concentration everywhere."""


@dataclass(frozen=True, slots=True)
class Body:
    """One solute in one person.

    water: the pools. volume_l [L]: the solute's water after a treatment that took off all that came in.
    generation_per_min: mass/min into the first pool, all the time. residual_l_min [L/min]: own kidneys', from the first
    pool. other_l_min [L/min]: further loss from each pool, such as the gut's. gain_l_min [L/min]: fluid that comes in
    between treatments. release_l_min [L/min]: how strongly the first pool is drawn towards the concentration that the
    last treatment began with, from its start until the next one; ``follow`` takes it. It gives out of a store without
    end, so that no cycle with it repeats itself. Raises DomainError for what isn't a number, and for a volume or a loss
    that can't be.
    """

    water: Water
    volume_l: float
    generation_per_min: float
    residual_l_min: float = 0.0
    other_l_min: Vector = (0.0,)
    gain_l_min: float = 0.0
    release_l_min: float = 0.0

    def __post_init__(self) -> None:
        losses = (self.residual_l_min, self.release_l_min, *self.other_l_min)
        if not all(map(isfinite, (self.volume_l, self.generation_per_min, self.gain_l_min, *losses))):
            raise DomainError("science.leg_not_a_number")
        if self.volume_l <= 0 or any(loss < 0 for loss in losses):
            raise DomainError("science.leg_not_above_zero")


class Step(NamedTuple):
    """A leg with its input. cleared_l_min, bath: the dialyser's part of it.

    treatment: the number of the treatment it belongs to, None between treatments. begins: a treatment begins with it.
    """

    leg: Leg
    inflow: Vector
    treatment: int | None
    cleared_l_min: float = 0.0
    bath: float = 0.0
    begins: bool = False


@dataclass(frozen=True, slots=True)
class Session:
    """A treatment as it went. Concentrations in water of the first pool: before, end; evened: of all pools together at
    its end; after_half_hour, after_hour: as the pools even out, with what comes in by then; None where the next
    treatment has begun. removed_l [L] of fluid; removed: mass the dialyser took. masses, volume_l: as it ends.
    """

    before: float
    end: float
    evened: float
    after_half_hour: float | None
    after_hour: float | None
    removed_l: float
    removed: float
    masses: Vector
    volume_l: float


@dataclass(frozen=True, slots=True)
class Course:
    """A stretch of treatments. mean: time mean in the first pool's water. mean_inner: the same in the last pool.

    peak: the highest at any switch. minutes: how long. masses: as it ends.
    """

    sessions: tuple[Session, ...]
    mean: float
    mean_inner: float
    peak: float
    minutes: float
    masses: Vector

    @property
    def mean_before(self) -> float:
        """The mean of the concentrations before treatment."""
        return sum(one.before for one in self.sessions) / len(self.sessions)


def steps_of(
    body: Body,
    treatments: Sequence[Treatment],
    minutes: float,
    intakes: Sequence[Intake] = (),
    gap_min: float = 0.0,
) -> tuple[Step, ...]:
    """The legs of a stretch that begins with its first treatment and lasts so many minutes.

    treatments: by start, the first at 0, none before the one before has ended. gap_min [min]: time since the treatment
    before the first one. Raises DomainError for treatments that overlap or don't fit, and for fluid taken off that isn't
    there. Source: kinetics C.
    """
    check_numbers(treatments, intakes, minutes, gap_min)
    count = len(body.water.masses_at(0.0, body.volume_l))
    over = body.gain_l_min * gap_min
    between = Part(0.0, 0.0, 0.0)
    steps: list[Step] = []
    now = 0.0
    for number, treatment in enumerate(treatments):
        if treatment.start_min != now and (number == 0 or treatment.start_min < now):
            raise DomainError("science.treatments_overlap", number=number + 1)
        for part, fluid in shared(treatment, over):
            rate, volume = -fluid / part.minutes, body.volume_l + over
            for start, length, more in cuts(now, part.minutes, intakes):
                begins = start == treatment.start_min
                at = volume + rate * (start - now)
                steps.append(_step(body, count, Leg(length, at, rate, ()), part, number, more, begins))
            now += part.minutes
            over -= fluid
        until = treatments[number + 1].start_min if number + 1 < len(treatments) else minutes
        if until < now:
            raise DomainError("science.treatments_overlap", number=(number + 1) % len(treatments) + 1)
        volume = body.volume_l + over
        for start, length, more in cuts(now, until - now, intakes):
            at = volume + body.gain_l_min * (start - now)
            steps.append(_step(body, count, Leg(length, at, body.gain_l_min, ()), between, None, more, False))
        over += body.gain_l_min * (until - now)
        now = until
    return tuple(steps)


def settled(
    body: Body, treatments: Sequence[Treatment], cycle_min: float, intakes: Sequence[Intake] = ()
) -> Course:
    """What a cycle looks like once it repeats itself.

    treatments: as in ``steps_of``. cycle_min [min]: length, such as ``WEEK_MIN``; the gap before the first treatment
    is the one that ends the cycle. Raises DomainError where the cycle doesn't take off the fluid that comes in, where
    nothing removes the solute, and for a body with release. Source: kinetics A8.
    """
    steps, memo, maps, start = _settle(body, treatments, cycle_min, intakes)
    return _course(body, steps, memo, maps, start)


class Ends(NamedTuple):
    """A session's concentration before it, and masses and water [L] as it ends."""

    before: float
    masses: Vector
    volume_l: float


def settled_ends(
    body: Body, treatments: Sequence[Treatment], cycle_min: float, intakes: Sequence[Intake] = ()
) -> tuple[Ends, ...]:
    """What ``settled`` tells of each session as it begins and ends, without means: quicker.

    Raises DomainError as ``settled``. Source: kinetics A8.
    """
    steps, _, maps, start = _settle(body, treatments, cycle_min, intakes)
    state, found, before = [*start, 1.0], [], 0.0
    size = len(body.water.masses_at(0.0, body.volume_l))
    for number, (step, one) in enumerate(zip(steps, maps, strict=True)):
        if step.begins:
            before = body.water.concentrations(tuple(state[:size]), step.leg.volume_l)[0]
        state = _moved(one, state)
        if _ends_treatment(steps, number):
            found.append(Ends(before, tuple(state[:size]), step.leg.volume_end_l))
    return tuple(found)


def settled_before_by_maps(
    body: Body, treatments: Sequence[Treatment], cycle_min: float, intakes: Sequence[Intake] = ()
) -> Vector:
    """The ``before`` of each session of ``settled``, without the rest: the general way of ``settled_before``.

    Raises DomainError as ``settled``. Source: kinetics A8.
    """
    steps, _, maps, start = _settle(body, treatments, cycle_min, intakes)
    state, found = [*start, 1.0], []
    size = len(body.water.masses_at(0.0, body.volume_l))
    for step, one in zip(steps, maps, strict=True):
        if step.begins:
            found.append(body.water.concentrations(tuple(state[:size]), step.leg.volume_l)[0])
        state = _moved(one, state)
    return tuple(found)


def _settle(
    body: Body, treatments: Sequence[Treatment], cycle_min: float, intakes: Sequence[Intake]
) -> tuple[tuple[Step, ...], _Memo, list[Rows], Vector]:
    """The steps of a cycle, their maps, and the state at its start once it repeats itself."""
    if body.release_l_min:
        raise DomainError("science.store_without_end")
    last = treatments[-1] if treatments else None
    gap = cycle_min - last.start_min - last.minutes if last else 0.0
    steps = steps_of(body, treatments, cycle_min, intakes, gap)
    ends, begins = steps[-1].leg.volume_end_l, steps[0].leg.volume_l
    if abs(ends - begins) > FLUID_LEFT_L:
        raise DomainError("science.fluid_left", litres=f"{abs(ends - begins):.2f}")
    memo = _Memo(body.water)
    maps = _maps(body, steps, memo)
    size = len(maps[0]) - 1
    whole = unit(size + 1)
    for one in maps:
        whole = times(one, whole)
    free = [[(1.0 if i == j else 0.0) - whole[i][j] for j in range(size)] for i in range(size)]
    return steps, memo, maps, tuple(solve(free, [whole[i][size] for i in range(size)]))


class _Memo:
    """The maps of legs that were met before; most nights of a week are alike."""

    def __init__(self, water: Water) -> None:
        self._water = water
        self._over: dict[Leg, LegMap] = {}
        self._area: dict[Leg, LegMap] = {}

    def over(self, leg: Leg) -> LegMap:
        found = self._over.get(leg)
        if found is None:
            found = self._over[leg] = self._water.over(leg)
        return found

    def area_over(self, leg: Leg) -> LegMap:
        found = self._area.get(leg)
        if found is None:
            found = self._area[leg] = self._water.area_over(leg)
        return found


def follow(body: Body, steps: Sequence[Step], masses: Vector, started_at: float | None = None) -> Course:
    """What such legs do, from masses at their start.

    started_at: the concentration that the last treatment before began with, for a body with release; None for the one in
    the first pool now. Raises DomainError as ``Pools.over``. Source: kinetics A8.
    """
    start = masses
    if body.release_l_min:
        now = body.water.concentrations(masses, steps[0].leg.volume_l)[0]
        start = (*masses, now if started_at is None else started_at)
    memo = _Memo(body.water)
    return _course(body, steps, memo, _maps(body, steps, memo), start)


def _moved(one: Rows, state: Sequence[float]) -> list[float]:
    """The state after a step, from that before it."""
    return [sum(map(mul, row, state)) for row in one]


def _ends_treatment(steps: Sequence[Step], number: int) -> bool:
    """Whether a treatment ends with a step."""
    now = steps[number].treatment
    return now is not None and (number + 1 == len(steps) or steps[number + 1].treatment != now)


def _step(
    body: Body, count: int, leg: Leg, part: Part, treatment: int | None, more: float, begins: bool
) -> Step:
    cleared = -leg.fluid_l_min if part.isolated else part.clearance_l_min
    bath = 0.0 if part.isolated else part.bath
    losses = [*body.other_l_min, *[0.0] * count][:count]
    losses[0] += cleared + body.residual_l_min + body.release_l_min
    inflow = (body.generation_per_min + more + cleared * bath, *[0.0] * (count - 1))
    return Step(Leg(leg[0], leg[1], leg[2], tuple(losses)), inflow, treatment, cleared, bath, begins)


def _maps(body: Body, steps: Sequence[Step], memo: _Memo) -> list[Rows]:
    """Each step as a square of numbers over (masses, the concentration a treatment began with, 1)."""
    seen: dict[tuple[Leg, Vector, float | None], Rows] = {}
    maps = []
    for step in steps:
        begins = step.leg.volume_l if step.begins and body.release_l_min else None
        key = (step.leg, step.inflow, begins)
        if key not in seen:
            seen[key] = _affine(body, step, memo)
        maps.append(seen[key])
    return maps


def _affine(body: Body, step: Step, memo: _Memo) -> Rows:
    one = memo.over(step.leg)
    added = [sum(map(mul, row, step.inflow)) for row in one.response]
    if not body.release_l_min:
        rows = [[*carry, more] for carry, more in zip(one.carry, added, strict=True)]
        return [*rows, [0.0] * len(one.carry) + [1.0]]
    pull = [row[0] * body.release_l_min for row in one.response]
    rows = [[*carry, p, more] for carry, p, more in zip(one.carry, pull, added, strict=True)]
    size = len(one.carry)
    square = [*rows, [0.0] * size + [1.0, 0.0], [0.0] * (size + 1) + [1.0]]
    return times(square, _beginning(body, step, size)) if step.begins else square


def _beginning(body: Body, step: Step, size: int) -> Rows:
    """Takes the concentration of the first pool over into the state, as a treatment begins."""
    square = unit(size + 2)
    masses = tuple(1.0 if i == 0 else 0.0 for i in range(size))
    square[size] = [body.water.concentrations(masses, step.leg.volume_l)[0]] + [0.0] * (size + 1)
    return square


def _course(body: Body, steps: Sequence[Step], memo: _Memo, maps: Sequence[Rows], start: Vector) -> Course:
    """Walks the legs once more from a state that is known, and writes down what is told of them."""
    state = [*start, 1.0]
    size = len(body.water.masses_at(0.0, body.volume_l))
    areas = [0.0] * size
    peak, minutes, removed_l, removed = 0.0, 0.0, 0.0, 0.0
    before = 0.0
    sessions: list[Session] = []
    for number, (step, one) in enumerate(zip(steps, maps, strict=True)):
        leg, masses = step.leg, tuple(state[:size])
        now = body.water.concentrations(masses, leg.volume_l)[0]
        begun = now if step.begins else state[size]
        if step.begins:
            before, removed_l, removed = now, 0.0, 0.0
        inflow = list(step.inflow)
        if body.release_l_min:
            inflow[0] += body.release_l_min * begun
        gained = after(memo.area_over(leg), masses, tuple(inflow))
        areas = [area + more for area, more in zip(areas, gained, strict=True)]
        state = _moved(one, state)
        minutes += leg.minutes
        masses = tuple(state[:size])
        end = body.water.concentrations(masses, leg.volume_end_l)[0]
        peak = max(peak, now, end)
        if step.treatment is None:
            continue
        removed_l -= leg.fluid_l_min * leg.minutes
        removed += step.cleared_l_min * (gained[0] - step.bath * leg.minutes)
        if _ends_treatment(steps, number):
            evened = sum(masses) / leg.volume_end_l
            rest = steps[number + 1 :]
            half, hour = (
                _later(body, memo, rest, masses, begun, ahead) for ahead in (HALF_HOUR_MIN, HOUR_MIN)
            )
            sessions.append(
                Session(before, end, evened, half, hour, removed_l, removed, masses, leg.volume_end_l)
            )
    return Course(
        tuple(sessions), areas[0] / minutes, areas[-1] / minutes, peak, minutes, tuple(state[:size])
    )


def _later(
    body: Body, memo: _Memo, rest: Sequence[Step], masses: Vector, begun: float, ahead: float
) -> float | None:
    """The first pool so many minutes into the gap; None where it isn't that long."""
    for step in rest:
        if step.treatment is not None:
            return None
        part = step.leg._replace(minutes=min(ahead, step.leg.minutes))
        inflow = (step.inflow[0] + body.release_l_min * begun, *step.inflow[1:])
        masses = after(memo.over(part), masses, inflow)
        ahead -= part.minutes
        if ahead <= 0:
            return body.water.concentrations(masses, part.volume_end_l)[0]
    return None
