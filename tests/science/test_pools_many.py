"""Many schedules at once give what each gives by itself, without a warning, and refuse what one would refuse."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from ebbwell.core.errors import DomainError
from ebbwell.science.exp_differences_many import Array
from ebbwell.science.pools import Link, Pools
from ebbwell.science.pools_many import (
    ManyBodies,
    ManyLink,
    ManyTreatment,
    Numbers,
    followed_many,
    settled_many,
)
from ebbwell.science.schedule import WEEK_MIN, Body, Part, Treatment, follow, settled, steps_of

COUNT = 60
STARTS = (0.0, 1440.0, 4320.0, 7200.0)
DICE = np.random.default_rng(11)


def some(low: float, high: float) -> Array:
    """Numbers in a range, one in six of them 0, where models have their corners."""
    drawn = DICE.uniform(low, high, COUNT)
    return np.where(DICE.random(COUNT) < 1 / 6, 0.0, drawn) if low == 0 else drawn


def family(pools: int, carries: bool) -> ManyBodies:
    parts = [DICE.uniform(0.1, 1, COUNT) for _ in range(pools)]
    total = np.sum(parts, axis=0)
    links = [ManyLink(0, 1, some(0.2, 1.2)), ManyLink(int(DICE.integers(0, 2)), 2, some(0.01, 0.4))]
    return ManyBodies(
        tuple(part / total for part in parts),
        tuple(links[: pools - 1]),
        some(15, 60),
        some(0.05, 0.5),
        some(0, 0.004),
        some(0, 2) / 1440,
        (some(0, 0.002),),
        carries,
    )


def at(x: Numbers, i: int) -> float:
    return float(x if np.ndim(x) == 0 else np.asarray(x)[i])


def alone(many: ManyBodies, i: int) -> Body:
    pools = Pools(
        tuple(at(x, i) for x in many.shares),
        tuple(Link(x.near, x.far, at(x.flow_l_min, i)) for x in many.links),
        many.carries,
    )
    return Body(
        pools,
        at(many.volume_l, i),
        at(many.generation_per_min, i),
        at(many.residual_l_min, i),
        tuple(at(x, i) for x in many.other_l_min),
        at(many.gain_l_min, i),
    )


def compare(many: ManyBodies, nights: list[ManyTreatment], cycle: Numbers, chunk: int) -> None:
    found = settled_many(many, nights, cycle, means=True, chunk=chunk, ends=True)
    assert found.mean is not None
    assert found.end is not None
    for i in range(found.before.shape[1]):
        week = tuple(
            Treatment(
                at(x.start_min, i), (Part(at(x.minutes, i), at(x.clearance_l_min, i), bath=at(x.bath, i)),)
            )
            for x in nights
        )
        course = settled(alone(many, i), week, at(cycle, i))
        assert found.before[:, i] == pytest.approx([one.before for one in course.sessions], rel=1e-12)
        assert found.mean[i] == pytest.approx(course.mean, rel=1e-12)
        assert found.end[:, i] == pytest.approx([one.end for one in course.sessions], rel=1e-12)


@pytest.mark.parametrize("carries", [False, True])
@pytest.mark.parametrize("pools", [1, 2, 3])
def test_each_is_what_it_is_alone(pools: int, carries: bool) -> None:
    minutes, clearance = some(90, 560), some(0.05, 0.35)
    nights = [ManyTreatment(start, minutes, clearance) for start in STARTS]
    compare(family(pools, carries), nights, WEEK_MIN, chunk=17)


@pytest.mark.parametrize("pools", [1, 2, 3])
def test_every_number_may_differ(pools: int) -> None:
    starts = [some(1, 2) * start for start in STARTS]
    nights = [ManyTreatment(start * 0.5, some(90, 500), some(0.05, 0.35), some(0, 2)) for start in starts]
    nights[0] = nights[0]._replace(start_min=0.0)
    nights = sorted(nights, key=lambda one: float(np.mean(one.start_min)))
    apart = [nights[0]._replace(minutes=200.0), nights[3]._replace(start_min=some(6000, 7000))]
    compare(family(pools, False), apart, some(9000, 11000), chunk=100)


def test_one_number_for_all_and_one_schedule() -> None:
    bodies = ManyBodies((1 / 3, 2 / 3), (ManyLink(0, 1, 0.64),), 40.0, 0.24, gain_l_min=0.9 / 1440)
    nights = [ManyTreatment(start, 480.0, 0.18) for start in STARTS]
    compare(bodies, nights, WEEK_MIN, chunk=2048)
    compare(replace(bodies, generation_per_min=np.array([0.1, 0.2, 0.3])), nights, WEEK_MIN, chunk=2)
    assert settled_many(bodies, nights, WEEK_MIN).mean is None


def test_a_treatment_right_after_another_leaves_no_gap() -> None:
    bodies = ManyBodies((1 / 3, 2 / 3), (ManyLink(0, 1, 0.64),), 40.0, 0.24)
    nights = [ManyTreatment(0.0, 480.0, 0.18), ManyTreatment(480.0, 240.0, 0.1)]
    compare(bodies, nights, 2880.0, chunk=8)


def test_pools_without_any_flow_or_loss_between_meet_equal_eigenvalues() -> None:
    bodies = ManyBodies(
        (0.25, 0.25, 0.5),
        (ManyLink(0, 1, 1e-9), ManyLink(1, 2, 1e-9)),
        40.0,
        0.2,
        other_l_min=(0.0, 0.01, 0.02),
    )
    compare(bodies, [ManyTreatment(0.0, 300.0, np.array([0.01, 0.02, 0.2]))], 2880.0, chunk=8)


PAIR = ManyBodies(
    (1 / 3, 2 / 3), (ManyLink(0, 1, 0.64),), np.array([40.0, 30.0]), 0.24, gain_l_min=0.9 / 1440
)
NIGHTS = [ManyTreatment(start, 480.0, 0.18) for start in STARTS]


@pytest.mark.parametrize(
    ("bodies", "nights", "key"),
    [
        (PAIR, [], "science.no_treatments"),
        (replace(PAIR, volume_l=np.array([40.0, math.nan])), NIGHTS, "science.leg_not_a_number"),
        (replace(PAIR, gain_l_min=math.inf), NIGHTS, "science.leg_not_a_number"),
        (replace(PAIR, volume_l=np.array([40.0, 0.0])), NIGHTS, "science.leg_not_above_zero"),
        (replace(PAIR, residual_l_min=-0.1), NIGHTS, "science.leg_not_above_zero"),
        (replace(PAIR, shares=(0.5, 0.6)), NIGHTS, "science.pools_shares"),
        (replace(PAIR, shares=(1.5, -0.5)), NIGHTS, "science.pools_shares"),
        (replace(PAIR, links=()), NIGHTS, "science.pools_links"),
        (replace(PAIR, links=(ManyLink(1, 0, 0.6),)), NIGHTS, "science.pools_links"),
        (replace(PAIR, links=(ManyLink(0, 1, -0.6),)), NIGHTS, "science.pools_links"),
        (PAIR, [ManyTreatment(0.0, 0.0, 0.18)], "science.leg_not_above_zero"),
        (PAIR, [ManyTreatment(0.0, 480.0, np.array([0.18, -0.1]))], "science.leg_not_above_zero"),
        (PAIR, [ManyTreatment(60.0, 480.0, 0.18)], "science.treatments_overlap"),
        (
            PAIR,
            [NIGHTS[0], ManyTreatment(np.array([600.0, 400.0]), 480.0, 0.18)],
            "science.treatments_overlap",
        ),
        (replace(PAIR, gain_l_min=-0.02), NIGHTS, "science.leg_empties"),
        (
            replace(PAIR, gain_l_min=0.0),
            [ManyTreatment(0.0, 480.0, np.array([0.2, 0.0]))],
            "science.nothing_removes",
        ),
    ],
)
def test_what_one_of_them_cannot_be_is_refused(
    bodies: ManyBodies, nights: list[ManyTreatment], key: str
) -> None:
    with pytest.raises(DomainError) as refused:
        settled_many(bodies, nights, WEEK_MIN)
    assert refused.value.key == key


@pytest.mark.parametrize("pools", [1, 2, 3])
def test_each_goes_on_from_a_start_as_it_does_alone(pools: int) -> None:
    many, minutes, clearance = family(pools, False), some(90, 560), some(0.05, 0.35)
    nights = [ManyTreatment(start, minutes, clearance) for start in STARTS]
    start = np.array([some(5, 30) for _ in range(pools)])
    before, end = followed_many(many, nights, WEEK_MIN, start, 3)
    assert before.shape == end.shape == (12, COUNT)
    for i in range(COUNT):
        body = alone(many, i)
        weeks = [
            Treatment(
                week * WEEK_MIN + at(x.start_min, i), (Part(at(x.minutes, i), at(x.clearance_l_min, i)),)
            )
            for week in range(3)
            for x in nights
        ]
        gap = WEEK_MIN - STARTS[-1] - at(minutes, i)
        steps = steps_of(body, weeks, 3 * WEEK_MIN, gap_min=gap)
        assert isinstance(body.water, Pools)
        litres = steps[0].leg.volume_l
        masses = tuple(
            float(c) * share * litres for c, share in zip(start[:, i], body.water.shares, strict=True)
        )
        course = follow(body, steps, masses)
        assert before[:, i] == pytest.approx([one.before for one in course.sessions], rel=1e-11)
        assert end[:, i] == pytest.approx([one.end for one in course.sessions], rel=1e-11)


def test_a_settled_start_goes_on_as_it_is() -> None:
    many, minutes, clearance = family(2, False), some(90, 560), some(0.05, 0.35)
    nights = [ManyTreatment(start, minutes, clearance) for start in STARTS]
    found = settled_many(many, nights, WEEK_MIN, ends=True)
    assert found.start is not None
    assert found.end is not None
    assert found.start[0] == pytest.approx(found.before[0], rel=1e-13)
    before, end = followed_many(many, nights, WEEK_MIN, found.start, 2)
    assert before == pytest.approx(np.vstack([found.before] * 2), rel=1e-11)
    assert end == pytest.approx(np.vstack([found.end] * 2), rel=1e-11)


def test_to_go_on_without_treatments_is_refused() -> None:
    with pytest.raises(DomainError) as caught:
        followed_many(family(2, False), [], WEEK_MIN, np.ones((2, COUNT)), 1)
    assert caught.value.key == "science.no_treatments"
