"""What laboratories report: each factor against molar masses, each range against the printed list, faults refused."""

from __future__ import annotations

from decimal import Decimal

import pytest

from ebbwell.core.errors import InputError, UnitError
from ebbwell.core.text import has_text
from ebbwell.rulebook.load import RulebookFault
from ebbwell.rulebook.substances import (
    Substance,
    blood_unit,
    load_substances,
    parse_substances,
    substance,
    substance_words,
)

D = Decimal
MASS = {
    "H": D("1.008"),
    "C": D("12.011"),
    "N": D("14.007"),
    "O": D("15.999"),
    "Mg": D("24.305"),
    "Al": D("26.982"),
    "P": D("30.974"),
    "Ca": D("40.078"),
}
"""Standard atomic weights, abridged, IUPAC 2021 [g/mol]; from memory."""

FORMULAS = {
    ("urea", "mg/dL as urea"): {"C": 1, "H": 4, "N": 2, "O": 1},
    ("urea", "mg/dL as nitrogen"): {"N": 2},
    ("creatinine", "mg/dL"): {"C": 4, "H": 7, "N": 3, "O": 1},
    ("calcium", "mg/dL"): {"Ca": 1},
    ("phosphate", "mg/dL"): {"P": 1},
    ("magnesium", "mg/dL"): {"Mg": 1},
    ("glucose", "mg/dL"): {"C": 6, "H": 12, "O": 6},
    ("aluminium", "ug/L"): {"Al": 1},
}
"""What is weighed in a unit of mass. Laboratories count phosphate as phosphorus, urea nitrogen as both nitrogens."""

PER_LITRE = {
    "mg/dL": D(10),
    "mg/dL as urea": D(10),
    "mg/dL as nitrogen": D(10),
    "ug/L": D("0.001"),
}
"""Unit of mass to mg/L. Source: arithmetic."""

SAME = {
    ("sodium", "mEq/L"): "1",
    ("potassium", "mEq/L"): "1",
    ("bicarbonate", "mEq/L"): "1",
    ("creatinine", "mmol/L"): "1000",
    ("albumin", "g/dL"): "10",
    ("haemoglobin", "g/dL"): "10",
    ("ferritin", "ng/mL"): "1",
    ("white_cells", "10*3/uL"): "1",
    ("platelets", "10*3/uL"): "1",
    ("c_reactive_protein", "mg/dL"): "10",
}
"""Factors that are tens, or the charge of an ion with one."""

HORMONE_G_MOL = D(9425)
"""The whole hormone, 84 amino acids; from memory."""

EACH = [(name, unit) for name, one in load_substances().items() for unit in one.units]


def mass(formula: dict[str, int]) -> Decimal:
    return sum((MASS[element] * count for element, count in formula.items()), D(0))


@pytest.mark.source("arithmetic", detail="IUPAC atomic weights 2021, abridged, from memory; within 0.2 %")
@pytest.mark.parametrize(("name", "unit"), FORMULAS)
def test_a_factor_follows_from_the_molar_mass(name: str, unit: str) -> None:
    kept = substance(name)
    in_mmol = PER_LITRE[unit] / mass(FORMULAS[name, unit])
    wanted = in_mmol * (1000 if kept.unit == "umol/L" else 1)
    assert abs(kept.units[unit] / wanted - 1) < D("0.002")


@pytest.mark.source("arithmetic", detail="84 amino acids weigh 9,425 g/mol, from memory; within 0.2 %")
def test_the_factor_of_parathyroid_hormone_follows_from_its_mass() -> None:
    units = substance("parathyroid_hormone").units
    assert abs(units["pg/mL"] / (1000 / HORMONE_G_MOL) - 1) < D("0.002")
    assert units["ng/L"] == units["pg/mL"]


@pytest.mark.source("arithmetic", detail="tens, and one charge for each ion")
@pytest.mark.parametrize(("name", "unit"), SAME)
def test_a_factor_of_tens(name: str, unit: str) -> None:
    assert substance(name).units[unit] == D(SAME[name, unit])


def test_no_factor_is_left_out() -> None:
    hormone = {("parathyroid_hormone", unit) for unit in ("pg/mL", "ng/L")}
    assert set(EACH) == set(FORMULAS) | set(SAME) | hormone


@pytest.mark.source("practice:e", detail="H28: BUN 70 mg/dL = urea 150 mg/dL = 25.0 mmol/L within rounding")
@pytest.mark.hazard("H28")
def test_urea_and_urea_nitrogen_are_two_units() -> None:
    urea = substance("urea")
    as_nitrogen = urea.in_kept(D(70), "mg/dL as nitrogen")
    as_urea = urea.in_kept(D(150), "mg/dL as urea")
    assert (round(as_nitrogen, 1), round(as_urea, 1)) == (D("25.0"), D("25.0"))
    with pytest.raises(UnitError) as why:
        urea.in_kept(D(70), "mg/dL")
    assert "BUN" in str(why.value.params["units"])


@pytest.mark.parametrize(("name", "unit"), EACH)
def test_there_and_back(name: str, unit: str) -> None:
    one = substance(name)
    assert abs(one.in_kept(one.in_unit(D(7), unit), unit) - 7) < D("1e-20")


@pytest.mark.parametrize("one", load_substances().values(), ids=lambda one: one.key)
def test_each_substance_has_words_and_lines_inside_its_ranges(one: Substance) -> None:
    assert has_text(f"bloods.substance.{one.key}")
    for line in (one.call_below, one.call_above):
        assert line is None or one.last_low < line < one.last_high


def test_units_that_could_be_mixed_up_have_words() -> None:
    for unit in ("mg/dL as nitrogen", "mg/dL as urea", "10*9/L", "10*3/uL"):
        assert has_text(f"bloods.unit.{unit}")
    assert (blood_unit("mmol/L"), substance_words("lung_water")) == ("mmol/L", "lung_water")


def test_a_substance_that_is_not_there_is_refused() -> None:
    with pytest.raises(InputError) as why:
        substance("lung_water")
    assert why.value.key == "bloods.unknown_substance"


SOUND = """
[substance.iron]
unit = "umol/L"
units = {{ "ug/dL" = "{factor}" }}
ask_low = "{ask_low}"
ask_high = "30"
last_low = "1"
last_high = "{last_high}"
{more}
source = "{source}"
"""
PARTS = {"factor": "0.179", "ask_low": "5", "last_high": "60", "more": "", "source": "common practice"}


def test_a_sound_table_is_read() -> None:
    (iron,) = parse_substances(SOUND.format(**PARTS)).values()
    assert (iron.all_units, iron.call_above, iron.falls_by_half) == (("umol/L", "ug/dL"), None, False)


@pytest.mark.parametrize(
    "fault",
    [
        {"factor": "0"},
        {"factor": "much"},
        {"ask_low": "0.5"},
        {"last_high": "20"},
        {"source": "hearsay"},
        {"more": 'call_over = "9"'},
        {"more": "ask_high = 30"},
    ],
)
def test_a_table_that_contradicts_itself_is_refused(fault: dict[str, str]) -> None:
    with pytest.raises(RulebookFault):
        parse_substances(SOUND.format(**{**PARTS, **fault}))
