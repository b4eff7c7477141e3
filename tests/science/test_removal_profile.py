"""Removal that isn't even: the fastest part, the totals, and what is off by when."""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.core.errors import DomainError
from ebbwell.science.fluid import removal_rate
from ebbwell.science.removal_profile import (
    highest_rate_per_kg,
    isolated_legs,
    isolated_rate,
    profile_legs,
    profile_top_rate,
    rate_beside_isolated,
    removed_after,
)

D = Decimal
NEAR = D("1e-20")


@pytest.mark.source(
    "arithmetic", detail="2.3 L in 7.5 h, 35 % in the first of four parts: 805 mL in 1.875 h = 429.3 mL/h"
)
def test_the_fastest_part_of_a_profile() -> None:
    top = profile_top_rate(volume_l=D("2.3"), hours_h=D("7.5"), top_share_percent=D(35), time_parts=D(4))
    assert round(top, 1) == D("429.3")
    assert round(highest_rate_per_kg(top_rate_ml_h=top, weight_kg=D("64.5")), 2) == D("6.66")


@pytest.mark.source("arithmetic", detail="0.5 L in 60 min = 500 mL/h; 1.8 L left in 6.5 h = 276.9 mL/h")
def test_an_isolated_part_and_the_rest() -> None:
    assert isolated_rate(isolated_l=D("0.5"), isolated_min=D(60)) == 500
    rest = rate_beside_isolated(volume_l=D("2.3"), isolated_l=D("0.5"), hours_h=D("7.5"), isolated_min=D(60))
    assert round(rest, 1) == D("276.9")


@pytest.mark.source(
    "arithmetic", detail="2.3 L as 35, 30, 20, 15 %: 0.805, 1.495, 1.955, 2.3 L at the joints"
)
def test_what_is_off_by_when() -> None:
    legs = profile_legs(D("2.3"), D("7.5"), [D(35), D(30), D(20), D(15)])
    at = [removed_after(legs, D("1.875") * n) for n in range(5)]
    assert at == [D(0), D("0.805"), D("1.495"), D("1.955"), D("2.3")]
    assert removed_after(legs, D("0.9375")) == D("0.4025")
    assert removed_after(legs, D(20)) == D("2.3")


@given(
    cuts=st.lists(st.integers(0, 100), min_size=1, max_size=11),
    volume=st.decimals(min_value="0.1", max_value="9", places=2),
    hours=st.decimals(min_value="1", max_value="12", places=2),
)
def test_the_parts_add_up_and_no_part_is_faster_than_said(
    cuts: list[int], volume: Decimal, hours: Decimal
) -> None:
    ends = [0, *sorted(cuts), 100]
    shares = [D(b - a) for a, b in pairwise(ends)]
    legs = profile_legs(volume, hours, shares)
    top = profile_top_rate(
        volume_l=volume, hours_h=hours, top_share_percent=max(shares), time_parts=D(len(shares))
    )
    assert abs(sum(leg.litres for leg in legs) - volume) < NEAR
    assert abs(sum(leg.hours for leg in legs) - hours) < NEAR
    assert max(leg.litres * 1000 / leg.hours for leg in legs) - top < NEAR
    assert top + NEAR >= removal_rate(volume_l=volume, hours_h=hours)


def test_the_isolated_part_adds_up() -> None:
    legs = isolated_legs(D("2.3"), D("7.5"), isolated_l=D("0.5"), isolated_min=D(60))
    assert abs(sum(leg.litres for leg in legs) - D("2.3")) < NEAR
    assert removed_after(legs, D("0.5")) == D("0.25")


def test_what_cant_go_together_is_refused() -> None:
    with pytest.raises(DomainError, match="isolated_over"):
        rate_beside_isolated(volume_l=D("0.4"), isolated_l=D("0.5"), hours_h=D(8), isolated_min=D(60))
    with pytest.raises(DomainError, match="isolated_too_long"):
        rate_beside_isolated(volume_l=D(2), isolated_l=D("0.5"), hours_h=D(1), isolated_min=D(60))
    with pytest.raises(DomainError, match="shares_sum"):
        profile_legs(D(2), D(8), [D(50), D(40)])
    with pytest.raises(DomainError):
        profile_legs(D(2), D(8), [D(100)])
    with pytest.raises(DomainError):
        profile_legs(D(2), D(8), [D(120), D(-20)])
