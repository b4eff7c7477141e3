"""Pressures: swapped values are refused, and three forms of one pressure stay apart."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.core.errors import DomainError
from ebbwell.core.text import say
from ebbwell.science.pressures import (
    blood_loss,
    blood_processed,
    mean_arterial_pressure,
    minutes_to_lose,
    transmembrane_pressure_2,
    transmembrane_pressure_3,
    transmembrane_pressure_4,
)

D = Decimal
LINE = st.integers(-500, 800).map(Decimal)


@pytest.mark.parametrize(("systolic", "diastolic"), [("76", "128"), ("90", "90")])
def test_swapped_pressures_are_refused(systolic: str, diastolic: str) -> None:
    with pytest.raises(DomainError) as caught:
        mean_arterial_pressure(systolic_mmhg=D(systolic), diastolic_mmhg=D(diastolic))
    assert "swapped" in say(caught.value.key, **caught.value.params)


@given(systolic=st.integers(60, 280), gap=st.integers(1, 40))
def test_the_mean_lies_between_nearer_the_lower(systolic: int, gap: int) -> None:
    mean = (
        mean_arterial_pressure(systolic_mmhg=D(systolic), diastolic_mmhg=D(systolic - gap))
        if systolic - gap <= 180
        else None
    )
    if mean is not None:
        assert systolic - gap < mean < systolic - gap / 2


@given(blood_in=LINE, blood_out=LINE, fluid=LINE)
def test_four_points_with_even_fluid_are_three_points(
    blood_in: Decimal, blood_out: Decimal, fluid: Decimal
) -> None:
    four = transmembrane_pressure_4(
        blood_in_mmhg=blood_in, blood_out_mmhg=blood_out, fluid_in_mmhg=fluid, fluid_out_mmhg=fluid
    )
    three = transmembrane_pressure_3(blood_in_mmhg=blood_in, blood_out_mmhg=blood_out, fluid_out_mmhg=fluid)
    assert four == three


def test_the_pressure_may_be_negative() -> None:
    assert transmembrane_pressure_2(blood_out_mmhg=D(20), fluid_out_mmhg=D(60)) == -40


@given(flow=st.integers(50, 600), minutes=st.integers(0, 840))
def test_blood_lost_and_blood_processed_are_one_volume(flow: int, minutes: int) -> None:
    lost = blood_loss(blood_flow_ml_min=D(flow), minutes_min=D(minutes))
    assert lost == blood_processed(blood_flow_ml_min=D(flow), minutes_min=D(minutes)) * 1000


@given(share=st.integers(1, 100), flow=st.integers(50, 600))
def test_minutes_to_lose_and_loss_agree(share: int, flow: int) -> None:
    minutes = minutes_to_lose(share_percent=D(share), weight_kg=D(70), blood_flow_ml_min=D(flow))
    lost = blood_loss(blood_flow_ml_min=D(flow), minutes_min=minutes)
    assert abs(lost - D(share) / 100 * 70 * 70) < D("1e-20") * lost
