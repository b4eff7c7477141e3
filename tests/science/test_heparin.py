"""Heparin: volumes and rates agree whichever way they are worked, and odd prescriptions are refused."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.core.errors import DomainError
from ebbwell.core.text import say
from ebbwell.science.heparin import (
    heparin_given_expected,
    heparin_rate_ml,
    heparin_rate_units,
    heparin_run_time,
    heparin_total,
    heparin_volume,
    strength_ratio,
    syringe_fill,
)

D = Decimal
STRENGTHS = st.sampled_from([D(100), D(1000), D(5000), D(25000)])


@given(units=st.integers(0, 5000), strength=STRENGTHS)
def test_rate_there_and_back(units: int, strength: Decimal) -> None:
    rate = heparin_rate_ml(rate_units_h=D(units), strength_units_ml=strength)
    assert heparin_rate_units(rate_ml_h=rate, strength_units_ml=strength) == units


@given(
    dose=st.integers(0, 5000),
    rate=st.integers(0, 3000),
    minutes=st.integers(60, 720),
    stop=st.integers(0, 60),
    strength=STRENGTHS,
)
def test_the_syringe_holds_exactly_what_is_given(
    dose: int, rate: int, minutes: int, stop: int, strength: Decimal
) -> None:
    run = heparin_run_time(treatment_min=D(minutes), stop_before_end_min=D(stop))
    total = heparin_total(first_dose_units=D(dose), rate_units_h=D(rate), run_time_h=run)
    volume = syringe_fill(
        rate_ml_h=heparin_rate_ml(rate_units_h=D(rate), strength_units_ml=strength),
        run_time_h=run,
        first_dose_ml=heparin_volume(dose_units=D(dose), strength_units_ml=strength),
    )
    assert abs(volume * strength - total) < D("1e-18") * max(1, total)


def test_a_stop_before_the_start_is_refused() -> None:
    with pytest.raises(DomainError) as caught:
        heparin_run_time(treatment_min=D(60), stop_before_end_min=D(61))
    assert "prescription" in say(caught.value.key, **caught.value.params)


def test_a_stop_at_the_start_runs_no_time() -> None:
    assert heparin_run_time(treatment_min=D(60), stop_before_end_min=D(60)) == 0


def test_no_leap_where_the_pump_stops() -> None:
    just_before = heparin_given_expected(rate_ml_h=D("0.9"), elapsed_h=D("6.499999"), run_time_h=D("6.5"))
    at_stop = heparin_given_expected(rate_ml_h=D("0.9"), elapsed_h=D("6.5"), run_time_h=D("6.5"))
    later = heparin_given_expected(rate_ml_h=D("0.9"), elapsed_h=D(9), run_time_h=D("6.5"))
    assert at_stop - just_before < D("0.000001")
    assert later == at_stop == D("5.85")


@given(vial=STRENGTHS, prescribed=STRENGTHS)
def test_ratio_is_one_only_for_equal_strengths(vial: Decimal, prescribed: Decimal) -> None:
    ratio = strength_ratio(vial_units_ml=vial, prescribed_units_ml=prescribed)
    assert (ratio == 1) == (vial == prescribed)
