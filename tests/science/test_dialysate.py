"""Concentrates: what is needed and how long it lasts are two sides of one sum."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.core.errors import DomainError
from ebbwell.core.text import say
from ebbwell.science.dialysate import (
    acid_left,
    acid_needed,
    acid_runs_dry_after,
    bicarbonate_after_acid,
    bicarbonate_powder_left,
    bicarbonate_powder_needed,
    bicarbonate_runs_dry_after,
    conductivity_at_25,
    fluid_volume,
)

D = Decimal
FLOWS = st.integers(50, 800).map(Decimal)
MINUTES = st.integers(60, 720).map(Decimal)


@given(
    flow=FLOWS,
    minutes=MINUTES,
    parts=st.sampled_from([D(35), D(45), D("36.83")]),
    start_up=st.sampled_from([D(0), D("0.5")]),
)
def test_what_is_needed_lasts_exactly_the_treatment(
    flow: Decimal, minutes: Decimal, parts: Decimal, start_up: Decimal
) -> None:
    fluid = fluid_volume(dialysate_flow_ml_min=flow, treatment_min=minutes)
    acid = acid_needed(fluid_l=fluid, acid_parts=parts, start_up_l=start_up)
    hours = acid_runs_dry_after(
        acid_l=acid, acid_parts=parts, dialysate_flow_ml_min=flow, start_up_l=start_up
    )
    assert abs(hours - minutes / 60) < D("1e-18")


@given(flow=FLOWS, minutes=MINUTES, mixed=st.integers(20, 40).map(Decimal))
def test_powder_lasts_exactly_the_treatment(flow: Decimal, minutes: Decimal, mixed: Decimal) -> None:
    fluid = fluid_volume(dialysate_flow_ml_min=flow, treatment_min=minutes)
    powder = bicarbonate_powder_needed(fluid_l=fluid, bicarbonate_mixed_mmol_l=mixed)
    hours = bicarbonate_runs_dry_after(
        powder_g=powder, bicarbonate_mixed_mmol_l=mixed, dialysate_flow_ml_min=flow
    )
    assert abs(hours - minutes / 60) < D("1e-18")


def test_a_can_smaller_than_the_start_up_draw_lasts_no_time() -> None:
    assert (
        acid_runs_dry_after(
            acid_l=D("0.3"), acid_parts=D(35), dialysate_flow_ml_min=D(300), start_up_l=D("0.5")
        )
        == 0
    )


def test_nine_tenths_usable_lasts_nine_tenths_as_long() -> None:
    whole = bicarbonate_runs_dry_after(
        powder_g=D(650), bicarbonate_mixed_mmol_l=D(35), dialysate_flow_ml_min=D(300)
    )
    part = bicarbonate_runs_dry_after(
        powder_g=D(650), bicarbonate_mixed_mmol_l=D(35), dialysate_flow_ml_min=D(300), usable_percent=D(90)
    )
    assert abs(part / whole - D("0.9")) < D("1e-20")


@pytest.mark.source("fluids:F3", detail="citric acid counts three times")
def test_citric_acid_uses_up_three_times_its_amount() -> None:
    left = bicarbonate_after_acid(
        bicarbonate_mixed_mmol_l=D(36), acetic_acid_mmol_l=D(0), citric_acid_mmol_l=D("0.8")
    )
    assert left == D("33.6")


def test_more_acid_than_bicarbonate_is_refused() -> None:
    with pytest.raises(DomainError) as caught:
        bicarbonate_after_acid(bicarbonate_mixed_mmol_l=D(10), acetic_acid_mmol_l=D(11))
    assert "label" in say(caught.value.key, **caught.value.params)


@given(
    reading=st.decimals(min_value=10, max_value=20, places=2),
    coefficient=st.sampled_from([D("0.019"), D("0.022")]),
)
def test_at_25_the_reading_stands(reading: Decimal, coefficient: Decimal) -> None:
    assert (
        conductivity_at_25(reading_ms_cm=reading, temperature_c=D(25), coefficient_per_c=coefficient)
        == reading
    )


def test_warm_fluid_reads_high() -> None:
    at_37 = conductivity_at_25(reading_ms_cm=D("17.4"), temperature_c=D(37), coefficient_per_c=D("0.02"))
    assert at_37 < D("17.4")


@given(flow=FLOWS, hours=st.integers(0, 14).map(Decimal), can=st.integers(0, 20).map(Decimal))
def test_what_is_left_ends_when_it_runs_dry_and_never_below_nothing(
    flow: Decimal, hours: Decimal, can: Decimal
) -> None:
    acid = {"acid_l": can, "acid_parts": D(35), "dialysate_flow_ml_min": flow, "start_up_l": D("0.5")}
    left = acid_left(**acid, running_h=hours)
    dry_after = acid_runs_dry_after(**acid)
    assert 0 <= left <= can
    assert (left > 0) == (hours < dry_after)
    powder = {
        "powder_g": can * 50,
        "bicarbonate_mixed_mmol_l": D(35),
        "dialysate_flow_ml_min": flow,
    }
    grams = bicarbonate_powder_left(**powder, running_h=hours)
    assert 0 <= grams <= can * 50
    assert (grams > 0) == (hours < bicarbonate_runs_dry_after(**powder))
