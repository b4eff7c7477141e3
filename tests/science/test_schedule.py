"""Settled cycles and what follows from them: properties that need no reference, two paths that agree, and refusals."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.core.errors import DomainError
from ebbwell.core.text import say
from ebbwell.science.pools import ONE_POOL, Link, Pools
from ebbwell.science.pools_outer import OuterPools
from ebbwell.science.schedule import (
    WEEK_MIN,
    Body,
    Course,
    Intake,
    Part,
    Treatment,
    follow,
    settled,
    settled_before_by_maps,
    steps_of,
)
from ebbwell.science.settled_before import settled_before
from ebbwell.science.small_matrix import solve
from tests.science.bodies import bodies, weeks

TWO = Pools((1 / 3, 2 / 3), (Link(0, 1, 0.64),))
BODY = Body(TWO, 40.0, 0.24, gain_l_min=0.9 / 1440)
NIGHTS = tuple(Treatment(start * 60.0, (Part(480.0, 0.18),)) for start in (0, 24, 72, 120))
Week = tuple[Treatment, ...]


def test_the_dialyser_takes_what_was_there_and_came_in_less_what_is_left_whatever_the_bath_holds() -> None:
    for bath in (0.0, 3.0, 60.0):
        night = (Treatment(0.0, (Part(480.0, 0.18, bath=bath),)),)
        start = TWO.masses_at(20.0, BODY.volume_l)
        one = follow(BODY, steps_of(BODY, night, 480.0), start).sessions[0]
        made = BODY.generation_per_min * 480.0
        assert one.removed == pytest.approx(sum(start) + made - sum(one.masses), rel=1e-12)
    assert one.removed < 0, "a bath that holds more than the body gives"


def test_the_peak_of_a_stretch_may_be_its_last_moment() -> None:
    """Urea rises from the end of a treatment on; three days later it stands above the level that the treatment met."""
    night = (Treatment(0.0, (Part(240.0, 0.05),)),)
    course = follow(BODY, steps_of(BODY, night, 4320.0), TWO.masses_at(5.0, BODY.volume_l))
    last = TWO.concentrations(course.masses, BODY.volume_l + BODY.gain_l_min * (4320.0 - 240.0))[0]
    assert last > course.sessions[0].before
    assert course.peak == pytest.approx(last, rel=1e-12)


def befores(course: Course) -> list[float]:
    return [one.before for one in course.sessions]


@given(bodies(2), weeks)
def test_the_quick_path_is_the_general_one(body: Body, week: Week) -> None:
    plain = settled_before_by_maps(body, week, WEEK_MIN)
    assert settled_before(body, week, WEEK_MIN) == pytest.approx(plain, rel=1e-13)
    assert befores(settled(body, week, WEEK_MIN)) == pytest.approx(plain, rel=1e-15)


@given(bodies(3), weeks)
def test_what_a_cycle_gains_is_removed_in_it(body: Body, week: Week) -> None:
    """To 1e-12: dialyser, kidneys and the rest take in a cycle what is made in it."""
    alone = replace(body, other_l_min=(0.0,))
    course = settled(alone, week, WEEK_MIN)
    made = alone.generation_per_min * WEEK_MIN
    own = alone.residual_l_min * course.mean * WEEK_MIN
    assert abs(sum(one.removed for one in course.sessions) + own - made) <= 1e-12 * made


@given(bodies(3), weeks)
def test_the_settled_cycle_repeats_itself(body: Body, week: Week) -> None:
    once = settled(body, week, WEEK_MIN)
    last = week[-1]
    gap = WEEK_MIN - last.start_min - last.minutes
    again = follow(body, steps_of(body, week, WEEK_MIN, gap_min=gap), once.masses)
    assert again.masses == pytest.approx(once.masses, rel=1e-12)
    assert befores(again) == pytest.approx(befores(once), rel=1e-12)


@given(bodies(3), weeks, st.floats(0.1, 10))
def test_more_generation_scales_all(body: Body, week: Week, k: float) -> None:
    more = replace(body, generation_per_min=body.generation_per_min * k)
    once, scaled = settled(body, week, WEEK_MIN), settled(more, week, WEEK_MIN)
    assert befores(scaled) == pytest.approx([x * k for x in befores(once)], rel=1e-12)
    assert scaled.mean == pytest.approx(once.mean * k, rel=1e-12)


@given(bodies(3), weeks, st.floats(0.2, 5))
def test_a_body_and_flows_of_another_size_have_the_same_concentrations(
    body: Body, week: Week, k: float
) -> None:
    assert isinstance(body.water, Pools)
    links = tuple(link._replace(flow_l_min=link.flow_l_min * k) for link in body.water.links)
    bigger = Body(
        replace(body.water, links=links),
        body.volume_l * k,
        body.generation_per_min * k,
        body.residual_l_min * k,
        tuple(x * k for x in body.other_l_min),
        body.gain_l_min * k,
    )
    nights = tuple(
        night._replace(
            parts=tuple(
                part._replace(
                    clearance_l_min=part.clearance_l_min * k,
                    removal_l=None if part.removal_l is None else part.removal_l * k,
                )
                for part in night.parts
            )
        )
        for night in week
    )
    once, scaled = settled(body, week, WEEK_MIN), settled(bigger, nights, WEEK_MIN)
    assert befores(scaled) == pytest.approx(befores(once), rel=1e-11)
    assert scaled.mean == pytest.approx(once.mean, rel=1e-11)


@given(bodies(1), weeks)
def test_a_flow_without_end_makes_one_pool(body: Body, week: Week) -> None:
    alone = replace(body, other_l_min=(0.0,))
    two = replace(alone, water=Pools((0.4, 0.6), (Link(0, 1, 1e7),)))
    assert befores(settled(two, week, WEEK_MIN)) == pytest.approx(
        befores(settled(alone, week, WEEK_MIN)), rel=1e-5
    )


@given(bodies(3), weeks)
def test_inner_and_outer_means_are_the_same(body: Body, week: Week) -> None:
    """Over a settled cycle nothing stays in an inner pool that loses none by itself; so no net flow crosses the link."""
    assert isinstance(body.water, Pools)
    still = replace(body, water=replace(body.water, carries=False), other_l_min=(0.0,))
    course = settled(still, week, WEEK_MIN)
    assert course.mean_inner == pytest.approx(course.mean, rel=1e-10)


@given(bodies(3), weeks)
def test_the_peak_is_above_all_others_and_the_mean_below(body: Body, week: Week) -> None:
    course = settled(body, week, WEEK_MIN)
    assert course.mean < course.peak
    assert max(befores(course)) <= course.peak


@given(bodies(3), weeks)
def test_with_one_treatment_a_cycle_the_mean_is_below_the_before(body: Body, week: Week) -> None:
    """EKR above stdKt/V x V / 10.08, in other words. Source: kinetics C; without fluid, which dilutes."""
    still = Treatment(0.0, (week[0].parts[-1],))
    course = settled(replace(body, gain_l_min=0.0), (still,), 2880.0)
    assert course.mean < course.sessions[0].before
    assert course.peak == pytest.approx(course.sessions[0].before, rel=1e-12)
    assert course.sessions[0].end < course.sessions[0].before


def test_what_a_missed_night_leaves_shrinks_by_one_ratio_a_week() -> None:
    """Source: kinetics C, case F: about 1950 times less each full week; the cycle's leading eigenvalue."""
    body = replace(BODY, water=OuterPools(TWO, 40.0))
    rest = settled(body, NIGHTS, WEEK_MIN)
    weeks_ = 6
    nights = [
        night._replace(start_min=night.start_min + week * WEEK_MIN)
        for week in range(weeks_)
        for number, night in enumerate(NIGHTS)
        if (week, number) != (0, 2)
    ]
    course = follow(body, steps_of(body, nights, weeks_ * WEEK_MIN, gap_min=2400.0), rest.masses)
    away = [course.sessions[3 + 4 * week].before - rest.sessions[0].before for week in range(3)]
    assert away[0] / away[1] == pytest.approx(1954, abs=10)
    assert away[1] / away[2] == pytest.approx(away[0] / away[1], rel=1e-3)


def test_a_meal_counts_as_generation_of_its_hours() -> None:
    """An intake over all the cycle is generation by another name. Source: arithmetic."""
    more = settled_before(BODY, NIGHTS, WEEK_MIN, [Intake(0.0, WEEK_MIN, 0.06)])
    assert more == pytest.approx(
        settled_before(replace(BODY, generation_per_min=0.30), NIGHTS, WEEK_MIN), rel=1e-13
    )
    meal = settled(BODY, NIGHTS, WEEK_MIN, [Intake(2000.0, 60.0, 1.0)])
    made = 0.24 * WEEK_MIN + 60.0
    assert sum(one.removed for one in meal.sessions) == pytest.approx(made, rel=1e-12)


def test_a_bath_with_the_solute_holds_it_up() -> None:
    """With no generation and no other loss, all settles at the bath. Source: arithmetic."""
    still = replace(BODY, generation_per_min=0.0)
    nights = tuple(
        night._replace(parts=tuple(part._replace(bath=2.5) for part in night.parts)) for night in NIGHTS
    )
    dry = replace(still, gain_l_min=0.0)
    course = settled(dry, nights, WEEK_MIN)
    assert befores(course) == pytest.approx([2.5] * 4, rel=1e-12)
    assert settled_before(dry, nights, WEEK_MIN) == pytest.approx([2.5] * 4, rel=1e-12)


def test_release_draws_back_towards_where_the_treatment_began() -> None:
    body = replace(BODY, water=ONE_POOL, release_l_min=0.1)
    plain = replace(BODY, water=ONE_POOL)
    rest = settled(plain, NIGHTS, WEEK_MIN)
    steps = steps_of(plain, NIGHTS, WEEK_MIN, gap_min=2400.0)
    course = follow(body, steps_of(body, NIGHTS, WEEK_MIN, gap_min=2400.0), rest.masses)
    without = follow(plain, steps, rest.masses)
    assert course.sessions[0].before == pytest.approx(without.sessions[0].before, rel=1e-12)
    assert all(a.end > b.end for a, b in zip(course.sessions, without.sessions, strict=True))


def test_a_short_gap_has_no_value_an_hour_after() -> None:
    course = settled(BODY, (Treatment(0.0, (Part(1400.0, 0.18),)),), 1440.0)
    assert course.sessions[0].after_half_hour is not None
    assert course.sessions[0].after_hour is None


def test_equations_are_solved_and_a_set_without_a_solution_refused() -> None:
    """2x + y = 5, x - y = 1: x 2, y 1. Source: arithmetic."""
    assert solve([[0.0, 2.0], [1.0, -1.0]], [2.0, 1.0]) == pytest.approx([2.0, 1.0])
    for rows in ([[1.0, 2.0], [2.0, 4.0]], [[0.0]]):
        with pytest.raises(DomainError):
            solve(rows, [1.0] * len(rows))


def _night(
    start: float, minutes: float = 480.0, clearance: float = 0.18, removal: float | None = None
) -> Treatment:
    return Treatment(start, (Part(minutes, clearance, removal),))


NOTHING = replace(BODY, gain_l_min=0.0)
REFUSED: list[tuple[Body, Week, float, str]] = [
    (BODY, (), WEEK_MIN, "science.no_treatments"),
    (BODY, (Treatment(0.0, ()),), WEEK_MIN, "science.no_treatments"),
    (BODY, (_night(0.0), _night(479.0)), WEEK_MIN, "science.treatments_overlap"),
    (BODY, (_night(60.0),), WEEK_MIN, "science.treatments_overlap"),
    (BODY, (_night(0.0), _night(1440.0)), 1900.0, "science.treatments_overlap"),
    (BODY, (_night(0.0, removal=1.0),), WEEK_MIN, "science.fluid_left"),
    (BODY, (_night(0.0, minutes=0.0),), WEEK_MIN, "science.leg_not_above_zero"),
    (BODY, (_night(0.0, minutes=-5.0),), WEEK_MIN, "science.leg_not_above_zero"),
    (BODY, (_night(0.0, clearance=-0.1),), WEEK_MIN, "science.leg_not_above_zero"),
    (BODY, (_night(0.0, clearance=math.nan),), WEEK_MIN, "science.leg_not_a_number"),
    (BODY, (_night(0.0, clearance=math.inf),), WEEK_MIN, "science.leg_not_a_number"),
    (BODY, (_night(0.0, minutes=math.nan),), WEEK_MIN, "science.leg_not_a_number"),
    (BODY, (_night(0.0),), math.nan, "science.leg_not_a_number"),
    (BODY, (_night(0.0),), math.inf, "science.leg_not_a_number"),
    (BODY, (_night(math.nan),), WEEK_MIN, "science.leg_not_a_number"),
    (BODY, (_night(0.0, removal=math.nan),), WEEK_MIN, "science.leg_not_a_number"),
    (BODY, (_night(0.0, removal=math.inf),), WEEK_MIN, "science.leg_not_a_number"),
    (BODY, (Treatment(0.0, (Part(480.0, 0.18, bath=math.nan),)),), WEEK_MIN, "science.leg_not_a_number"),
    (BODY, (_night(0.0, removal=50.0), _night(1440.0)), WEEK_MIN, "science.leg_empties"),
    (NOTHING, (_night(0.0, clearance=0.0),), WEEK_MIN, "science.nothing_removes"),
    (replace(NOTHING, water=ONE_POOL), (_night(0.0, clearance=0.0),), WEEK_MIN, "science.nothing_removes"),
    (replace(BODY, release_l_min=0.1), (_night(0.0),), WEEK_MIN, "science.store_without_end"),
    (replace(BODY, water=ONE_POOL, release_l_min=0.1), (_night(0.0),), WEEK_MIN, "science.store_without_end"),
]


@pytest.mark.parametrize(("body", "week", "cycle", "key"), REFUSED)
@pytest.mark.parametrize("work", [settled, settled_before, settled_before_by_maps])
def test_what_cannot_be_is_refused(
    work: Callable[[Body, Week, float], object], body: Body, week: Week, cycle: float, key: str
) -> None:
    with pytest.raises(DomainError) as refused:
        work(body, week, cycle)
    assert refused.value.key == key
    assert say(key, volume="40.0", number=2, litres="0.30")


@pytest.mark.parametrize(
    ("name", "value", "key"),
    [
        ("volume_l", math.nan, "science.leg_not_a_number"),
        ("volume_l", math.inf, "science.leg_not_a_number"),
        ("volume_l", 0.0, "science.leg_not_above_zero"),
        ("volume_l", -40.0, "science.leg_not_above_zero"),
        ("generation_per_min", math.nan, "science.leg_not_a_number"),
        ("gain_l_min", math.inf, "science.leg_not_a_number"),
        ("residual_l_min", -0.001, "science.leg_not_above_zero"),
        ("release_l_min", -0.001, "science.leg_not_above_zero"),
        ("other_l_min", (math.nan,), "science.leg_not_a_number"),
        ("other_l_min", (0.0, -0.1), "science.leg_not_above_zero"),
    ],
)
def test_a_body_that_cannot_be_is_refused(name: str, value: object, key: str) -> None:
    with pytest.raises(DomainError) as refused:
        replace(BODY, **{name: value})  # type: ignore[arg-type]
    assert refused.value.key == key
