"""Dilution: the whole and what is added are two things."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.core.errors import DomainError
from ebbwell.core.text import say
from ebbwell.science.mixing import stock_needed, strength_after_dilution, volume_after_dilution

D = Decimal


def test_water_never_makes_it_stronger() -> None:
    with pytest.raises(DomainError) as needed:
        stock_needed(final_volume_ml=D(100), final_percent=D(20), stock_percent=D(10))
    with pytest.raises(DomainError) as whole:
        volume_after_dilution(stock_volume_ml=D(100), stock_percent=D(10), final_percent=D(20))
    for caught in (needed, whole):
        assert "weaker" in say(caught.value.key, **caught.value.params)


@given(
    stock=st.decimals(min_value=1, max_value=100, places=1),
    share=st.decimals(min_value="0.05", max_value=1, places=2),
    volume=st.integers(1, 1000),
)
def test_what_was_made_has_the_strength_asked_for(stock: Decimal, share: Decimal, volume: int) -> None:
    final = stock * share
    whole = volume_after_dilution(stock_volume_ml=D(volume), stock_percent=stock, final_percent=final)
    strength = strength_after_dilution(
        stock_volume_ml=D(volume), stock_percent=stock, water_ml=whole - volume
    )
    assert abs(strength - final) < D("1e-20")
    assert abs(stock_needed(final_volume_ml=whole, final_percent=final, stock_percent=stock) - volume) < D(
        "1e-20"
    )
