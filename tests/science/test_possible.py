"""Water, heat, heparin and pressures: no input in range gives what can't be, such as a share over 100 %."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.core.worked import Outcome
from ebbwell.science import disinfection, heparin, microbes, pressures, review_heparin, supply, water
from ebbwell.science.catalogue import formula_named, formulas, work
from tests.science.strategies import inputs_of

HAIR = 1 + Decimal("1e-20")
Inputs = dict[str, Decimal]
MODULES = (disinfection, heparin, microbes, pressures, review_heparin, supply, water)

SIGNED = {"transmembrane_pressure_2", "transmembrane_pressure_3", "transmembrane_pressure_4"}
"""Pressures across the membrane may lie under 0."""

POSSIBLE: dict[str, Callable[[Decimal, Inputs], bool]] = {
    "rejection": lambda value, _: value <= 100,
    "recovery": lambda value, _: value <= 100,
    "reject_concentration": lambda value, _: value >= 1 / HAIR,
    "feed_needed": lambda value, given: value >= given["product_l"],
    "drain_water": lambda value, given: value >= given["feed_l"],
    "carbon_litres_left": lambda value, given: (
        value * given["feed_chlorine_mg_l"] <= given["rated_mg"] * HAIR
    ),
    "flow_delivered": lambda value, given: value <= given["blood_flow_ml_min"],
    "pressure_at_flow": lambda value, given: value > -760 and value * given["pressure_mmhg"] >= 0,
    "coefficient_change": lambda value, _: value >= -100,
    "mean_arterial_pressure": lambda value, given: given["diastolic_mmhg"] <= value <= given["systolic_mmhg"],
    "review_heparin_left": lambda value, given: (
        value <= (given["first_dose_units"] + given["rate_units_h"] * given["run_time_h"]) * HAIR
    ),
    "heparin_run_time": lambda value, given: value * 60 <= given["treatment_min"] * HAIR,
    "heparin_given_expected": lambda value, given: value <= given["rate_ml_h"] * given["elapsed_h"] * HAIR,
}
NAMES = [
    one.name for one in formulas(review=True) if one.function.__module__ in {m.__name__ for m in MODULES}
]


def test_every_bound_belongs_to_a_formula() -> None:
    assert POSSIBLE.keys() | SIGNED <= set(NAMES)
    assert len(NAMES) >= 45


@pytest.mark.parametrize("name", NAMES)
@given(data=st.data())
def test_no_value_that_cannot_be(name: str, data: st.DataObject) -> None:
    inputs = data.draw(inputs_of(formula_named(name)))
    worked = work(name, inputs)
    if worked.outcome is not Outcome.OK:
        return
    value = worked.value
    assert value is not None
    assert value.is_finite()
    assert value >= 0 or name in SIGNED | {"pressure_at_flow", "coefficient_change"}
    assert POSSIBLE.get(name, lambda *_: True)(value, inputs)
