"""Pairs that don't sit with the others are left out and named; most pairs always stay."""

from __future__ import annotations

import pytest

from ebbwell.core.errors import DomainError
from ebbwell.review.pairs import month_of
from ebbwell.review.sound_fit import LEFT_OUT, sound_fit
from ebbwell.science.fit import MonthBloods, fit
from tests.review.test_pairs import pair


def months(*after_over: float) -> list[MonthBloods]:
    """Pairs of one person, the figure from after that many times what the model makes."""
    return [month_of(pair(number, after=over)) for number, over in enumerate(after_over)]


def test_pairs_that_agree_all_stay() -> None:
    ones = months(1.0, 1.01, 0.99, 1.0)
    found = sound_fit(ones)
    assert (found.kept, found.odd, found.why) == ((0, 1, 2, 3), (), "")
    assert found.fit == fit(ones)


def test_a_far_pair_is_left_out_and_the_rest_fitted_as_if_alone() -> None:
    ones = months(1.0, 1.0, 1.6, 1.0, 1.0)
    found = sound_fit(ones)
    assert (found.kept, found.odd) == ((0, 1, 3, 4), (2,))
    assert found.fit == fit([one for one in ones if one is not ones[2]])


def test_two_far_pairs_of_seven_are_left_out_even_where_one_hides_the_other() -> None:
    ones = months(1.0, 1.0, 3.0, 1.0, 1.3, 1.0, 1.0)
    assert sound_fit(ones).odd == (2, 4)


def test_of_two_pairs_nobody_can_say_which_is_odd() -> None:
    found = sound_fit(months(1.0, 1.6))
    assert found.odd == ()
    assert found.kept == (0, 1)


def test_most_pairs_stay_however_far_they_lie_apart() -> None:
    ones = months(1.0, 2.0, 0.5, 1.6, 0.7, 1.0)
    found = sound_fit(ones)
    assert len(found.odd) <= LEFT_OUT * len(ones)
    assert found.fit is None
    assert found.why == "fit.cannot_scatter"


def test_no_pairs_are_refused() -> None:
    with pytest.raises(DomainError):
        sound_fit([])
