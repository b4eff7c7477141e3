"""The next nights: one's own gains as a band, what fits each night, and an even spread by the unit's rule."""

from __future__ import annotations

import statistics
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.core.errors import DomainError
from ebbwell.science.fluid import left_after_nights
from ebbwell.science.nights_ahead import (
    GainBand,
    gain_band,
    nights_ahead,
    quantile,
    spread_volume,
)

D = Decimal
NEAR = D("1e-9")


def kilos(low: str, high: str) -> st.SearchStrategy[Decimal]:
    return st.decimals(min_value=low, max_value=high, places=1)


@pytest.mark.source("statistics:HF96", detail="the standard library's inclusive quantiles, tenths")
@given(values=st.lists(kilos("-2", "6"), min_size=2, max_size=20))
def test_a_quantile_is_that_of_the_standard_library(values: list[Decimal]) -> None:
    tenths = statistics.quantiles(values, n=10, method="inclusive")
    for n, theirs in enumerate(tenths, 1):
        assert abs(quantile(values, D(n) / 10) - theirs) < NEAR


def test_a_band_needs_five_gains_and_takes_the_last_twenty() -> None:
    assert gain_band([D("1.8")] * 4) is None
    assert gain_band([D(5)] * 10 + [D("1.8")] * 20) == GainBand(D("1.8"), D("1.8"), D("1.8"), 20)


@pytest.mark.source(
    "arithmetic", detail="five gains in order: the middle is the third; a tenth lies 0.4 on from the first"
)
def test_a_band_by_hand() -> None:
    band = gain_band([D("2.0"), D("1.0"), D("1.5"), D("3.0"), D("2.5")])
    assert band == GainBand(D("1.20"), D("2.0"), D("2.80"), 5)


@pytest.mark.source(
    "arithmetic",
    detail="fluids 4.3: 4.4 kg over, 3.386 L fits, 0.5 goes in, 1.8 gained: left 1.514, 0.428, 0",
)
def test_the_worked_nights() -> None:
    found = nights_ahead(
        excess_kg=D("4.4"), cap_volume_l=D("3.38625"), goes_in_l=D("0.5"), gain_kg=D("1.8"), nights=3
    )
    assert [round(one.over_kg, 3) for one in found] == [D("4.400"), D("3.314"), D("2.228")]
    assert [round(one.left_kg, 3) for one in found] == [D("1.514"), D("0.428"), D("0.000")]
    assert found[0].removal_l == D("4.9")
    assert found[2].removal_l == found[2].fits_l


@given(
    excess=kilos("0", "9"),
    cap=kilos("2", "6"),
    gain=kilos("0", "1.4"),
    nights=st.integers(min_value=1, max_value=7),
)
def test_it_is_the_other_formula_where_both_hold(
    excess: Decimal, cap: Decimal, gain: Decimal, nights: int
) -> None:
    found = nights_ahead(excess_kg=excess, cap_volume_l=cap, goes_in_l=D("0.5"), gain_kg=gain, nights=nights)
    theirs = left_after_nights(
        excess_kg=excess, cap_volume_l=cap, intake_l=D("0.5"), gain_kg=gain, nights=D(nights)
    )
    assert found[-1].left_kg == theirs


def test_under_the_target_nothing_is_taken_off() -> None:
    first, second = nights_ahead(
        excess_kg=D("-0.8"), cap_volume_l=D(3), goes_in_l=D("0.5"), gain_kg=D("1.8"), nights=2
    )
    assert (first.removal_l, first.left_kg) == (0, D("-0.3"))
    assert (second.over_kg, second.removal_l, second.left_kg) == (D("1.5"), D("2.0"), 0)


@pytest.mark.source(
    "arithmetic", detail="3.9 kg over, 1.8 gained between two nights: (3.9 + 1.8) / 2 + 0.5 = 3.35 L on each"
)
def test_an_even_spread_over_two_nights() -> None:
    given_ = {"excess_kg": D("3.9"), "gain_kg": D("1.8"), "goes_in_l": D("0.5")}
    assert spread_volume(**given_, nights=D(2)) == D("3.35")
    assert spread_volume(**given_, nights=D(1)) == D("4.4")


@given(
    excess=kilos("0.1", "9"),
    gain=kilos("0", "3"),
    nights=st.integers(min_value=1, max_value=7),
)
def test_a_spread_meets_the_target_on_the_last_night_and_no_lower_volume_does(
    excess: Decimal, gain: Decimal, nights: int
) -> None:
    volume = spread_volume(excess_kg=excess, gain_kg=gain, goes_in_l=D("0.5"), nights=D(nights))
    most = max(volume, gain + D("0.5")) if nights > 1 else volume
    for cap, met in ((most + NEAR, True), (most - D("0.01"), False)):
        last = nights_ahead(
            excess_kg=excess, cap_volume_l=cap, goes_in_l=D("0.5"), gain_kg=gain, nights=nights
        )[-1]
        assert (last.left_kg <= 0) is met


@pytest.mark.parametrize("nights", [D("1.5"), D(0), D(8), D("NaN")])
def test_part_of_a_night_is_refused(nights: Decimal) -> None:
    with pytest.raises(DomainError):
        spread_volume(excess_kg=D(4), gain_kg=D(1), goes_in_l=D("0.5"), nights=nights)


def test_what_no_body_has_is_refused() -> None:
    with pytest.raises(DomainError):
        nights_ahead(excess_kg=D(31), cap_volume_l=D(3), goes_in_l=D(0), gain_kg=D(1), nights=2)
    with pytest.raises(DomainError):
        gain_band([D(1)] * 4 + [D(21)])
    with pytest.raises(ValueError, match="no value"):
        quantile([], D("0.5"))
