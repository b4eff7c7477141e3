"""Composition: charges that close, sums that hold everything once, and a pH that follows its two parts."""

from decimal import Decimal

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from ebbwell.core.errors import DomainError
from ebbwell.core.text import say
from ebbwell.science.composition import (
    base_equivalents,
    carbon_dioxide_dissolved,
    charge_gap,
    chloride_by_balance,
    fluid_ph_expected,
    osmolality_expected,
    osmolarity,
)
from ebbwell.science.proportioning import carbon_dioxide_made

D = Decimal


def amount(low: str, high: str) -> st.SearchStrategy[Decimal]:
    return st.decimals(min_value=low, max_value=high, places=2)


FLUID = st.fixed_dictionaries(
    {
        "sodium_mmol_l": amount("120", "160"),
        "potassium_mmol_l": amount("0", "5"),
        "calcium_mmol_l": amount("0", "2.5"),
        "magnesium_mmol_l": amount("0", "1.5"),
        "bicarbonate_mmol_l": amount("15", "45"),
        "acetate_mmol_l": amount("0", "10"),
        "citrate_mmol_l": amount("0", "2"),
    }
)


@given(fluid=FLUID)
def test_with_chloride_by_balance_no_gap_is_left(fluid: dict[str, Decimal]) -> None:
    assert charge_gap(**fluid, chloride_mmol_l=chloride_by_balance(**fluid)) == 0


@given(fluid=FLUID, more=amount("0.1", "5"))
def test_the_gap_tells_which_side_is_short(fluid: dict[str, Decimal], more: Decimal) -> None:
    chloride = chloride_by_balance(**fluid)
    assert charge_gap(**fluid, chloride_mmol_l=chloride - more) > 0
    assert charge_gap(**fluid, chloride_mmol_l=chloride + more) < 0


def test_more_anions_than_cations_are_refused() -> None:
    with pytest.raises(DomainError) as caught:
        chloride_by_balance(
            sodium_mmol_l=D(30),
            potassium_mmol_l=D(0),
            calcium_mmol_l=D(0),
            magnesium_mmol_l=D(0),
            bicarbonate_mmol_l=D("30.1"),
        )
    assert "label" in say(caught.value.key, **caught.value.params)


@given(fluid=FLUID, glucose=amount("0", "11"))
def test_the_sum_is_twice_the_cations_where_charges_are_single(
    fluid: dict[str, Decimal], glucose: Decimal
) -> None:
    single = {**fluid, "calcium_mmol_l": D(0), "magnesium_mmol_l": D(0), "citrate_mmol_l": D(0)}
    total = osmolarity(**single, chloride_mmol_l=chloride_by_balance(**single), glucose_mmol_l=glucose)
    assert total == 2 * (single["sodium_mmol_l"] + single["potassium_mmol_l"]) + glucose


@given(total=amount("0", "1100"), glucose=amount("0", "300"))
def test_an_osmometer_finds_less_than_the_sum_but_all_the_glucose(total: Decimal, glucose: Decimal) -> None:
    assume(glucose <= total)
    found = osmolality_expected(osmolarity_mmol_l=total, glucose_mmol_l=glucose)
    assert glucose <= found <= total


def test_more_glucose_than_the_whole_is_refused() -> None:
    with pytest.raises(DomainError) as caught:
        osmolality_expected(osmolarity_mmol_l=D(5), glucose_mmol_l=D(290))
    assert "swapped" in say(caught.value.key, **caught.value.params)


@given(bicarbonate=amount("1", "110"), gas=amount("0.1", "25"))
def test_ph_rises_with_bicarbonate_and_falls_with_the_gas(bicarbonate: Decimal, gas: Decimal) -> None:
    ph = fluid_ph_expected(bicarbonate_mmol_l=bicarbonate, dissolved_co2_mmol_l=gas)
    assert 4 < ph < 10
    if bicarbonate <= 11:
        ten = fluid_ph_expected(bicarbonate_mmol_l=10 * bicarbonate, dissolved_co2_mmol_l=gas)
        assert abs(ten - ph - 1) < D("1e-25")
    if gas <= D("2.5"):
        ten = fluid_ph_expected(bicarbonate_mmol_l=bicarbonate, dissolved_co2_mmol_l=10 * gas)
        assert abs(ph - ten - 1) < D("1e-25")


@given(acetic=amount("0", "10"), citric=amount("0", "3"), mixed=amount("25", "45"))
def test_base_stays_what_was_mixed_whatever_the_acid(
    acetic: Decimal, citric: Decimal, mixed: Decimal
) -> None:
    made = carbon_dioxide_made(acetic_acid_mmol_l=acetic, citric_acid_mmol_l=citric)
    base = base_equivalents(bicarbonate_mmol_l=mixed - made, acetate_mmol_l=acetic, citrate_mmol_l=citric)
    assert base == mixed


@given(pressure=st.integers(1, 380).map(Decimal))
def test_twice_the_pressure_dissolves_twice_the_gas(pressure: Decimal) -> None:
    once = carbon_dioxide_dissolved(co2_pressure_mmhg=pressure)
    assert carbon_dioxide_dissolved(co2_pressure_mmhg=2 * pressure) == 2 * once
