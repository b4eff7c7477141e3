"""Composition and pH of dialysis fluid against published figures."""

from decimal import Decimal

import pytest

from ebbwell.science import proportioning
from ebbwell.science.proportioning import Ions, after_acid, proportioned, stock
from tests.external.table import Row, calc, check, params

D = Decimal
RECIPE = "published recipe, 1 : 1.83 : 34"

SALTS = ("sodium", "potassium", "calcium", "magnesium", "bicarbonate", "acetate", "citrate")
MIXES = {
    "A": "140 2 1.5 0.5 35 3 0",
    "B": "137 2 1.5 0.5 32 3 0",
    "C": "132 3 1.25 0.5 28 3 0",
    "D": "138 2 1.75 0.5 34 0 0.8",
    "E": "145 1 1.25 0.75 36 4 0",
}


def fluid(mix: str) -> dict[str, str]:
    return {f"{ion}_mmol_l": text for ion, text in zip(SALTS, MIXES[mix].split(), strict=True)}


def of(name: str, **ions: str) -> Decimal:
    """A formula on a fluid in which everything not named is 0."""
    return calc(name, **{f"{ion}_mmol_l": ions.get(ion, "0") for ion in SALTS})


def recipe() -> Ions:
    return proportioned(
        stock(
            {
                "sodium chloride": D(165),
                "potassium chloride": D("6.00"),
                "calcium chloride dihydrate": D("8.10"),
                "magnesium chloride hexahydrate": D("3.70"),
                "acetic acid": D("9.50"),
            }
        ),
        stock({"sodium bicarbonate": D(66), "sodium chloride": D(24)}),
        acid_parts=D("36.83"),
        bicarbonate_parts=D("1.83"),
    )


ROWS = (
    *(
        Row(
            "fluids:F2",
            f"{RECIPE}: {ion}, within 1.5 %",
            lambda ion=ion: getattr(recipe(), ion),
            text,
            within,
        )
        for ion, text, within in (
            ("sodium", "136", "2.04"),
            ("potassium", "2.20", "0.033"),
            ("calcium", "1.50", "0.0225"),
            ("magnesium", "0.50", "0.0075"),
            ("acetate", "4.30", "0.0645"),
            ("chloride", "103", "1.545"),
            ("bicarbonate", "39", "0.585"),
        )
    ),
    *(
        Row("arithmetic", f"fluids 6, row 16: {ion}", lambda ion=ion: getattr(recipe(), ion), text)
        for ion, text in (
            ("sodium", "136.1"),
            ("potassium", "2.185"),
            ("calcium", "1.496"),
            ("magnesium", "0.494"),
            ("acetate", "4.295"),
            ("chloride", "103.2"),
            ("bicarbonate", "39.04"),
        )
    ),
    Row("arithmetic", "fluids 6, row 17", lambda: after_acid(recipe()).bicarbonate, "34.74", "0.02"),
    Row(
        "arithmetic",
        "fluids 0: citric acid, C6H8O7 from 12.011, 1.008 and 15.999",
        lambda: 1 / stock({"citric acid": D("0.001")}).citrate,
        "192.123",
        "0.005",
    ),
    Row(
        "fluids:F6",
        "typical set 140, 1, 1.25, 0.5 with bicarbonate 34 and, not printed, 3 of acetate: its chloride",
        lambda: of(
            "chloride_by_balance",
            sodium="140",
            potassium="1",
            calcium="1.25",
            magnesium="0.5",
            bicarbonate="34",
            acetate="3",
        ),
        "107.5",
        "0",
    ),
    Row(
        "arithmetic",
        "fluids 6, row 30",
        lambda: calc("chloride_by_balance", **fluid("B")),
        "108.0",
        "0.001",
    ),
    Row(
        "arithmetic",
        "fluids 2.5: simple sum of mix A with 1 g/L of glucose",
        lambda: calc("osmolarity", **fluid("A"), chloride_mmol_l="108", glucose_mmol_l="5.55"),
        "295.6",
    ),
    Row(
        "from memory",
        "fluids 2.5: mix A with glucose, measured, about",
        lambda: calc("osmolality_expected", osmolarity_mmol_l="295.55", glucose_mmol_l="5.55"),
        "275",
    ),
    Row(
        "from memory",
        "fluids 2.5: saline of 308 by sum is measured as 286",
        lambda: calc("osmolality_expected", osmolarity_mmol_l="308"),
        "286",
    ),
    Row(
        "examples:E10.1",
        "15 mL of 5 % dextrose (180 g/mol) in 0.9 % saline (58.5 g/mol); the printed sum is of rounded parts",
        lambda: (
            calc(
                "osmolarity",
                **{f"{ion}_mmol_l": "0" for ion in SALTS if ion != "sodium"},
                sodium_mmol_l="153.8462",
                chloride_mmol_l="153.8462",
                glucose_mmol_l="277.7778",
            )
            * D("0.015")
        ),
        "8.79",
        "0.01",
    ),
    Row(
        "examples:E10.2",
        "0.9 % saline; the printed 0.3 osmol/L is from a molarity rounded to 0.15",
        lambda: (
            calc(
                "osmolarity",
                **{f"{ion}_mmol_l": "0" for ion in SALTS if ion != "sodium"},
                sodium_mmol_l="154",
                chloride_mmol_l="154",
            )
            / 1000
        ),
        "0.3",
        "0.01",
    ),
    Row(
        "arithmetic",
        "fluids 6, row 31",
        lambda: calc("fluid_ph_expected", bicarbonate_mmol_l="32", dissolved_co2_mmol_l="3"),
        "7.128",
        "0.002",
    ),
    Row(
        "arithmetic",
        "fluids 2.1: 35.0 over 3",
        lambda: calc("fluid_ph_expected", bicarbonate_mmol_l="35", dissolved_co2_mmol_l="3"),
        "7.17",
    ),
    Row(
        "fluids:2.1",
        "100 mmHg of carbon dioxide",
        lambda: calc("carbon_dioxide_dissolved", co2_pressure_mmhg="100"),
        "3.07",
    ),
    Row(
        "from memory",
        "blood with bicarbonate 24 and 40 mmHg of carbon dioxide: pH 7.4, printed in many textbooks",
        lambda: calc(
            "fluid_ph_expected",
            bicarbonate_mmol_l="24",
            dissolved_co2_mmol_l=str(calc("carbon_dioxide_dissolved", co2_pressure_mmhg="40")),
        ),
        "7.4",
        "0.02",
    ),
)


@pytest.mark.parametrize("row", params(ROWS))
def test_composition(row: Row) -> None:
    check(row)


@pytest.mark.source("fluids:F2", detail="the printed fluid holds bicarbonate before the acid has reacted")
def test_a_label_with_bicarbonate_as_mixed_shows_too_many_anions() -> None:
    label = {
        "sodium_mmol_l": "136",
        "potassium_mmol_l": "2.20",
        "calcium_mmol_l": "1.50",
        "magnesium_mmol_l": "0.50",
        "chloride_mmol_l": "103",
        "acetate_mmol_l": "4.30",
    }
    assert calc("charge_gap", **label, bicarbonate_mmol_l="39") < -1
    assert abs(calc("charge_gap", **label, bicarbonate_mmol_l="34.7")) < 1


@pytest.mark.source(
    "fluids:F1", detail="45x acid on a 35x machine: every ion of the acid is 45/35 = 1.29 times too strong"
)
def test_two_families_mixed_up_make_the_fluid_too_strong() -> None:
    acid = {"acid_stock_mmol_l": "4500"}
    ratio = calc("ion_mixed", **acid, acid_parts="35") / calc("ion_mixed", **acid, acid_parts="45")
    assert abs(ratio - D("1.29")) < D("0.005")


@pytest.mark.source("fluids:F4", detail="window of pH 6.9 to 7.6 for a fluid with usual amounts")
@pytest.mark.parametrize("mix", MIXES)
def test_ph_of_usual_fluids_lies_in_the_window(mix: str) -> None:
    ions = fluid(mix)
    made = calc(
        "carbon_dioxide_made",
        acetic_acid_mmol_l=ions["acetate_mmol_l"],
        citric_acid_mmol_l=ions["citrate_mmol_l"],
    )
    ph = calc(
        "fluid_ph_expected", bicarbonate_mmol_l=ions["bicarbonate_mmol_l"], dissolved_co2_mmol_l=str(made)
    )
    assert D("6.9") <= ph <= D("7.6")


@pytest.mark.source("arithmetic", detail="fluids 2.1: base is bicarbonate, acetate and three times citrate")
def test_base_equivalents() -> None:
    assert calc("base_equivalents", bicarbonate_mmol_l="32", acetate_mmol_l="3") == 35
    assert calc("base_equivalents", bicarbonate_mmol_l="34", citrate_mmol_l="0.8") == D("36.4")


@pytest.mark.source("arithmetic", detail="fluids 0: molar masses stand once, in the table of units")
def test_every_salt_has_a_molar_mass() -> None:
    assert all(stock({name: D(1)}) != Ions() for name in proportioning.SALTS)
