"""Units: round trips, an independent library as witness, and what is refused."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from functools import cache
from itertools import groupby, permutations

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ebbwell.core import units
from ebbwell.core.errors import InputError, UnitError
from ebbwell.core.text import say
from ebbwell.core.units import MOLAR_MASS, UNITS, convert, kind_of_unit, parse_unit

WITNESS = {
    "kg": "kilogram",
    "g": "gram",
    "mg": "milligram",
    "lb": "pound",
    "grain": "grain",
    "L": "liter",
    "mL": "milliliter",
    "gal": "gallon",
    "ft3": "foot**3",
    "min": "minute",
    "h": "hour",
    "s": "second",
    "mL/min": "milliliter/minute",
    "L/min": "liter/minute",
    "mL/h": "milliliter/hour",
    "L/h": "liter/hour",
    "gal/min": "gallon/minute",
    "mmHg": "millimeter_Hg",
    "kPa": "kilopascal",
    "bar": "bar",
    "psi": "pound_force_per_square_inch",
    "cmH2O": "9.80665 * kilogram * meter / second**2 / (100 * centimeter**2) * 10",
    "uS/cm": "microsiemens/centimeter",
    "mS/cm": "millisiemens/centimeter",
    "S/m": "siemens/meter",
    "mmol/L": "millimole/liter",
    "umol/L": "micromole/liter",
    "mg/L": "milligram/liter",
    "mg/dL": "milligram/deciliter",
    "g/L": "gram/liter",
    "ug/L": "microgram/liter",
    "mg/L CaCO3": "milligram/liter",
    "grain/gal": "grain/gallon",
    "cm": "centimeter",
    "mm": "millimeter",
}
FACTOR_FROM_TABLE = {"dH", "fH"}
TEMPERATURE = {"C", "F"}

by_kind = [
    tuple(group) for _, group in groupby(sorted(UNITS.values(), key=lambda u: u.kind), key=lambda u: u.kind)
]
PAIRS = [(a.symbol, b.symbol) for group in by_kind for a, b in permutations(group, 2)]
VALUES = st.decimals(min_value="-100000", max_value="100000", places=4)


@cache
def witness() -> pint.UnitRegistry:
    return pint.UnitRegistry()


@pytest.mark.parametrize(("unit", "to"), PAIRS)
@settings(max_examples=25)
@given(value=VALUES)
def test_round_trip(unit: str, to: str, value: Decimal) -> None:
    back = convert(convert(value, unit, to), to, unit)
    assert abs(back - value) <= Decimal("1e-25") * max(1, abs(value))


def seen_by_witness(unit: str, to: str) -> float:
    quantity = witness()
    return float(
        quantity(f"1 {WITNESS[unit]}" if "*" not in WITNESS[unit] else WITNESS[unit]).to(WITNESS[to]).m
    )


@pytest.mark.source(
    "from memory", detail="the factors of an independent units library, version 0.25.3, as witness"
)
@pytest.mark.parametrize(("unit", "to"), [p for p in PAIRS if set(p) <= WITNESS.keys() - {"cmH2O"}])
def test_agrees_with_the_witness(unit: str, to: str) -> None:
    assert float(convert(Decimal(1), unit, to)) == pytest.approx(seen_by_witness(unit, to), rel=2e-6)


@pytest.mark.source("arithmetic", detail="10 mm of water of 1,000 kg/m3 under standard gravity")
def test_centimetre_of_water() -> None:
    assert convert(Decimal(1), "cmH2O", "kPa") == Decimal("0.0980665")


def test_every_unit_has_a_check() -> None:
    lonely = {group[0].symbol for group in by_kind if len(group) == 1}
    assert set(UNITS) == WITNESS.keys() | FACTOR_FROM_TABLE | TEMPERATURE | lonely


@pytest.mark.parametrize("symbol", [s for s in WITNESS if s != "cmH2O"])
def test_a_factor_off_by_one_per_cent_is_found(symbol: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(UNITS, symbol, replace(UNITS[symbol], factor=UNITS[symbol].factor * Decimal("1.01")))
    other = next(
        u.symbol
        for u in UNITS.values()
        if u.kind == UNITS[symbol].kind and u.symbol != symbol and u.symbol in WITNESS
    )
    assert float(convert(Decimal(1), symbol, other)) != pytest.approx(
        seen_by_witness(symbol, other), rel=1e-3
    )


@pytest.mark.source("arithmetic", detail="fixed points: ice, blood heat, where both scales meet")
@pytest.mark.parametrize(
    ("celsius", "fahrenheit"), [("0", "32"), ("37", "98.6"), ("-40", "-40"), ("100", "212")]
)
def test_temperature(celsius: str, fahrenheit: str) -> None:
    assert convert(Decimal(celsius), "C", "F") == Decimal(fahrenheit)
    assert convert(Decimal(fahrenheit), "F", "C") == Decimal(celsius)


@pytest.mark.parametrize("substance", sorted(MOLAR_MASS))
@given(value=st.decimals(min_value=0, max_value=5000, places=2))
def test_mass_and_amount_round_trip(substance: str, value: Decimal) -> None:
    back = convert(convert(value, "mg/dL", "mmol/L", substance), "mmol/L", "mg/dL", substance)
    assert abs(back - value) <= Decimal("1e-25") * max(1, value)


@pytest.mark.parametrize(
    ("typed", "unit"),
    [
        ("KG", "kg"),
        (" ml / min ", "mL/min"),
        ("mmhg", "mmHg"),
        ("mm Hg", "mmHg"),
        ("\N{MICRO SIGN}S/cm", "uS/cm"),
        ("\N{GREEK SMALL LETTER MU}S/cm", "uS/cm"),
        ("\N{DEGREE SIGN}C", "C"),
        ("lbs", "lb"),
        ("hours", "h"),
        ("IU/mL", "units/mL"),
        ("mL/kg/hr", "mL/kg/h"),
        ("", ""),
    ],
)
def test_spellings(typed: str, unit: str) -> None:
    assert parse_unit(typed) == unit


@pytest.mark.source("examples:traps", detail="a printed limit in mL/kg a minute where an hour was meant")
@pytest.mark.parametrize(
    "typed", ["mL/kg/min", "stone", "kgs/", "mg", "x" * 10_240, "\N{FACE WITH TEARS OF JOY}", "gr"]
)
def test_unknown_units_are_refused(typed: str) -> None:
    if typed == "mg":
        assert parse_unit(typed) == "mg"
        return
    with pytest.raises(UnitError) as caught:
        parse_unit(typed)
    assert caught.value.key == "unit.unknown"
    assert len(say(caught.value.key, **caught.value.params)) < 200


@pytest.mark.parametrize(
    ("unit", "to", "substance", "key"),
    [
        ("kg", "L", None, "unit.other_kind"),
        ("mL/h", "mL/kg/h", None, "unit.other_kind"),
        ("units", "mg", None, "unit.other_kind"),
        ("mg/dL", "mmol/L", None, "unit.needs_substance"),
        ("mmol/L", "mg/L", None, "unit.needs_substance"),
        ("mg/dL", "mmol/L", "salt", "unit.unknown_substance"),
        ("mg/L", "mg/L CaCO3", "calcium", "unit.other_kind"),
        ("mS/cm", "uS", None, "unit.unknown"),
    ],
)
def test_nothing_is_guessed(unit: str, to: str, substance: str | None, key: str) -> None:
    with pytest.raises(UnitError) as caught:
        convert(Decimal(1), unit, to, substance)
    assert caught.value.key == key
    assert caught.value.exit_code == 13
    assert say(key, **caught.value.params)


@pytest.mark.parametrize("value", ["NaN", "Infinity", "-Infinity"])
def test_only_finite_numbers(value: str) -> None:
    with pytest.raises(InputError) as caught:
        convert(Decimal(value), "kg", "g")
    assert caught.value.key == "number.not_finite"


def test_same_unit_keeps_the_digits() -> None:
    assert str(convert(Decimal("66.30"), "kg", "kg")) == "66.30"


def test_kinds() -> None:
    assert kind_of_unit("psi") == kind_of_unit("mmHg") == "pressure"
    assert kind_of_unit("mL/h") != kind_of_unit("mL/kg/h")


def test_a_spelling_given_twice_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(units, "_TABLE", (units.Unit("kg", "mass"), units.Unit("k", "other", names=("KG",))))
    with pytest.raises(ValueError, match="spelled twice"):
        units._spellings()
