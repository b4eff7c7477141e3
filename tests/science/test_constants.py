"""A published constant that changes by 1 % must break a check against a figure from outside."""

from __future__ import annotations

from decimal import Decimal

import pytest

from ebbwell.core import units
from ebbwell.core.units import MOLAR_MASS, UNITS
from ebbwell.science import own_past
from ebbwell.science.catalogue import MODULES
from tests.external import (
    test_composition,
    test_conductivity,
    test_dialysate,
    test_disinfection,
    test_fluid,
    test_heparin,
    test_microbes,
    test_pressures,
    test_review_heparin,
    test_supply,
    test_units,
    test_water,
)

ROWS = (
    *test_composition.ROWS,
    *test_conductivity.ROWS,
    *test_dialysate.ROWS,
    *test_disinfection.ROWS,
    *test_fluid.ROWS,
    *test_heparin.ROWS,
    *test_microbes.ROWS,
    *test_pressures.ROWS,
    *test_review_heparin.ROWS,
    *test_supply.ROWS,
    *test_units.ROWS,
    *test_water.ROWS,
)
CONSTANTS = [
    pytest.param(module, name, id=f"{module.__name__.rsplit('.', 1)[1]}.{name}")
    for module in (*MODULES, own_past)
    for name, value in sorted(vars(module).items())
    if name.isupper() and isinstance(value, Decimal) and value != 0
]
PRINTED_MASS = sorted(
    set(MOLAR_MASS) & {"calcium", "creatinine", "glucose", "magnesium", "phosphate", "urea nitrogen"}
)
OFF = Decimal("1.01")


def broken() -> list[str]:
    return [f"{row.key} {row.printed}" for row in ROWS if not row.agrees()]


def test_all_rows_agree_as_they_stand() -> None:
    assert not broken()
    assert len(ROWS) >= 160
    assert len(CONSTANTS) >= 26


@pytest.mark.parametrize(("module", "name"), CONSTANTS)
def test_a_constant_off_by_one_per_cent_is_found(
    module: object, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, name, getattr(module, name) * OFF)
    assert broken()


@pytest.mark.parametrize(
    "substance",
    [
        *PRINTED_MASS,
        "acetic acid",
        "calcium chloride dihydrate",
        "citric acid",
        "magnesium chloride hexahydrate",
        "nitrate",
        "nitrate nitrogen",
        "potassium chloride",
        "sodium",
        "sodium bicarbonate",
        "sodium chloride",
        "urea",
    ],
)
def test_a_molar_mass_off_by_one_per_cent_is_found(substance: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(units.MOLAR_MASS, substance, MOLAR_MASS[substance] * OFF)
    assert broken()


@pytest.mark.parametrize("unit", ["dH", "fH", "grain/gal", "gal", "ft3", "psi", "bar", "kPa", "lb"])
def test_a_factor_off_by_one_per_cent_is_found(unit: str, monkeypatch: pytest.MonkeyPatch) -> None:
    from dataclasses import replace

    monkeypatch.setitem(UNITS, unit, replace(UNITS[unit], factor=UNITS[unit].factor * OFF))
    assert broken()
