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
    laminar_drop,
    mean_arterial_pressure,
    membrane_coefficient,
    minutes_to_lose,
    pressure_at_flow,
    pressure_for_removal,
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


@given(net=st.decimals("1", "400", places=1), pull=st.integers(0, 30), rate=st.integers(0, 2000))
def test_coefficient_and_pressure_are_two_sides_of_one_sum(net: Decimal, pull: int, rate: int) -> None:
    coefficient = membrane_coefficient(rate_ml_h=D(rate), transmembrane_mmhg=net + pull, oncotic_mmhg=D(pull))
    assert 0 <= coefficient <= rate
    if 1 <= coefficient <= 200:
        back = pressure_for_removal(rate_ml_h=D(rate), coefficient_ml_h_mmhg=coefficient)
        assert abs(back - net) < D("1e-20")


@pytest.mark.parametrize(("across", "pull"), [("0.9", "0"), ("-40", "0"), ("25", "25"), ("20", "30")])
def test_too_little_pressure_gives_no_coefficient(across: str, pull: str) -> None:
    with pytest.raises(DomainError) as caught:
        membrane_coefficient(rate_ml_h=D(300), transmembrane_mmhg=D(across), oncotic_mmhg=D(pull))
    assert "no figure" in say(caught.value.key, **caught.value.params)


@given(pressure=st.integers(-300, 400), flow=st.integers(200, 300), wanted=st.integers(200, 300))
def test_a_pressure_keeps_its_sign_and_comes_back(pressure: int, flow: int, wanted: int) -> None:
    there = pressure_at_flow(
        pressure_mmhg=D(pressure), blood_flow_ml_min=D(flow), wanted_flow_ml_min=D(wanted)
    )
    assert there * pressure >= 0
    assert there > -760
    if -300 <= there <= 400:
        back = pressure_at_flow(pressure_mmhg=there, blood_flow_ml_min=D(wanted), wanted_flow_ml_min=D(flow))
        assert abs(back - pressure) < D("1e-20")


@pytest.mark.parametrize("wanted", ["501", "79"])
def test_flows_too_far_apart_are_not_compared(wanted: str) -> None:
    with pytest.raises(DomainError) as caught:
        pressure_at_flow(pressure_mmhg=D(83), blood_flow_ml_min=D(200), wanted_flow_ml_min=D(wanted))
    assert "same pump setting" in say(caught.value.key, **caught.value.params)


@given(flow=st.integers(0, 600), wide=st.integers(1, 4))
def test_the_drop_goes_with_flow_and_the_fourth_power_of_width(flow: int, wide: int) -> None:
    def drop(inner: int) -> Decimal:
        return laminar_drop(
            viscosity_mpa_s=D("3.5"), length_mm=D(30), blood_flow_ml_min=D(flow), inner_mm=D(inner)
        )

    assert drop(wide) >= drop(wide + 1)
    assert abs(drop(2) * 16 - drop(1)) < D("1e-20") * max(1, drop(1))
