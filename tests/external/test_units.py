"""Conversions against printed factors, one of them printed wrong for urea."""

from decimal import Decimal

import pytest

from ebbwell.core.units import convert
from tests.external.table import Row, check, params

D = Decimal
AMA = "AMA factors, copied on a university page"
TABLE = "formulary conversion table, June 2003"


def molar(value: str, substance: str, to: str = "mmol/L") -> Decimal:
    return convert(D(value), "mg/dL", to, substance)


ROWS = (
    Row("examples:E17.1", AMA, lambda: molar("1", "calcium"), "0.2495"),
    Row("examples:E17.2", AMA, lambda: molar("1", "creatinine", "umol/L"), "88.4"),
    Row("examples:E17.3", TABLE, lambda: molar("1", "glucose"), "0.05551"),
    Row("examples:E17.4", TABLE, lambda: molar("1", "magnesium"), "0.4114"),
    Row("examples:E17.5", f"{TABLE}: weighed as phosphorus", lambda: molar("1", "phosphate"), "0.3229"),
    Row(
        "examples:E17.7", "review on protein catabolic rate, 2009", lambda: molar("50", "urea nitrogen"), "18"
    ),
    Row(
        "examples:E17.8", "medical algorithms page", lambda: convert(D(1), "grain/gal", "mg/L CaCO3"), "17.12"
    ),
    Row(
        "practice:e",
        "hazard H28: urea nitrogen 70 mg/dL is urea 150 mg/dL",
        lambda: convert(molar("70", "urea nitrogen"), "mmol/L", "mg/dL", "urea"),
        "150",
    ),
    Row("practice:e", "and 25.0 mmol/L", lambda: molar("70", "urea nitrogen"), "25.0"),
    Row(
        "arithmetic",
        "fluids 6, row 10: 2 mg/L of nitrate nitrogen as nitrate",
        lambda: convert(convert(D(2), "mg/L", "mmol/L", "nitrate nitrogen"), "mmol/L", "mg/L", "nitrate"),
        "8.85",
        "0.01",
    ),
    Row("arithmetic", "fluids 0: 1 mmol sodium", lambda: convert(D(1), "mmol/L", "mg/L", "sodium"), "22.990"),
    Row(
        "arithmetic", "fluids 0: 1 g salt", lambda: convert(D(1), "g/L", "mmol/L", "sodium chloride"), "17.11"
    ),
    Row(
        "arithmetic",
        "fluids 0: 0.9 % saline",
        lambda: convert(D(9), "g/L", "mmol/L", "sodium chloride"),
        "154",
    ),
    Row("arithmetic", "fluids 4.5: pounds", lambda: convert(D(143), "lb", "kg"), "64.9"),
    Row("from memory", "fluids 0: 1 bar", lambda: convert(D(1), "bar", "mmHg"), "750.06"),
    Row("from memory", "fluids 0: 1 psi", lambda: convert(D(1), "psi", "mmHg"), "51.715"),
    Row("from memory", "fluids 0: 1 kPa", lambda: convert(D(1), "kPa", "mmHg"), "7.5006"),
    Row("from memory", "fluids 0: US gallon", lambda: convert(D(1), "gal", "L"), "3.785412"),
    Row("from memory", "fluids 0: cubic foot", lambda: convert(D(1), "ft3", "L"), "28.31685"),
    Row("from memory", "fluids 0: German degree", lambda: convert(D(1), "dH", "mg/L CaCO3"), "17.85"),
    Row("from memory", "fluids 0: French degree", lambda: convert(D(1), "fH", "mg/L CaCO3"), "10", "0"),
    Row(
        "arithmetic", "definition of the degree Fahrenheit", lambda: convert(D("98.6"), "F", "C"), "37.0", "0"
    ),
)


@pytest.mark.parametrize("row", params(ROWS))
def test_units(row: Row) -> None:
    check(row)


@pytest.mark.hazard("H28")
@pytest.mark.source("examples:E17.6", detail="the table's 0.714 counts nitrogen atoms: twice the urea")
def test_urea_nitrogen_is_counted_as_urea() -> None:
    ours = molar("1", "urea nitrogen")
    assert abs(ours - D("0.357")) <= D("0.0005")
    assert abs(ours * 2 - D("0.7140")) <= D("0.0005")
