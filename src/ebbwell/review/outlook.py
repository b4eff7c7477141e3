"""If nothing changes: levels before and after each coming treatment, from the newest blood result on, with bands.

Times are minutes from the treatment that the newest bloods were drawn before; nothing here knows a calendar. Urea and
phosphate go by their pools, so that a pattern which is new since then shows how levels move to where it holds them. Of
potassium and bicarbonate the model says only how far one treatment moves them: it takes it that the body brings the
level back before the next one, so that levels before treatments stay as measured by assumption, give or take how much
they differ from day to day. If the model holds; untested on any person; not to be shown after a missed treatment, which
none of this knows of.
Source: kinetics A8, A9, C (models), as ``science.solutes`` states them; doubt as in ``review.doubt``.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import ceil, isfinite
from typing import NamedTuple

import numpy as np

from ebbwell.core.errors import DomainError
from ebbwell.review.basis import DAY_MIN, Basis, Pattern
from ebbwell.review.doubt import (
    BETWEEN,
    GAIN,
    LEVEL_DOUBT,
    OUTER,
    OVER,
    WATER,
    Array,
    Doubtful,
    Doubts,
    Points,
    apart,
    generation_at,
    nine_in_ten,
    ranged,
    together,
    urea_doubts,
    water_doubts,
)
from ebbwell.review.models import (
    LEAFLET,
    LEVEL,
    PLASMA_FLOW,
    PLASMA_WATER,
    SHARE,
    clearances_l_min,
    urea_clearance,
)
from ebbwell.review.patterns import check_basis, check_pattern
from ebbwell.science.fit import Band
from ebbwell.science.pools import ONE_POOL, Leg, Vector, after
from ebbwell.science.schedule import WEEK_MIN, Body, Part, Treatment, follow_ends, settled_ends, steps_of
from ebbwell.science.solutes import (
    BICARBONATE,
    PHOSPHATE,
    POTASSIUM,
    UREA,
    Solute,
    in_all_water,
    phosphate_body,
)

WEEKS = 4
MOST_WEEKS = 12
"""Weeks ahead. Source: design."""
OLDEST_MIN = 26 * WEEK_MIN
"""How old the newest bloods may be [min]. Source: design."""
MADE_VARIES = 0.15
"""Log standard deviation of what food brings in, from one month to the next. Source: common practice, no source."""
STAND_IN = 0.20
"""Log standard deviation of a clearance of ions that urea's stands in for. Source: from memory (ions pass a dialyser
about as urea does, which is how machines measure it)."""
VARIES, LAB, ION = "made_varies", "laboratory", "stand_in"
"""Parameters: what comes in over what did lately, one result over its truth, an ion's clearance over urea's."""


class Level(NamedTuple):
    """A treatment to come. at_min: since the newest bloods; number: in the cycle, from 0; before, after: as it begins
    and ends, in plasma.
    """

    at_min: float
    number: int
    before: Band
    after: Band


@dataclass(frozen=True, slots=True)
class Ahead:
    """One solute. levels: () where it isn't known, with the wording key why_not. good, limits, rests: wording keys of
    what its model is good for, what not, and what it rests on. sources: keys in the rulebook, or ``from memory``.
    """

    key: str
    unit: str
    levels: tuple[Level, ...]
    good: str
    limits: str
    why_not: str = ""
    rests: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()


class _Course(NamedTuple):
    """starts: of all treatments from the bloods on, in order [min]; numbers: which of the cycle each is; gap_min: before
    the first; minutes: until the end of the last whole cycle.
    """

    starts: tuple[float, ...]
    numbers: tuple[int, ...]
    gap_min: float
    minutes: float


def outlook(basis: Basis, *, first: int = 0, since_min: float = 0.0, weeks: int = WEEKS) -> tuple[Ahead, ...]:
    """Urea, phosphate, potassium and bicarbonate under the present pattern.

    first: which treatment of the cycle the newest bloods were drawn before, from 0. since_min [min]: how long ago that
    treatment began, 0 to 26 weeks; levels are told from then on. weeks: how many, 1 to 12. Raises DomainError outside,
    and for a pattern or own numbers that can't be. Source: module text.
    """
    check_pattern(basis.present)
    check_basis(basis)
    if not 0 <= first < len(basis.present.days):
        raise DomainError("review.start_in_pattern")
    if not (isinstance(weeks, int) and 1 <= weeks <= MOST_WEEKS):
        raise DomainError("review.weeks_ahead", weeks=weeks, most=MOST_WEEKS)
    if not (isfinite(since_min) and 0 <= since_min <= OLDEST_MIN):
        raise DomainError("review.bloods_too_old", most=round(OLDEST_MIN / WEEK_MIN))
    until = since_min + weeks * WEEK_MIN
    course = _course(basis.present, first, until)
    told = [n for n, start in enumerate(course.starts) if since_min <= start < until]
    return (
        _urea(basis, course, told),
        _phosphate(basis, course, told),
        _ion(basis, POTASSIUM, course, told),
        _ion(basis, BICARBONATE, course, told),
    )


def _course(pattern: Pattern, first: int, until: float) -> _Course:
    starts = _turned(pattern.starts_min(), first, pattern.cycle_min)
    cycles = ceil(until / pattern.cycle_min)
    count = len(starts)
    return _Course(
        tuple(start + cycle * pattern.cycle_min for cycle in range(cycles) for start in starts),
        tuple((first + n) % count for _ in range(cycles) for n in range(count)),
        pattern.cycle_min - starts[-1] - pattern.hours * 60,
        cycles * pattern.cycle_min,
    )


def _turned(starts: Sequence[float], first: int, cycle_min: float) -> tuple[float, ...]:
    """The starts of a cycle that begins with another of its treatments."""
    return tuple((start - starts[first]) % cycle_min for start in (*starts[first:], *starts[:first]))


def _alike(starts: Sequence[float], minutes: float, clearance: float, bath: float = 0.0) -> list[Treatment]:
    part = (Part(minutes, clearance, bath=bath),)
    return [Treatment(start, part) for start in starts]


def _as_it_begins(body: Body, treatments: Sequence[Treatment], cycle_min: float) -> tuple[float, Vector]:
    """Concentration and masses as a settled cycle begins."""
    ends = settled_ends(body, treatments, cycle_min)
    last, gap = ends[-1], cycle_min - treatments[-1].start_min - treatments[-1].minutes
    losses = [*body.other_l_min, *[0.0] * len(last.masses)][: len(last.masses)]
    losses[0] += body.residual_l_min
    leg = Leg(gap, body.volume_l, body.gain_l_min, tuple(losses))
    inflow = (body.generation_per_min, *[0.0] * (len(last.masses) - 1))
    return ends[0].before, after(body.water.over(leg), last.masses, inflow)


def _from_level(
    body: Body, begins: tuple[float, Vector], level: float, course: _Course, nights: list[Treatment]
) -> list[float]:
    """Befores, then afters, when the settled masses are scaled so that the first pool has the level."""
    before, masses = begins
    steps = steps_of(body, nights, course.minutes, gap_min=course.gap_min)
    ends = follow_ends(body, steps, tuple(mass * level / before for mass in masses))
    return [one.before for one in ends] + [
        body.water.concentrations(one.masses, one.volume_l)[0] for one in ends
    ]


def _each(doubts: Doubts, one: Callable[[dict[str, float]], list[float]]) -> tuple[Band, ...]:
    """Bands of a list of levels that is worked out for one set of parameters at a time."""
    points = doubts.points()
    columns = [one(at) for at in _one_by_one(points)]
    return doubts.bands(np.array(columns).T)


def _one_by_one(points: Points) -> list[dict[str, float]]:
    names = list(points)
    return [
        dict(zip(names, values, strict=True))
        for values in zip(*(points[n].tolist() for n in names), strict=True)
    ]


def _levels(course: _Course, told: Sequence[int], bands: Sequence[Band]) -> tuple[Level, ...]:
    count = len(course.starts)
    return tuple(Level(course.starts[n], course.numbers[n], bands[n], bands[count + n]) for n in told)


def _urea(basis: Basis, course: _Course, told: Sequence[int]) -> Ahead:
    """From the newest pair's state under the pattern it was drawn in, on under the present one."""
    ahead = Ahead(UREA.key, "mmol/L", (), UREA.good, UREA.limits)
    if UREA.key not in basis.koa_ml_min:
        return _not(ahead, "no_clearance")
    pattern, month = basis.present, basis.months[-1]
    more = [Doubtful(LAB, 1.0, basis.known.lab_doubt), Doubtful(VARIES, 1.0, MADE_VARIES)]
    doubts = together(urea_doubts(basis), apart(more))
    points = doubts.points()
    made: Array = generation_at(basis, points)
    over_one = float(urea_clearance(basis, pattern, 1.0))
    level = basis.before[UREA.key] / PLASMA_WATER if UREA.key in basis.before else month.before
    starts = _turned(month.starts_min, month.which, month.cycle_min)
    drawn = course._replace(gap_min=month.cycle_min - starts[-1] - month.minutes)
    columns = []
    for at, generation in zip(_one_by_one(points), made.tolist(), strict=True):
        split = {name: at[name] for name in (OUTER, BETWEEN)}
        body = in_all_water(UREA, at[WATER] * basis.weight_kg, generation * at[VARIES], **split)
        gain = basis.gain_l_day / DAY_MIN * at[GAIN]
        body = replace(body, residual_l_min=basis.residual_l_min, gain_l_min=gain)
        then = _alike(starts, month.minutes, month.clearance_l_min * at[OVER])
        begins = _as_it_begins(body, then, month.cycle_min)
        nights = _alike(course.starts, pattern.hours * 60, over_one * at[OVER])
        found = _from_level(body, begins, level * at[LAB], drawn, nights)
        columns.append([PLASMA_WATER * one for one in found])
    return _told(
        ahead,
        _levels(course, told, doubts.bands(np.array(columns).T)),
        ("review.rests.urea", "review.rests.newest_pair", "review.rests.split", "review.rests.made_varies"),
        ("kinetics:A5", "kinetics:A8", "kinetics:C"),
    )


def _phosphate(basis: Basis, course: _Course, told: Sequence[int]) -> Ahead:
    """What comes in is such that the present pattern, once settled, has the measured level before that treatment."""
    ahead = Ahead(PHOSPHATE.key, "mmol/L", (), PHOSPHATE.good, PHOSPHATE.limits)
    if PHOSPHATE.key not in basis.koa_ml_min:
        return _not(ahead, "no_clearance")
    if PHOSPHATE.key not in basis.before:
        return _not(ahead, "no_result")
    pattern, level = basis.present, basis.before[PHOSPHATE.key]
    more = [
        Doubtful(SHARE, LEAFLET.value, nine_in_ten(LEAFLET)),
        Doubtful(LEVEL, 1.0, LEVEL_DOUBT),
        Doubtful(LAB, 1.0, basis.known.lab_doubt),
        Doubtful(VARIES, 1.0, MADE_VARIES),
    ]
    starts = course.starts[: len(pattern.days)]

    def levels(at: dict[str, float]) -> list[float]:
        own = {name: at[name] for name in PHOSPHATE.figures}
        water = at[WATER] * basis.weight_kg
        clearance = _of_plasma(basis.koa_ml_min[PHOSPHATE.key] * at[SHARE], pattern)
        cycle = _alike(starts, pattern.hours * 60, clearance)
        begins = _as_it_begins(phosphate_body(water, 1.0, **own), cycle, pattern.cycle_min)
        made = level * at[LEVEL] / begins[0]
        body = phosphate_body(water, made * at[VARIES], **own)
        nights = _alike(course.starts, pattern.hours * 60, clearance)
        return _from_level(body, begins, level * at[LAB], course, nights)

    doubts = together(water_doubts(basis), ranged(PHOSPHATE.figures), apart(more))
    return _told(
        ahead,
        _levels(course, told, _each(doubts, levels)),
        ("review.rests.level", "review.rests.made_varies", "review.rests.plasma", "review.rests.leaflet"),
        ("kinetics:A5", "kinetics:A9", "from memory"),
    )


def _ion(basis: Basis, solute: Solute, course: _Course, told: Sequence[int]) -> Ahead:
    """Potassium or bicarbonate: one pool that is drawn to the level before, and a bath.

    The first treatment starts at the measured level, the later ones at that give or take a day's difference.
    """
    key, pattern = solute.key, basis.present
    ahead = Ahead(key, "mmol/L", (), solute.good, solute.limits)
    own = key in basis.koa_ml_min
    if not own and UREA.key not in basis.koa_ml_min:
        return _not(ahead, "no_clearance")
    if key not in basis.before:
        return _not(ahead, "no_result")
    if key not in basis.bath:
        return _not(ahead, "no_bath")
    size, level, bath = basis.koa_ml_min[key if own else UREA.key], basis.before[key], basis.bath[key]
    more = [
        Doubtful(SHARE, LEAFLET.value, nine_in_ten(LEAFLET)),
        Doubtful(LEVEL, 1.0, LEVEL_DOUBT),
        Doubtful(LAB, 1.0, basis.known.lab_doubt),
        Doubtful(ION, 1.0, 0.0 if own else STAND_IN),
    ]

    def levels(at: dict[str, float]) -> list[float]:
        litres = at["near_l"] if "near_l" in at else at["volume_over_weight"] * basis.weight_kg
        body = Body(ONE_POOL, litres, 0.0, release_l_min=at["release_l_min"])
        clearance = _of_plasma(size * at[SHARE], pattern) * at[ION]
        treatments = _alike(course.starts, pattern.hours * 60, clearance, bath)
        steps = steps_of(body, treatments, course.minutes, gap_min=course.gap_min)
        first, later = (
            follow_ends(body, steps, (litres * start,), start)
            for start in (level * at[LAB], level * at[LAB] * at[LEVEL])
        )
        ends = [first[0], *later[1:]]
        return [one.before for one in ends] + [one.masses[0] / one.volume_l for one in ends]

    bands = _each(together(ranged(solute.figures), apart(more)), levels)
    return _told(
        ahead,
        _levels(course, told, bands),
        (
            "review.rests.returns",
            "review.rests.newest",
            "review.rests.plasma",
            "review.rests.leaflet" if own else "review.rests.stand_in",
        ),
        ("kinetics:A5", "kinetics:A9", "from memory"),
    )


def _of_plasma(koa_ml_min: float, pattern: Pattern) -> float:
    carried = PLASMA_FLOW * pattern.blood_flow_ml_min
    return float(clearances_l_min(koa_ml_min, carried, pattern.fluid_flow_ml_min))


def _not(ahead: Ahead, reason: str) -> Ahead:
    why_not = f"review.not_known.{reason}"
    return replace(ahead, why_not=why_not)


def _told(ahead: Ahead, levels: tuple[Level, ...], rests: tuple[str, ...], sources: tuple[str, ...]) -> Ahead:
    return replace(ahead, levels=levels, rests=rests, sources=sources)
