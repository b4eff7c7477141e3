"""Water: swapped values are refused, balances close, nights are whole."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.core.errors import DomainError
from ebbwell.core.text import say
from ebbwell.core.units import convert
from ebbwell.science.water import (
    carbon_needed,
    contact_time,
    feed_needed,
    hardness_caco3,
    hardness_grains,
    product_needed,
    recovery,
    reject_concentration,
    rejection,
    softener_litres,
    softener_nights,
)

D = Decimal


def some(low: str, high: str) -> st.SearchStrategy[Decimal]:
    return st.decimals(min_value=low, max_value=high, places=2)


def test_product_above_feed_is_refused() -> None:
    with pytest.raises(DomainError) as caught:
        rejection(feed_conductivity_us_cm=D(12), product_conductivity_us_cm=D(620))
    assert "swapped" in say(caught.value.key, **caught.value.params)


def test_no_leap_where_product_meets_feed() -> None:
    assert rejection(feed_conductivity_us_cm=D(620), product_conductivity_us_cm=D(620)) == 0
    near = rejection(feed_conductivity_us_cm=D(620), product_conductivity_us_cm=D("619.9999"))
    assert 0 < near < D("0.0001")


@pytest.mark.parametrize("percent", ["0", "4.99", "95.01", "100"])
def test_recovery_of_nothing_or_everything_is_refused(percent: str) -> None:
    with pytest.raises(DomainError):
        feed_needed(product_l=D(100), recovery_percent=D(percent))
    with pytest.raises(DomainError):
        reject_concentration(recovery_percent=D(percent), rejection_percent=D(98))


@given(product=some("1", "50"), percent=some("5", "95"))
def test_feed_is_product_and_reject(product: Decimal, percent: Decimal) -> None:
    feed = feed_needed(product_l=product, recovery_percent=percent)
    back = recovery(product_flow_l_min=product, reject_flow_l_min=feed - product)
    assert abs(back - percent) < D("1e-20")


@given(percent=some("5", "95"), kept=some("0", "100"))
def test_salt_in_is_salt_out(percent: Decimal, kept: Decimal) -> None:
    """Feed of 1 L at strength 1: product and reject together carry the same salt."""
    share = percent / 100
    product_salt = share * (1 - kept / 100)
    reject_salt = (1 - share) * reject_concentration(recovery_percent=percent, rejection_percent=kept)
    assert abs(product_salt + reject_salt - 1) < D("1e-20")


@given(minutes=some("0.1", "60"), flow=some("0.1", "10"))
def test_carbon_there_and_back(minutes: Decimal, flow: Decimal) -> None:
    carbon = carbon_needed(contact_time_min=minutes, feed_flow_l_min=flow)
    if carbon >= D("0.1"):
        assert abs(contact_time(carbon_l=carbon, feed_flow_l_min=flow) - minutes) < D("1e-20")


@given(hardness=some("0", "2000"))
def test_hardness_agrees_with_the_unit_table(hardness: Decimal) -> None:
    grains = hardness_grains(hardness_mg_l=hardness)
    assert abs(grains - convert(hardness, "mg/L CaCO3", "grain/gal")) < D("1e-15") * max(1, grains)
    assert abs(hardness_caco3(hardness_grain_gal=grains) - hardness) < D("1e-15") * max(1, hardness)


@given(capacity=some("100", "5000"), load=some("10", "500"), share=some("0", "100"))
def test_nights_are_whole_and_never_one_too_many(capacity: Decimal, load: Decimal, share: Decimal) -> None:
    nights = softener_nights(capacity_g=capacity, load_g=load, share_used_percent=share)
    assert nights == nights.to_integral_value()
    assert nights * load <= capacity * share / 100 < (nights + 1) * load


def test_other_use_is_added() -> None:
    night = product_needed(dialysate_flow_ml_min=D(300), treatment_min=D(450), other_use_l=D(40))
    assert night == 175


def test_litres_between_regenerations() -> None:
    assert softener_litres(capacity_g=D(1000), hardness_mg_l=D(250)) == 4000
