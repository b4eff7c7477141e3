"""The map of a leg: mass is kept, limits are met without loss, and what can't be is refused."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.core.errors import DomainError
from ebbwell.core.text import say
from ebbwell.science.pools import ONE_POOL, Leg, Link, Pools, Vector, after
from ebbwell.science.pools_outer import OuterPools
from tests.science.bodies import legs, pools

KEPT = 1e-12
"""Mass that may go astray, of all there was and came. Source: the wish of this project's own plan."""
TWO = Pools((1 / 3, 2 / 3), (Link(0, 1, 0.64),))


def _case(draw: st.DrawFn) -> tuple[Pools, Leg, Vector, Vector]:
    some = draw(pools(3))
    count = len(some.shares)
    masses = tuple(draw(st.floats(0, 500)) for _ in range(count))
    inflow = tuple(draw(st.floats(0, 1)) for _ in range(count))
    return some, draw(legs(count)), masses, inflow


CASES = st.composite(_case)()


@given(CASES)
def test_what_is_there_is_what_was_and_came_less_what_left(case: tuple[Pools, Leg, Vector, Vector]) -> None:
    some, leg, masses, inflow = case
    ends = after(some.over(leg), masses, inflow)
    areas = after(some.area_over(leg), masses, inflow)
    left = sum(k * area for k, area in zip(leg.clearance_l_min, areas, strict=True))
    came = sum(masses) + sum(inflow) * leg.minutes
    assert abs(sum(ends) + left - came) <= KEPT * came


@given(CASES)
def test_a_leg_in_two_pieces_is_the_leg(case: tuple[Pools, Leg, Vector, Vector]) -> None:
    some, leg, masses, inflow = case
    first = leg._replace(minutes=leg.minutes * 0.4)
    second = leg._replace(minutes=leg.minutes - first.minutes, volume_l=first.volume_end_l)
    middle = after(some.over(first), masses, inflow)
    whole = after(some.over(leg), masses, inflow)
    size = sum(whole) + 1e-12
    assert after(some.over(second), middle, inflow) == pytest.approx(whole, rel=1e-12, abs=1e-12 * size)
    areas = [
        a + b
        for a, b in zip(
            after(some.area_over(first), masses, inflow),
            after(some.area_over(second), middle, inflow),
            strict=True,
        )
    ]
    assert areas == pytest.approx(after(some.area_over(leg), masses, inflow), rel=1e-11, abs=1e-11 * size)


@given(CASES)
def test_no_mass_falls_below_0(case: tuple[Pools, Leg, Vector, Vector]) -> None:
    some, leg, masses, inflow = case
    came = sum(masses) + sum(inflow) * leg.minutes
    assert min(after(some.over(leg), masses, inflow)) >= -KEPT * came


@given(legs(2), st.floats(0.1, 30))
def test_where_nothing_leaves_concentrations_go_as_the_volume(leg: Leg, concentration: float) -> None:
    """No mass leaves, and a flow without end keeps the pools even: concentrations go as 1/V. Source: arithmetic."""
    still = leg._replace(clearance_l_min=(0.0, 0.0))
    even = TWO.masses_at(concentration, leg.volume_l)
    flowing = Pools((1 / 3, 2 / 3), (Link(0, 1, 1e9),))
    ends = flowing.concentrations(after(flowing.over(still), even, (0.0, 0.0)), leg.volume_end_l)
    assert ends == pytest.approx([concentration * leg.volume_l / leg.volume_end_l] * 2, rel=1e-8)


@given(legs(1), st.floats(0.1, 30), st.floats(0, 1))
def test_one_pool_is_the_closed_form(leg: Leg, before: float, generation: float) -> None:
    """dM/dt = G - K M/V has M = M0 s + G (V - V0 s)/(K + q), s = (V/V0)^(-K/q). Source: kinetics A8, for masses."""
    k, q, v0, v1 = leg.clearance_l_min[0], leg.fluid_l_min, leg.volume_l, leg.volume_end_l
    if abs(q * leg.minutes / v0) < 1e-3 or k + q == 0:
        return
    left = (v1 / v0) ** (-k / q)
    expected = before * v0 * left + generation * (v1 - v0 * left) / (k + q)
    ours = after(ONE_POOL.over(leg), (before * v0,), (generation,))[0]
    size = before * v0 + generation * leg.minutes
    assert ours == pytest.approx(expected, rel=1e-10, abs=1e-10 * size * max(1.0, k / abs(k + q)))


@given(legs(2), st.floats(0.1, 30))
def test_a_flow_without_end_makes_one_pool_of_two(leg: Leg, before: float) -> None:
    lost = leg._replace(clearance_l_min=(leg.clearance_l_min[0], 0.0))
    two = Pools((0.4, 0.6), (Link(0, 1, 1e8),))
    ends = after(two.over(lost), two.masses_at(before, leg.volume_l), (0.2, 0.0))
    one = after(
        ONE_POOL.over(lost._replace(clearance_l_min=lost.clearance_l_min[:1])),
        (before * leg.volume_l,),
        (0.2,),
    )
    assert sum(ends) == pytest.approx(one[0], rel=1e-6)


@pytest.mark.parametrize("some", [ONE_POOL, TWO, Pools((0.2, 0.3, 0.5), (Link(0, 1, 0.3), Link(1, 2, 0.1)))])
@pytest.mark.parametrize("carries", [False, True])
def test_no_leap_as_the_change_of_volume_goes_to_0(some: Pools, carries: bool) -> None:
    here = Pools(some.shares, some.links, carries)
    count = len(here.shares)
    masses, inflow = here.masses_at(20.0, 40.0), (0.2, 0.0, 0.0)[:count]
    leg = Leg(480.0, 40.0, 0.0, (0.2, 0.0, 0.0)[:count])
    still = after(here.over(leg), masses, inflow)
    areas = after(here.area_over(leg), masses, inflow)
    for fluid in (1e-300, -1e-18, 1e-15, -1e-12, 1e-10):
        moved = leg._replace(fluid_l_min=fluid)
        near = pytest.approx(still, rel=1e-13 + abs(fluid) * 500)
        assert after(here.over(moved), masses, inflow) == near
        assert after(here.area_over(moved), masses, inflow) == pytest.approx(
            areas, rel=1e-13 + abs(fluid) * 500
        )


@given(st.floats(0.1, 5), st.floats(30, 200))
def test_water_taken_off_with_its_solute_leaves_the_concentration(litres: float, minutes: float) -> None:
    """Loss and fall of volume are then one number: the eigenvalue meets the rate of the volume exactly."""
    for some in (ONE_POOL, Pools((1 / 3, 2 / 3), (Link(0, 1, 0.64),), carries=True)):
        rate = litres / minutes
        leg = Leg(minutes, 40.0, -rate, (rate, 0.0)[: len(some.shares)])
        ends = after(some.over(leg), some.masses_at(20.0, 40.0), (0.0,) * len(some.shares))
        assert some.concentrations(ends, leg.volume_end_l) == pytest.approx(
            [20.0] * len(some.shares), rel=1e-13
        )


def test_water_taken_off_with_generation_where_the_eigenvalue_is_hit() -> None:
    """K = -beta: dC/dt = G/V, so C = C0 + G ln(V0/V1)/rate. Source: arithmetic."""
    leg = Leg(60.0, 40.0, -0.02, (0.02,))
    ends = after(ONE_POOL.over(leg), (800.0,), (0.3,))
    assert ends[0] / 38.8 == pytest.approx(20 + 0.3 * math.log(40 / 38.8) / 0.02, rel=1e-14)


def test_equal_eigenvalues() -> None:
    """Three alike: no flow between pools, the same loss over share in each: each is a pool by itself."""
    some = Pools((0.25, 0.25, 0.5), (Link(0, 1, 0.0), Link(1, 2, 0.0)))
    leg = Leg(300.0, 40.0, 0.0, (0.05, 0.05, 0.1))
    masses = (100.0, 50.0, 30.0)
    gone = math.exp(-0.05 * 300 / 10)
    assert after(some.over(leg), masses, (0.0,) * 3) == pytest.approx([m * gone for m in masses], rel=1e-14)
    pair = Pools((0.5, 0.5), (Link(0, 1, 0.0),))
    assert after(
        pair.over(leg._replace(clearance_l_min=(0.1, 0.1))), (100.0, 50.0), (0.0, 0.0)
    ) == pytest.approx([100 * gone, 50 * gone], rel=1e-14)


@given(legs(2), st.floats(0.05, 1))
def test_three_pools_with_the_last_two_as_one_are_two(leg: Leg, flow: float) -> None:
    some = Pools((0.3, 0.3, 0.4), (Link(0, 1, flow), Link(1, 2, 1e8)))
    two = Pools((0.3, 0.7), (Link(0, 1, flow),))
    lost = leg.clearance_l_min[0]
    three = after(
        some.over(leg._replace(clearance_l_min=(lost, 0.0, 0.0))), (100.0, 150.0, 200.0), (0.2, 0.0, 0.0)
    )
    pair = after(two.over(leg._replace(clearance_l_min=(lost, 0.0))), (100.0, 350.0), (0.2, 0.0))
    assert (three[0], three[1] + three[2]) == pytest.approx(pair, rel=1e-6)


@given(legs(1))
def test_both_pictures_are_one_where_there_is_one_pool(leg: Leg) -> None:
    outer = OuterPools(ONE_POOL, leg.volume_l)
    for ours, closed in ((outer.over, ONE_POOL.over), (outer.area_over, ONE_POOL.area_over)):
        assert after(ours(leg), (300.0,), (0.2,)) == pytest.approx(
            after(closed(leg), (300.0,), (0.2,)), rel=1e-10
        )


@given(legs(2), st.floats(0.1, 1))
def test_both_pictures_are_one_where_no_water_moves(leg: Leg, flow: float) -> None:
    still = leg._replace(fluid_l_min=0.0)
    some = Pools((1 / 3, 2 / 3), (Link(0, 1, flow),))
    outer = OuterPools(some, leg.volume_l)
    masses, inflow = (300.0, 500.0), (0.2, 0.0)
    assert after(outer.over(still), masses, inflow) == pytest.approx(
        after(some.over(still), masses, inflow), rel=1e-12
    )
    assert after(outer.area_over(still), masses, inflow) == pytest.approx(
        after(some.area_over(still), masses, inflow), rel=1e-12
    )


NAN, INF = math.nan, math.inf
LEG = Leg(240.0, 40.0, 0.0, (0.2, 0.0))


@pytest.mark.parametrize(
    ("leg", "key"),
    [
        *[(LEG._replace(minutes=x), "science.leg_not_a_number") for x in (NAN, INF, -INF)],
        *[(LEG._replace(volume_l=x), "science.leg_not_a_number") for x in (NAN, INF)],
        *[(LEG._replace(fluid_l_min=x), "science.leg_not_a_number") for x in (NAN, -INF)],
        *[(LEG._replace(clearance_l_min=(x, 0.0)), "science.leg_not_a_number") for x in (NAN, INF)],
        *[(LEG._replace(minutes=x), "science.leg_not_above_zero") for x in (0.0, -1.0)],
        *[(LEG._replace(volume_l=x), "science.leg_not_above_zero") for x in (0.0, -40.0)],
        (LEG._replace(clearance_l_min=(0.0, -0.1)), "science.leg_not_above_zero"),
        *[(LEG._replace(fluid_l_min=x / 240), "science.leg_empties") for x in (-40.0, -41.0)],
    ],
)
def test_a_leg_that_cannot_be_is_refused(leg: Leg, key: str) -> None:
    for some in (TWO, OuterPools(TWO, 40.0)):
        for work in (some.over, some.area_over):
            with pytest.raises(DomainError) as refused:
                work(leg)
            assert refused.value.key == key
            assert say(key, volume="40.0")


def test_the_outer_pool_cannot_be_emptied() -> None:
    outer = OuterPools(TWO, 40.0)
    with pytest.raises(DomainError) as refused:
        outer.over(LEG._replace(fluid_l_min=-14 / 240))
    assert refused.value.key == "science.leg_empties"
    with pytest.raises(DomainError) as refused:
        OuterPools(TWO, 0.0)
    assert refused.value.key == "science.leg_not_above_zero"


@pytest.mark.parametrize(
    ("shares", "links", "key"),
    [
        ((), (), "science.pools_links"),
        ((0.25,) * 4, (Link(0, 1, 1.0), Link(1, 2, 1.0), Link(2, 3, 1.0)), "science.pools_links"),
        ((0.5, 0.5), (), "science.pools_links"),
        ((0.5, 0.5), (Link(1, 0, 1.0),), "science.pools_links"),
        ((0.5, 0.5), (Link(0, 2, 1.0),), "science.pools_links"),
        ((0.5, 0.5), (Link(0, 1, -1.0),), "science.pools_links"),
        ((0.5, 0.5), (Link(0, 1, NAN),), "science.pools_links"),
        ((0.2, 0.3, 0.5), (Link(0, 1, 1.0), Link(0, 1, 1.0)), "science.pools_links"),
        ((0.5, 0.4), (Link(0, 1, 1.0),), "science.pools_shares"),
        ((1.5, -0.5), (Link(0, 1, 1.0),), "science.pools_shares"),
        ((NAN, 0.5), (Link(0, 1, 1.0),), "science.pools_shares"),
        ((0.0, 1.0), (Link(0, 1, 1.0),), "science.pools_shares"),
    ],
)
def test_pools_that_cannot_be_are_refused(shares: Vector, links: tuple[Link, ...], key: str) -> None:
    with pytest.raises(DomainError) as refused:
        Pools(shares, links)
    assert refused.value.key == key
    assert say(key)
