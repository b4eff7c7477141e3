"""Removal: never negative, never over the cap, and sums that close."""

from decimal import Decimal

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from ebbwell.core.errors import DomainError, NothingToDo
from ebbwell.core.text import say
from ebbwell.science.fluid import (
    cap_volume,
    fits_tonight,
    hours_under_cap,
    left_after_nights,
    nights_to_target,
    rate_to_finish,
    remains_after,
    removal_rate,
    removal_volume,
    weight_after_expected,
    weight_fair_rate_20,
    weight_fair_rate_40,
    weight_gain,
)

D = Decimal
ZERO = D(0)


def decimals(low: str, high: str) -> st.SearchStrategy[Decimal]:
    return st.decimals(min_value=low, max_value=high, places=2)


@pytest.mark.parametrize(
    ("before", "drink", "losses"),
    [("64.0", "0.2", "0"), ("64.5", "0", "0.3"), ("64.2", "0", "0"), ("60", "0", "1")],
)
def test_nothing_to_remove_is_said_and_never_a_negative_rate(before: str, drink: str, losses: str) -> None:
    with pytest.raises(NothingToDo) as caught:
        removal_volume(
            weight_before_kg=D(before),
            target_weight_kg=D("64.5"),
            rinse_back_l=D("0.3"),
            drink_l=D(drink),
            losses_l=D(losses),
        )
    assert caught.value.exit_code == 18
    assert "nothing to remove" in say(caught.value.key, **caught.value.params)


def test_a_drink_can_outweigh_a_missing_gain() -> None:
    volume = removal_volume(
        weight_before_kg=D("64.3"), target_weight_kg=D("64.5"), rinse_back_l=D("0.3"), drink_l=D("0.4")
    )
    assert volume == D("0.5")


def test_a_prime_that_is_given_counts_once() -> None:
    given_prime = removal_volume(
        weight_before_kg=D(66), target_weight_kg=D("64.5"), rinse_back_l=D("0.3"), prime_given_l=D("0.2")
    )
    to_drain = removal_volume(weight_before_kg=D(66), target_weight_kg=D("64.5"), rinse_back_l=D("0.3"))
    assert given_prime - to_drain == D("0.2")


@given(
    before=decimals("40", "120"),
    target=decimals("40", "120"),
    rinse=decimals("0", "1"),
    drink=decimals("0", "2"),
    losses=decimals("0", "2"),
)
def test_what_comes_off_leads_to_the_target(
    before: Decimal, target: Decimal, rinse: Decimal, drink: Decimal, losses: Decimal
) -> None:
    assume(0 < before - target + rinse + drink - losses <= 30)
    volume = removal_volume(
        weight_before_kg=before, target_weight_kg=target, rinse_back_l=rinse, drink_l=drink, losses_l=losses
    )
    after = weight_after_expected(
        weight_before_kg=before, removed_l=volume, rinse_back_l=rinse, drink_l=drink, losses_l=losses
    )
    assert after == target


@given(
    volume=decimals("0", "30"),
    cap=decimals("0.5", "30"),
    weight=decimals("20", "300"),
    hours=decimals("0.25", "14"),
)
def test_what_fits_and_what_remains_add_up_and_keep_to_the_cap(
    volume: Decimal, cap: Decimal, weight: Decimal, hours: Decimal
) -> None:
    most = cap_volume(cap_ml_kg_h=cap, target_weight_kg=weight, hours_h=hours)
    fits = fits_tonight(removal_l=volume, cap_volume_l=most)
    remains = remains_after(removal_l=volume, cap_volume_l=most)
    assert fits + remains == volume
    assert remains >= 0
    assert removal_rate(volume_l=fits, hours_h=hours) <= cap * weight * D("1.0000000001")


@given(volume=decimals("0.1", "10"), cap=decimals("1", "13"), weight=decimals("40", "120"))
def test_hours_under_the_cap_just_hold_the_volume(volume: Decimal, cap: Decimal, weight: Decimal) -> None:
    hours = hours_under_cap(volume_l=volume, cap_ml_kg_h=cap, weight_kg=weight)
    assume(D("0.25") <= hours <= 14)
    assert abs(cap_volume(cap_ml_kg_h=cap, target_weight_kg=weight, hours_h=hours) - volume) < D("1e-20")


@given(total=decimals("0.1", "8"), share=decimals("0.1", "0.9"), hours=decimals("1", "14"))
def test_the_rate_to_finish_is_the_even_rate_while_all_goes_to_plan(
    total: Decimal, share: Decimal, hours: Decimal
) -> None:
    even = removal_rate(volume_l=total, hours_h=hours)
    left = rate_to_finish(remaining_l=total * (1 - share), remaining_h=hours * (1 - share))
    assert abs(left - even) < D("1e-20") * even


def test_a_pause_raises_the_rate_to_finish() -> None:
    assert rate_to_finish(remaining_l=D("1.15"), remaining_h=D("3")) > removal_rate(
        volume_l=D("2.3"), hours_h=D("7.5")
    )


@pytest.mark.parametrize(("gain", "cap"), [("2.9", "3.386"), ("2.886", "3.386"), ("0", "0.5"), ("0", "0.4")])
def test_a_target_that_is_never_met_is_said(gain: str, cap: str) -> None:
    for call in (nights_to_target, left_after_nights):
        more = {"nights": D(3)} if call is left_after_nights else {}
        with pytest.raises(DomainError) as caught:
            call(excess_kg=D("4.4"), cap_volume_l=D(cap), intake_l=D("0.5"), gain_kg=D(gain), **more)
        assert "never met" in say(caught.value.key, **caught.value.params)


def test_half_a_night_is_refused() -> None:
    with pytest.raises(DomainError) as caught:
        left_after_nights(excess_kg=D(1), cap_volume_l=D(3), intake_l=D("0.5"), gain_kg=D(1), nights=D("1.5"))
    assert caught.value.key == "science.whole_nights"


@given(excess=decimals("0", "10"), cap=decimals("2", "5"), intake=decimals("0", "1"), gain=decimals("0", "3"))
def test_the_night_it_is_met_is_the_first_with_nothing_left(
    excess: Decimal, cap: Decimal, intake: Decimal, gain: Decimal
) -> None:
    assume(gain <= cap - intake - D("0.1"))
    numbers = {"excess_kg": excess, "cap_volume_l": cap, "intake_l": intake, "gain_kg": gain}
    night = nights_to_target(**numbers)
    assume(night <= 60)
    assert left_after_nights(**numbers, nights=night) == 0
    if night > 1:
        assert left_after_nights(**numbers, nights=night - 1) > 0


def test_no_leap_where_one_night_just_suffices() -> None:
    """At the seam between 1 and 2 nights what is left goes to 0 without a jump."""
    numbers = {"cap_volume_l": D("3"), "intake_l": D("0.5"), "gain_kg": D("1"), "nights": D(1)}
    assert left_after_nights(excess_kg=D("2.5"), **numbers) == 0
    assert left_after_nights(excess_kg=D("2.500001"), **numbers) == D("0.000001")


def test_a_loss_since_last_time_is_a_negative_gain() -> None:
    assert weight_gain(weight_before_kg=D("64.2"), last_weight_after_kg=D("64.6")) == D("-0.4")


@given(weight=decimals("20", "300"))
def test_the_two_lines_keep_their_distance(weight: Decimal) -> None:
    assert weight_fair_rate_40(weight_kg=weight) - weight_fair_rate_20(weight_kg=weight) == 130
