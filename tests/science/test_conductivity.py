"""Conductivity: more salt conducts more, the sum stays below its limit, and temperatures go there and back."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.core.errors import DomainError
from ebbwell.core.text import say
from ebbwell.science import conductivity as module
from ebbwell.science.catalogue import formula_named, work
from ebbwell.science.composition import chloride_by_balance
from ebbwell.science.conductivity import (
    conductivity_at_temperature,
    conductivity_coefficient,
    conductivity_expected,
    conductivity_per_bicarbonate,
    conductivity_per_sodium,
    conductivity_spread,
)
from ebbwell.science.dialysate import conductivity_at_25
from tests.science.strategies import inputs_of
from tests.science.test_composition import FLUID

D = Decimal
LIMITS = {
    "sodium_mmol_l": (1, module.LIMIT_SODIUM),
    "potassium_mmol_l": (1, module.LIMIT_POTASSIUM),
    "calcium_mmol_l": (2, module.LIMIT_CALCIUM),
    "magnesium_mmol_l": (2, module.LIMIT_MAGNESIUM),
    "bicarbonate_mmol_l": (1, module.LIMIT_BICARBONATE),
    "acetate_mmol_l": (1, module.LIMIT_ACETATE),
    "citrate_mmol_l": (3, module.LIMIT_CITRATE),
}
COEFFICIENTS = st.decimals(min_value="0.015", max_value="0.025", places=4)
TEMPERATURES = st.decimals(min_value=5, max_value=60, places=1)


@given(fluid=FLUID)
def test_it_stays_below_the_sum_of_the_limits_and_above_half_of_it(fluid: dict[str, Decimal]) -> None:
    value = conductivity_expected(**fluid)
    most = module.LIMIT_CHLORIDE * chloride_by_balance(**fluid) / 1000
    most += sum(fluid[name] * charge * limit / 1000 for name, (charge, limit) in LIMITS.items())
    assert most / 2 < value < most


@given(fluid=inputs_of(formula_named("conductivity_expected")))
def test_over_the_whole_range_it_is_refused_or_possible(fluid: dict[str, Decimal]) -> None:
    worked = work("conductivity_expected", fluid)
    if worked.value is None:
        assert worked.why in ("science.more_anions", "science.too_strong")
    else:
        assert 0 <= worked.value < module.LIMIT_CHLORIDE * D("0.4")


@given(fluid=FLUID)
def test_what_moves_it(fluid: dict[str, Decimal]) -> None:
    base = conductivity_expected(**fluid)
    more = {**fluid, "sodium_mmol_l": fluid["sodium_mmol_l"] + 1}
    swapped = {**fluid, "bicarbonate_mmol_l": fluid["bicarbonate_mmol_l"] + 1}
    per_sodium = conductivity_per_sodium(**fluid)
    per_bicarbonate = conductivity_per_bicarbonate(**fluid)
    assert abs(conductivity_expected(**more) - base - per_sodium) < D("1e-25")
    assert abs(conductivity_expected(**swapped) - base - per_bicarbonate) < D("1e-25")
    assert D("0.09") < per_sodium < D("0.11")
    assert D("-0.04") < per_bicarbonate < D("-0.02")


def test_pure_water_of_this_sum_conducts_nothing() -> None:
    assert conductivity_expected(**dict.fromkeys(LIMITS, D(0))) == 0


@given(tenths=st.integers(0, 1800))
def test_more_salt_always_conducts_more(tenths: int) -> None:
    water = dict.fromkeys(LIMITS, D(0))
    less = conductivity_expected(**{**water, "sodium_mmol_l": D(tenths) / 10})
    more = conductivity_expected(**{**water, "sodium_mmol_l": D(tenths + 1) / 10})
    assert less < more


def test_a_concentrate_is_refused() -> None:
    water = dict.fromkeys(LIMITS, D(0))
    conductivity_expected(**{**water, "sodium_mmol_l": D(200)})
    with pytest.raises(DomainError) as caught:
        conductivity_expected(**{**water, "sodium_mmol_l": D(200), "potassium_mmol_l": D("0.1")})
    assert "up to an ionic strength of 200" in say(caught.value.key, **caught.value.params)


def test_the_ions_of_a_label_that_cannot_be_are_refused() -> None:
    with pytest.raises(DomainError) as caught:
        conductivity_expected(
            **{**dict.fromkeys(LIMITS, D(0)), "sodium_mmol_l": D(20), "bicarbonate_mmol_l": D(35)}
        )
    assert caught.value.key == "science.more_anions"


@given(
    value=st.decimals(min_value=1, max_value=12, places=2), temperature=TEMPERATURES, coefficient=COEFFICIENTS
)
def test_to_another_temperature_and_back(value: Decimal, temperature: Decimal, coefficient: Decimal) -> None:
    reading = conductivity_at_temperature(
        conductivity_25_ms_cm=value, temperature_c=temperature, coefficient_per_c=coefficient
    )
    back = conductivity_at_25(reading_ms_cm=reading, temperature_c=temperature, coefficient_per_c=coefficient)
    assert abs(back - value) < D("1e-25")
    if abs(temperature - 25) >= 1:
        found = conductivity_coefficient(
            reading_25_ms_cm=value, reading_ms_cm=reading, temperature_c=temperature
        )
        assert abs(found - coefficient) < D("1e-25")


@pytest.mark.parametrize("temperature", ["25", "24.1", "25.9"])
def test_two_readings_at_one_temperature_tell_nothing(temperature: str) -> None:
    with pytest.raises(DomainError) as caught:
        conductivity_coefficient(reading_25_ms_cm=D(14), reading_ms_cm=D(14), temperature_c=D(temperature))
    assert "1 degree" in say(caught.value.key, **caught.value.params)


def test_swapped_readings_are_refused() -> None:
    with pytest.raises(DomainError) as caught:
        conductivity_coefficient(reading_25_ms_cm=D("17.4"), reading_ms_cm=D(14), temperature_c=D(37))
    assert "which reading" in say(caught.value.key, **caught.value.params)


@given(
    temperature=TEMPERATURES,
    coefficient=COEFFICIENTS,
    spread=st.decimals(min_value=0, max_value="0.005", places=4),
)
def test_the_spread_covers_what_a_wrong_coefficient_does(
    temperature: Decimal, coefficient: Decimal, spread: Decimal
) -> None:
    stated = conductivity_spread(
        temperature_c=temperature, coefficient_per_c=coefficient, spread_per_c=spread
    )
    at = 1 + coefficient * (temperature - 25)
    for wrong in (coefficient - spread, coefficient + spread):
        moved = 100 * abs((1 + wrong * (temperature - 25)) / at - 1)
        assert moved <= stated - 2 + D("1e-20")
