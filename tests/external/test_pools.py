"""The solute engine against runs printed outside it: the reference runs of two pools, and closed forms.

Printed with 8 decimals by DOP853 at 1e-11, leg by leg; asked for 1e-6, and held here to the last printed digit.
"""

from __future__ import annotations

from decimal import Decimal
from functools import lru_cache

import pytest

from ebbwell.science.pools import ONE_POOL, Leg, Link, Pools, Vector, after
from ebbwell.science.pools_outer import OuterPools
from ebbwell.science.schedule import WEEK_MIN, Body, Course, Part, Step, Treatment, follow, settled, steps_of
from ebbwell.science.settled_before import settled_before
from tests.external.pools_cases import CASES, MIDDLE, MISSED, MISSED_MEANS, PRINTED, Case

SOLVER = 4e-11
"""How far the two solvers of the reference lie apart, relative."""
SOLVER_G = 1.5e-9
"""The same for case G: with 40 digits (test_pools_witness.py) its printed figures are off by so much."""


def near(ours: float, printed: str, solver: float = SOLVER) -> bool:
    exponent = Decimal(printed).as_tuple().exponent
    assert isinstance(exponent, int)
    half = 0.5 * 10.0**exponent
    return abs(ours - float(printed)) <= half * 1.001 + solver * abs(ours)


def body_of(case: Case) -> Body:
    pools = Pools((1 / 3, 2 / 3), (Link(0, 1, case.between_ml / 1000),))
    return Body(
        OuterPools(pools, case.volume_l),
        case.volume_l,
        case.generation,
        case.residual_ml / 1000,
        gain_l_min=case.gain_l_day / 1440,
    )


def nights_of(case: Case) -> tuple[Treatment, ...]:
    return tuple(
        Treatment(start * 60, (Part(case.hours * 60, case.dialyser_ml / 1000),)) for start in case.starts_h
    )


def run(name: str) -> Course:
    case = CASES[name]
    return settled(body_of(case), nights_of(case), case.cycle_h * 60)


@pytest.mark.source(
    "kinetics:C", detail="cases A to E, DOP853 at 1e-11, printed: every figure of every session"
)
@pytest.mark.parametrize("row", ["before", "end", "evened", "after_half_hour", "after_hour", "removed_l"])
@pytest.mark.parametrize("name", CASES)
def test_sessions_of_the_reference_runs(name: str, row: str) -> None:
    printed = getattr(PRINTED[name], row)
    ours = [getattr(session, row) for session in run(name).sessions]
    assert len(ours) == len(printed)
    assert all(near(a, b) for a, b in zip(ours, printed, strict=True)), (ours, printed)


@pytest.mark.source("kinetics:C", detail="cases A to E, DOP853 at 1e-11, printed: figures of the whole cycle")
@pytest.mark.parametrize("name", CASES)
def test_cycles_of_the_reference_runs(name: str) -> None:
    case, printed, course = CASES[name], PRINTED[name], run(name)
    ekr = 1000 * case.generation / course.mean
    assert near(course.mean_before, printed.mean_before)
    assert near(course.mean, printed.mean)
    assert near(course.peak, printed.peak)
    assert near(case.generation * WEEK_MIN / (course.mean_before * case.volume_l), printed.weekly)
    assert near(ekr, printed.ekr)
    assert near(ekr * 40 / case.volume_l, printed.ekrc)
    assert course.mean < course.mean_before
    assert course.mean_inner == pytest.approx(course.mean, rel=1e-12)
    taken = (
        sum(one.removed for one in course.sessions) + case.residual_ml / 1000 * course.mean * course.minutes
    )
    assert taken == pytest.approx(case.generation * course.minutes, rel=1e-12)


@pytest.mark.source(
    "kinetics:C", detail="cases A to E: befores by the general way are those of the quick one"
)
@pytest.mark.parametrize("name", CASES)
def test_befores_alone(name: str) -> None:
    case = CASES[name]
    ours = settled_before(body_of(case), nights_of(case), case.cycle_h * 60)
    assert all(near(a, b) for a, b in zip(ours, PRINTED[name].before, strict=True))


@lru_cache(maxsize=1)
def missed() -> list[Course]:
    """Seven weeks of case B, the first one settled, without session 3 of week 3; cut where a fourth session ends."""
    case = CASES["B"]
    body, week = body_of(case), nights_of(case)
    nights = [
        night._replace(start_min=night.start_min + number * WEEK_MIN)
        for number in range(7)
        for session, night in enumerate(week)
        if (number, session) != (3, 2)
    ]
    rest = settled(body, week, WEEK_MIN)
    steps = steps_of(body, nights, 7 * WEEK_MIN, gap_min=40 * 60)
    courses: list[Course] = []
    masses: Vector = rest.masses
    piece: list[Step] = []
    for step in steps:
        piece.append(step)
        number = step.treatment
        if number is not None and nights[number].start_min % WEEK_MIN == week[3].start_min:
            courses.append(follow(body, piece, masses))
            masses, piece = courses[-1].masses, []
    return courses


@pytest.mark.source(
    "kinetics:C", detail="case F, a missed night, DOP853 at 1e-11, printed: sessions of weeks 2 to 5"
)
def test_a_missed_night() -> None:
    courses = missed()
    for week in (2, 3, 4, 5):
        rows = [row for row in MISSED if row[0] == week]
        sessions = courses[week].sessions
        assert len(sessions) == len(rows)
        for ours, (_, _, _, fluid, before, end, evened) in zip(sessions, rows, strict=True):
            assert near(ours.removed_l, fluid)
            assert near(ours.before, before)
            assert near(ours.end, end)
            assert near(ours.evened, evened)


@pytest.mark.source("kinetics:C", detail="case F, time means of weeks 1 to 6, printed")
def test_weekly_means_around_a_missed_night() -> None:
    assert all(near(ours.mean, printed) for ours, printed in zip(missed()[1:], MISSED_MEANS, strict=True))


@pytest.mark.source(
    "kinetics:C",
    detail="case F: the deviation of session 1 in weeks 4 to 6, shrinking some 1950 times a week",
)
def test_what_is_left_of_a_missed_night() -> None:
    courses = missed()
    rest = courses[1].sessions[0].before
    away = [courses[week].sessions[0].before - rest for week in (4, 5, 6)]
    assert near(away[0], "2.4957")
    assert near(away[1], "0.001277")
    assert near(away[2], "0.00000065")
    assert away[0] / away[1] == pytest.approx(1950, rel=0.005)
    assert away[1] / away[2] == pytest.approx(away[0] / away[1], rel=1e-3)


@pytest.mark.source("kinetics:C", detail="case G, a middle molecule in fixed volumes, printed")
@pytest.mark.parametrize(
    ("name", "hours", "starts"), [("thrice", 4, (0, 48, 96)), ("nocturnal", 8, (0, 24, 72, 120))]
)
def test_a_middle_molecule(name: str, hours: float, starts: tuple[float, ...]) -> None:
    outer = 1 / 4.4
    pools = Pools((outer, 1 - outer), (Link(0, 1, 0.055),))
    nights = tuple(Treatment(start * 60, (Part(hours * 60, 0.060),)) for start in starts)
    for water in (pools, OuterPools(pools, 12.0)):
        course = settled(Body(water, 12.0, 0.13, 0.003), nights, WEEK_MIN)
        rows = [
            [one.before for one in course.sessions],
            [one.end for one in course.sessions],
            [one.evened for one in course.sessions],
            [one.after_hour or 0.0 for one in course.sessions],
            [course.mean],
        ]
        for ours, printed in zip(rows, MIDDLE[name], strict=True):
            assert all(near(a, b, SOLVER_G) for a, b in zip(ours, printed, strict=True)), (ours, printed)


@pytest.mark.source("kinetics:B46", detail="one pool, 2.5 L off in 240 min: 8.05494944")
def test_one_pool_with_fluid_off() -> None:
    ends = after(ONE_POOL.over(Leg(240.0, 42.5, -2.5 / 240, (0.22,))), (25 * 42.5,), (0.2,))
    assert near(ends[0] / 40.0, "8.05494944")


@pytest.mark.source(
    "kinetics:B47", detail="one pool, a gap of 44 h with 1 L a day: 17.24198052 and 18.35856574"
)
@pytest.mark.parametrize(("residual", "printed"), [(0.0015, "17.24198052"), (0.0, "18.35856574")])
def test_one_pool_in_a_gap(residual: float, printed: str) -> None:
    leg = Leg(44 * 60.0, 40.0, 1 / 1440, (residual,))
    ends = after(ONE_POOL.over(leg), (240.0,), (0.2,))
    assert near(ends[0] / leg.volume_end_l, printed)


@pytest.mark.source("kinetics:B48", detail="13 and 27 L, fixed: 6.07543706, 7.43810863; mixed 6.99524037")
def test_two_pools_of_fixed_volume() -> None:
    pools = Pools((13 / 40, 27 / 40), (Link(0, 1, 0.64),))
    ends = after(pools.over(Leg(240.0, 40.0, 0.0, (0.2, 0.0))), pools.masses_at(20.0, 40.0), (0.0, 0.0))
    outer, inner = pools.concentrations(ends, 40.0)
    assert near(outer, "6.07543706")
    assert near(inner, "7.43810863")
    assert near(sum(ends) / 40, "6.99524037")
