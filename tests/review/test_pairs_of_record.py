"""Pairs of the record are those of a file: the same bloods by either way say the same."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from msgspec.structs import replace

from ebbwell.journal.kinds import Body
from ebbwell.journal.kinds.bloods import BloodLine, BloodResult
from ebbwell.review.clearance import clearance_l_min, koa_by_leaflet
from ebbwell.review.own_numbers import OwnNumbers
from ebbwell.review.pair_fit import fit_person
from ebbwell.review.pairs import month_of
from ebbwell.review.pairs_of_record import pairs_of_record
from tests.review.test_own_numbers import LAST, LEAFLET, PAIR, day_of_urine, every_other, numbers, result


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


def test_what_own_kidneys_clear_comes_back_as_it_stands_in_the_record() -> None:
    held = numbers(LEAFLET, *PAIR, day_of_urine("40"))
    (one,) = pairs_of_record(held)
    assert held.basis is not None
    assert one.own_kidneys_by == "between"
    assert held.basis.months[0].residual_l_min > 0
    assert month_of(one).residual_l_min == pytest.approx(held.basis.months[0].residual_l_min, rel=1e-12)


CLEARS = replace(LEAFLET, clearances={**LEAFLET.clearances, "creatinine": "250"})


def drawn(drawn: str, urea: str, creatinine: str, unit: str = "umol/L", **sign: bool) -> BloodResult:
    line = BloodLine(substance="creatinine", value=creatinine, unit=unit, **sign)
    return result(LAST, drawn, urea, lines=(line,))


def test_creatinine_of_the_record_goes_with_its_pair_in_one_unit() -> None:
    (one,) = pairs_of_record(
        numbers(CLEARS, drawn("before", "18.0", "530"), drawn("after", "6.0", "1.8", "mg/dL"))
    )
    assert one.creatinine is not None
    assert (one.creatinine.before, one.creatinine.after) == pytest.approx((0.530, 1.8 * 0.0884))
    koa = koa_by_leaflet({"creatinine": Decimal(250)}, Decimal(300), Decimal(500), Decimal(0))["creatinine"]
    assert one.creatinine.clearance_l_min == pytest.approx(clearance_l_min(koa, 230.0, 300.0, 0.77))


@pytest.mark.parametrize(
    "pair",
    [
        (LEAFLET, drawn("before", "18.0", "530"), drawn("after", "6.0", "160")),
        (CLEARS, drawn("before", "18.0", "530"), PAIR[1]),
        (CLEARS, drawn("before", "18.0", "530"), drawn("after", "6.0", "600")),
        (CLEARS, drawn("before", "18.0", "530"), drawn("after", "6.0", "160", below=True)),
    ],
)
def test_creatinine_that_no_sum_can_take_is_left_out(pair: tuple[Body, ...]) -> None:
    (one,) = pairs_of_record(numbers(*pair))
    assert one.creatinine is None


def test_a_record_without_pairs_has_none() -> None:
    assert pairs_of_record(numbers(LEAFLET)) == ()
    assert pairs_of_record(numbers(*PAIR)) == ()


def _half_of_them_odd(*afters: str) -> OwnNumbers:
    """Six pairs four weeks apart on every other night; the last three with these figures after."""
    days = [LAST - timedelta(days=28 * n) for n in range(6)][::-1]
    figures = ("3.4", "3.4", "3.4", *afters)
    pairs = [
        one
        for day, after in zip(days, figures, strict=True)
        for one in (result(day, "before", "18.0"), result(day, "after", after))
    ]
    return numbers(LEAFLET, *pairs, past=every_other(100))


@pytest.mark.parametrize("afters", [("5.4", "5.1", "4.75"), ("5.1", "4.9", "4.6"), ("3.4", "3.4", "5.4")])
def test_the_command_says_of_the_record_what_its_pages_say(afters: tuple[str, str, str]) -> None:
    """Own rule (sound_fit): two of six pairs at most are left out. A second fit of those that stay left out a third."""
    held = _half_of_them_odd(*afters)
    pairs = pairs_of_record(held)
    assert len(pairs) == 6
    mine = fit_person(pairs)
    left_out = [month.night for month in held.months if month.gaps]
    assert [pair.night for pair in mine.odd] == left_out
    assert 1 <= len(left_out) <= 2
    if held.basis is None:
        assert (mine.fit, mine.cannot) == (None, held.gaps[0].key)
    else:
        assert mine.fit is not None
        assert mine.fit.water_share.middle == pytest.approx(held.basis.fit.water_share.middle, rel=1e-9)
