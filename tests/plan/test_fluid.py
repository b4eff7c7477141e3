"""The fluid that order and label promise: conductivity against outside programs, and what the two say otherwise."""

from __future__ import annotations

from decimal import Decimal

import pytest

from ebbwell.core.worked import Input, Outcome
from ebbwell.plan.fluid import FluidExpected, expect_fluid

D = Decimal
SALTS = {"magnesium": "0.5", "acetate": "3"}
MIXES = {
    "A": {"sodium": "140", "potassium": "2", "calcium": "1.5", "bicarbonate": "35"},
    "B": {"sodium": "137", "potassium": "2", "calcium": "1.5", "bicarbonate": "32"},
    "C": {"sodium": "132", "potassium": "3", "calcium": "1.25", "bicarbonate": "28"},
}
"""Fluids 2.4, mmol/L."""


def inputs(values: dict[str, str], entry: str) -> dict[str, Input]:
    return {name: Input(name, D(text), "mmol/L", entry) for name, text in values.items()}


def expected(mix: str, **label: str) -> FluidExpected:
    ordered, printed = MIXES[mix], SALTS
    return expect_fluid(
        inputs(ordered, "order"),
        inputs({**printed, **label}, "label"),
        Input("temperature_c", D("36.5"), "C"),
    )


@pytest.mark.source(
    "fluids:2.4",
    detail="two chemistry programs, within 1 % and 2 %",
)
@pytest.mark.parametrize(
    ("mix", "pyeql", "phreeqc", "chloride"),
    [
        ("A", "14.057", "13.882", "108.0"),
        ("B", "13.858", "13.687", "108.0"),
        ("C", "13.568", "13.403", "107.5"),
    ],
)
def test_the_conductivity_lies_where_two_chemistry_programs_put_it(
    mix: str, pyeql: str, phreeqc: str, chloride: str
) -> None:
    found = expected(mix)
    value = found.conductivity.value
    assert value is not None
    assert abs(value / D(pyeql) - 1) <= D("0.01")
    assert abs(value / D(phreeqc) - 1) <= D("0.02")
    assert found.chloride.value == D(chloride)
    assert {one.entry for one in found.conductivity.inputs if one.entry} == {"order", "label"}


@pytest.mark.source("arithmetic", detail="fluids 2.5: mix A, 290.0 mmol/L of ions and 5.55 of glucose")
def test_everything_dissolved_adds_up() -> None:
    found = expected("A", glucose="5.55")
    assert found.osmolarity.value is not None
    assert abs(found.osmolarity.value - D("295.55")) < D("0.01")


@pytest.mark.source(
    "arithmetic",
    detail="2 % of the method, 0.001 x 11.5 of 1.23: 2 + 1.15 / 1.23",
)
def test_it_says_how_far_it_may_be_off() -> None:
    spread = expected("B").give_or_take.value
    assert spread is not None
    assert abs(spread - D("2.935")) < D("0.001")


def test_what_order_and_label_say_otherwise_is_named() -> None:
    found = expected("B", potassium="3", calcium="1.5")
    assert [(name, one.value, other.value) for name, one, other in found.apart] == [("potassium", 2, 3)]


def test_a_label_without_magnesium_gives_no_figure() -> None:
    ordered = MIXES["B"]
    found = expect_fluid(inputs(ordered, "order"), inputs({"acetate": "3"}, "label"), None)
    assert (found.conductivity.value, found.conductivity.outcome) == (None, Outcome.MISSING)
    assert found.give_or_take.outcome is Outcome.MISSING
    assert found.osmolarity.outcome is Outcome.MISSING
