"""The scale beside the machine: the middle slope and its band against other libraries, and what too little gives."""

from __future__ import annotations

import statistics
from decimal import Decimal
from itertools import combinations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from ebbwell.core.errors import DomainError
from ebbwell.science.scale_check import middle_slope, scale_check

D = Decimal
TEN = [D(n) for n in range(0, 20, 2)]
TWO_LITRES = [D(2)] * 10


@pytest.mark.source("statistics:S68", detail="the median of all pair slopes, by a general library")
@given(
    points=st.lists(
        st.tuples(st.integers(0, 90), st.decimals(min_value=-1, max_value=1, places=1)),
        min_size=5,
        max_size=20,
    )
)
def test_the_middle_slope_is_the_median_of_another_library(points: list[tuple[int, Decimal]]) -> None:
    pairs = [(a, b) for a, b in combinations(points, 2) if a[0] != b[0]]
    assume(len(pairs) >= 3)
    theirs = float(np.median([float(b[1] - a[1]) / (b[0] - a[0]) for a, b in pairs]))
    found = middle_slope([D(x) for x, _ in points], [y for _, y in points])
    assert found is not None
    assert float(found.middle) == pytest.approx(theirs, abs=1e-12)
    assert found.low <= found.middle <= found.high


@pytest.mark.source("arithmetic", detail="points on a line: least squares of the standard library")
def test_on_a_line_it_is_the_line_of_least_squares() -> None:
    values = [D("0.1") + D("0.005") * day for day in TEN]
    found = middle_slope(TEN, values)
    assert found is not None
    theirs = statistics.linear_regression([float(day) for day in TEN], [float(v) for v in values])
    assert float(found.middle) == pytest.approx(theirs.slope)
    assert found.low == found.middle == found.high


def test_one_wild_night_moves_it_little() -> None:
    values = [D("0.005") * day for day in TEN[:-1]] + [D(9)]
    found = middle_slope(TEN, values)
    theirs = statistics.linear_regression([float(day) for day in TEN], [float(v) for v in values])
    assert found is not None
    assert abs(found.middle - D("0.005")) < D("0.002")
    assert theirs.slope > 0.2


@pytest.mark.source(
    "statistics:S68",
    detail="10 nights: 45 pairs, 1.645 x sqrt(10 x 9 x 25 / 18) = 18.39; 45 less and more by that, halved: 13.3, 31.7",
)
def test_the_band_by_hand() -> None:
    values = [D(one * one) / 10 for one in range(10)]
    slopes = sorted((b[1] - a[1]) / (b[0] - a[0]) for a, b in combinations(zip(TEN, values, strict=True), 2))
    found = middle_slope(TEN, values)
    assert found is not None
    assert (found.low, found.high) == (slopes[13], slopes[32])


@pytest.mark.source(
    "arithmetic", detail="0.1 kg apart at first, 0.01 kg more every two days: 0.15 in 30 days"
)
def test_a_scale_that_creeps() -> None:
    change = [D("2.1") + D("0.01") * n for n in range(10)]
    found = scale_check(days=TEN, change_kg=change, net_l=TWO_LITRES)
    assert found is not None
    assert (found.nights, found.apart, found.a_month.middle) == (10, D("0.145"), D("0.150"))
    assert found.a_litre is None, "nights that were all alike say nothing of a litre"


@pytest.mark.source("arithmetic", detail="a scale that shows 5 % too much falls by 1.05 kg for each litre")
def test_a_kilogram_that_isnt_one() -> None:
    net = [D("1.5") + D("0.1") * n for n in range(10)]
    found = scale_check(days=TEN, change_kg=[one * D("1.05") for one in net], net_l=net)
    assert found is not None
    assert found.a_litre is not None
    assert round(found.a_litre.middle, 6) == D("1.05")


def test_too_few_nights_and_nights_on_one_day_give_nothing() -> None:
    assert scale_check(days=TEN[:9], change_kg=TWO_LITRES[:9], net_l=TWO_LITRES[:9]) is None
    assert scale_check(days=[D(3)] * 10, change_kg=TWO_LITRES, net_l=TWO_LITRES) is None
    assert middle_slope([], []) is None


def test_what_no_night_has_is_refused() -> None:
    with pytest.raises(DomainError):
        scale_check(days=TEN, change_kg=[*TWO_LITRES[:9], D(31)], net_l=TWO_LITRES)
    with pytest.raises(ValueError, match="zip"):
        scale_check(days=TEN, change_kg=TWO_LITRES[:9], net_l=TWO_LITRES)
