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

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
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
    apart,
    generation_at,
    ranged,
    together,
    urea_doubts,
)
from ebbwell.review.models import (
    LEAFLET,
    LEVEL,
    PLASMA_WATER,
    SHARE,
    phosphate_bodies,
    phosphate_doubts,
    plasma_clearance,
    urea_clearance,
)
from ebbwell.review.patterns import check_basis, check_pattern
from ebbwell.science.bands import Band, log_deviation
from ebbwell.science.mobilised_many import mobilised_nights
from ebbwell.science.pools_many import ManyBodies, ManyLink, ManyTreatment, followed_many, settled_many
from ebbwell.science.schedule import WEEK_MIN
from ebbwell.science.solutes import BICARBONATE, PHOSPHATE, POTASSIUM, UREA, Solute

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
    """starts: of all treatments from the bloods on, in order [min]; numbers: which of the cycle each is; cycles: how
    many whole ones; minutes: until the end of the last.
    """

    starts: tuple[float, ...]
    numbers: tuple[int, ...]
    cycles: int
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
    starts = _turned(pattern.nights.starts_min(), first, pattern.cycle_min)
    cycles = ceil(until / pattern.cycle_min)
    count = len(starts)
    return _Course(
        tuple(start + cycle * pattern.cycle_min for cycle in range(cycles) for start in starts),
        tuple((first + n) % count for _ in range(cycles) for n in range(count)),
        cycles,
        cycles * pattern.cycle_min,
    )


def _turned(starts: Sequence[float], first: int, cycle_min: float) -> tuple[float, ...]:
    """The starts of a cycle that begins with another of its treatments."""
    return tuple((start - starts[first]) % cycle_min for start in (*starts[first:], *starts[:first]))


def _alike(starts: Sequence[float], minutes: float, clearance: Array) -> list[ManyTreatment]:
    return [ManyTreatment(start, minutes, clearance) for start in starts]


def _from_level(
    course: _Course, pattern: Pattern, bodies: ManyBodies, clearance: Array, start: Array, level: Array
) -> Array:
    """Befores, then afters, a row for each; the first pool begins at the level, the others in proportion to it."""
    nights = _alike(course.starts[: len(pattern.days)], pattern.hours * 60, clearance)
    begun = start / start[0] * level
    return np.vstack(followed_many(bodies, nights, pattern.cycle_min, begun, course.cycles))


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
    volume = points[WATER] * basis.weight_kg
    bodies = ManyBodies(
        (points[OUTER], 1 - points[OUTER]),
        (ManyLink(0, 1, points[BETWEEN] * volume),),
        volume,
        generation_at(basis, points),
        basis.residual_l_min,
        basis.gain_l_day / DAY_MIN * points[GAIN],
    )
    starts = _turned(month.starts_min, month.which, month.cycle_min)
    then = _alike(starts, month.minutes, month.clearance_l_min * points[OVER])
    start = _begins(bodies, then, month.cycle_min)
    level = basis.before[UREA.key] / PLASMA_WATER if UREA.key in basis.before else month.before
    later = replace(bodies, generation_per_min=bodies.generation_per_min * points[VARIES])
    clearance = urea_clearance(basis, pattern, points[OVER])
    rows = _from_level(course, pattern, later, clearance, start, level * points[LAB])
    return _told(
        ahead,
        _levels(course, told, doubts.bands(PLASMA_WATER * rows)),
        ("review.rests.urea", "review.rests.newest_pair", "review.rests.split", "review.rests.made_varies"),
        ("kinetics:A5", "kinetics:A8", "kinetics:C"),
    )


def _begins(bodies: ManyBodies, nights: Sequence[ManyTreatment], cycle_min: float) -> Array:
    """Concentrations of the pools as a settled cycle begins."""
    start = settled_many(bodies, nights, cycle_min, ends=True).start
    if start is None:
        raise ValueError("ends were asked for")
    return start


def _phosphate(basis: Basis, course: _Course, told: Sequence[int]) -> Ahead:
    """What comes in is such that the present pattern, once settled, has the measured level before that treatment."""
    ahead = Ahead(PHOSPHATE.key, "mmol/L", (), PHOSPHATE.good, PHOSPHATE.limits)
    if PHOSPHATE.key not in basis.koa_ml_min:
        return _not(ahead, "no_clearance")
    if PHOSPHATE.key not in basis.before:
        return _not(ahead, "no_result")
    if PHOSPHATE.key in basis.other_nights:
        return _not(ahead, "other_nights")
    pattern, level = basis.present, basis.before[PHOSPHATE.key]
    more = [
        Doubtful(LAB, 1.0, basis.known.lab_doubt),
        Doubtful(VARIES, 1.0, MADE_VARIES),
    ]
    doubts = together(phosphate_doubts(basis), apart(more))
    points = doubts.points()
    clearance = plasma_clearance(basis, PHOSPHATE.key, pattern, points)
    bodies = phosphate_bodies(basis, points)
    nights = _alike(course.starts[: len(pattern.days)], pattern.hours * 60, clearance)
    start = _begins(bodies, nights, pattern.cycle_min)
    later = replace(bodies, generation_per_min=level * points[LEVEL] * points[VARIES] / start[0])
    rows = _from_level(course, pattern, later, clearance, start, level * points[LAB])
    return _told(
        ahead,
        _levels(course, told, doubts.bands(rows)),
        ("review.rests.level", "review.rests.made_varies", "review.rests.plasma", "review.rests.leaflet"),
        ("kinetics:A5", "kinetics:A9 phosphate", "from memory"),
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
    if key in basis.other_nights:
        return _not(ahead, "other_nights")
    if key not in basis.bath:
        return _not(ahead, "no_bath")
    more = [
        Doubtful(SHARE, LEAFLET.value, log_deviation(LEAFLET)),
        Doubtful(LEVEL, 1.0, LEVEL_DOUBT),
        Doubtful(LAB, 1.0, basis.known.lab_doubt),
        Doubtful(ION, 1.0, 0.0 if own else STAND_IN),
    ]
    doubts = together(ranged(solute.figures), apart(more))
    points = doubts.points()
    litres = points["near_l"] if "near_l" in points else points["volume_over_weight"] * basis.weight_kg
    clearance = plasma_clearance(basis, key if own else UREA.key, pattern, points) * points[ION]
    minutes = pattern.hours * 60
    gaps = [later - earlier - minutes for earlier, later in pairwise((*course.starts, course.minutes))]
    first, later = (
        mobilised_nights(
            start=start,
            litres=litres,
            release_l_min=points["release_l_min"],
            clearance_l_min=clearance,
            bath=basis.bath[key],
            minutes=minutes,
            gaps_min=gaps,
        )
        for start in (basis.before[key] * points[LAB], basis.before[key] * points[LAB] * points[LEVEL])
    )
    rows = [np.vstack([one[:1], other[1:]]) for one, other in zip(first, later, strict=True)]
    return _told(
        ahead,
        _levels(course, told, doubts.bands(np.vstack(rows))),
        (
            "review.rests.returns",
            "review.rests.newest",
            "review.rests.plasma",
            "review.rests.leaflet" if own else "review.rests.stand_in",
        ),
        ("kinetics:A5", f"kinetics:A9 {key}", "from memory"),
    )


def _not(ahead: Ahead, reason: str) -> Ahead:
    why_not = f"review.not_known.{reason}"
    return replace(ahead, why_not=why_not)


def _told(ahead: Ahead, levels: tuple[Level, ...], rests: tuple[str, ...], sources: tuple[str, ...]) -> Ahead:
    return replace(ahead, levels=levels, rests=rests, sources=sources)
