"""Divided differences of the exponential keep their digits, against the same worked with 200 digits."""

from __future__ import annotations

import math
from itertools import pairwise
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.science.exp_differences import NEAR, exp_difference, exp_difference_of_two
from ebbwell.science.exp_differences_many import exp_difference_many
from tests.needs import need

CLOSE = 2e-14
NODE = st.floats(-30, 3)
APART = st.sampled_from([0.0, 1e-30, 1e-17, 1e-9, 1e-3, 0.3, 0.999999999, 1.0, 1.000000001, 7.0, 200.0])


def true(*nodes: float) -> float:
    """e^[nodes] with 200 digits: equal nodes by the derivative over its factorial, others by the quotient.

    The nodes drawn below are equal or at least 1e-30 apart, so that the quotients of five of them lose 150 at most.
    """
    import mpmath

    with mpmath.workdps(200):
        row = sorted(mpmath.mpf(x) for x in nodes)

        def part(i: int, j: int) -> mpmath.mpf:
            if row[i] == row[j]:
                return mpmath.exp(row[i]) / mpmath.factorial(j - i)
            return (part(i + 1, j) - part(i, j - 1)) / (row[j] - row[i])

        return float(part(0, len(row) - 1))


def near_and_far(draw: st.DrawFn) -> tuple[float, ...]:
    first = draw(NODE)
    more = draw(st.lists(st.tuples(APART, st.sampled_from([-1, 1])), max_size=4))
    return (first, *(first + apart * sign for apart, sign in more if first + apart * sign < 300))


SOME = st.composite(near_and_far)()


@given(SOME)
def test_against_many_digits(nodes: tuple[float, ...]) -> None:
    need("mpmath")
    assert exp_difference(*nodes) == pytest.approx(true(*nodes), rel=CLOSE, abs=1e-300)


@given(SOME)
def test_arrays_give_the_same(nodes: tuple[float, ...]) -> None:
    given_, other = exp_difference(*nodes), tuple(x / 2 for x in nodes)
    both = exp_difference_many(*(np.array([x, x / 2, x]) for x in nodes))
    assert both == pytest.approx([given_, exp_difference(*other), given_], rel=CLOSE, abs=1e-300)


@given(SOME, st.randoms())
def test_order_is_of_no_account(nodes: tuple[float, ...], dice: Random) -> None:
    shuffled = sorted(nodes, key=lambda _: dice.random())
    assert exp_difference(*shuffled) == pytest.approx(exp_difference(*nodes), rel=CLOSE, abs=1e-300)


@given(NODE, st.integers(1, 6))
def test_equal_nodes_give_the_derivative_over_its_factorial(node: float, count: int) -> None:
    assert exp_difference(*[node] * count) == pytest.approx(
        math.exp(node) / math.factorial(count - 1), rel=1e-15 * 4
    )


@pytest.mark.parametrize("count", [2, 3, 4, 5, 6])
def test_nothing_leaps_where_the_series_gives_way_to_the_quotient(count: int) -> None:
    widths = [NEAR * (1 + k * 1e-13) for k in range(-4, 5)]
    found = [exp_difference(*(-2 - width * i / (count - 1) for i in range(count))) for width in widths]
    assert all(abs(b / a - 1) < 5e-14 for a, b in pairwise(found))


@given(NODE, NODE)
def test_two_nodes_lie_between_the_values_at_both(a: float, b: float) -> None:
    low, high = sorted((math.exp(a), math.exp(b)))
    assert low * (1 - 1e-15) <= exp_difference_of_two(a, b) <= high * (1 + 1e-15)


@pytest.mark.parametrize("nodes", [(), (0.0,) * 7])
def test_no_nodes_and_too_many_are_refused(nodes: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match="one to six"):
        exp_difference(*nodes)
    with pytest.raises(ValueError, match="one to six"):
        exp_difference_many(*(np.array([x]) for x in nodes))
