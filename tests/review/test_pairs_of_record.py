"""Pairs of the record are those of a file: the same bloods by either way say the same."""

from __future__ import annotations

import pytest

from ebbwell.review.pair_fit import fit_person
from ebbwell.review.pairs import month_of
from ebbwell.review.pairs_of_record import pairs_of_record
from tests.review.test_own_numbers import LEAFLET, PAIR, numbers


def test_a_pair_of_the_record_goes_to_the_model_as_it_stands_there() -> None:
    held = numbers(LEAFLET, *PAIR)
    (one,) = pairs_of_record(held)
    assert held.basis is not None
    for mine, its in zip(month_of(one), held.basis.months[0], strict=True):
        assert mine == pytest.approx(its, rel=1e-12)
    assert (one.urea_before, one.urea_after, one.clearance_by) == (18.0, 6.0, "leaflet")
    mine = fit_person([one], held.basis.known)
    assert mine.fit is not None
    assert mine.fit.water_share.middle == pytest.approx(held.basis.fit.water_share.middle, rel=1e-9)


def test_a_record_without_pairs_has_none() -> None:
    assert pairs_of_record(numbers(LEAFLET)) == ()
    assert pairs_of_record(numbers(*PAIR)) == ()
