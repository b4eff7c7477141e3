"""The lists of limits for water and fluid, line by line against what their sources print."""

from __future__ import annotations

from decimal import Decimal

import pytest
from _pytest.mark import ParameterSet

from ebbwell.core.units import convert
from ebbwell.rulebook.water_lists import WaterLists, load_water_lists
from ebbwell.science.water_report import limit_as

D = Decimal
LISTS: WaterLists = load_water_lists()
INTERNATIONAL = {one.item: one for one in LISTS.chemical_list("international")}

TOXIC = {
    "aluminium": "0.01",
    "total_chlorine": "0.1",
    "copper": "0.1",
    "fluoride": "0.2",
    "lead": "0.005",
    "nitrate": "2",
    "sulphate": "100",
    "zinc": "0.1",
}
ELECTROLYTE = {"calcium": "2", "magnesium": "4", "potassium": "8", "sodium": "70"}
TRACE = {
    "antimony": "0.006",
    "arsenic": "0.005",
    "barium": "0.1",
    "beryllium": "0.0004",
    "cadmium": "0.001",
    "chromium": "0.014",
    "mercury": "0.0002",
    "selenium": "0.09",
    "silver": "0.005",
    "thallium": "0.002",
}
PRINTED = {
    item: (group, most)
    for group, lines in (("toxic", TOXIC), ("electrolyte", ELECTROLYTE), ("trace", TRACE))
    for item, most in lines.items()
}
"""The 22 items of ISO 23500-3:2019 in mg/L, as on the test sheet W1."""
IN_MMOL = [("calcium", "0.05"), ("magnesium", "0.16"), ("potassium", "0.2"), ("sodium", "3.0")]
UK = [
    ("aluminium", "10", "ug/L"),
    ("copper", "100", "ug/L"),
    ("lead", "5", "ug/L"),
    ("zinc", "100", "ug/L"),
    ("silver", "5", "ug/L"),
    ("calcium", "2", "mg/L"),
    ("magnesium", "4", "mg/L"),
    ("potassium", "8", "mg/L"),
    ("sodium", "70", "mg/L"),
]
OLDER = {"free_chlorine": "0.5", "chloramine": "0.1"}


@pytest.mark.source("fluids:W1", detail="22-item list of ISO 23500-3:2019, highest allowed, mg/L")
@pytest.mark.parametrize("item", PRINTED)
def test_a_line_of_the_22(item: str) -> None:
    group, most = PRINTED[item]
    line = INTERNATIONAL[item]
    assert (line.group, line.most, line.unit) == (group, D(most), "mg/L")
    assert (line.source, line.mark, line.jurisdiction) == ("fluids:W1", "published", "international")


@pytest.mark.source("fluids:W1", detail="22 items")
def test_there_are_22_and_no_other() -> None:
    assert set(INTERNATIONAL) == set(PRINTED)
    assert len(PRINTED) == 22


@pytest.mark.source("fluids:W1", detail="electrolytes printed in mmol/L beside mg/L")
@pytest.mark.parametrize(("item", "mmol"), IN_MMOL)
def test_the_same_limit_in_mmol(item: str, mmol: str) -> None:
    assert dict(INTERNATIONAL[item].printed) == {"mmol/L": D(mmol)}
    assert abs(convert(INTERNATIONAL[item].most, "mg/L", "mmol/L", item) / D(mmol) - 1) < D("0.04")


@pytest.mark.source(
    "arithmetic", detail="fluids 6, row 10: 2 mg/L of nitrogen as nitrate, 2 x 62.005 / 14.007"
)
def test_row_10_nitrate_as_nitrate() -> None:
    assert abs(limit_as(INTERNATIONAL["nitrate"], "as nitrate") - D("8.85")) <= D("0.01")
    assert limit_as(INTERNATIONAL["nitrate"], "as nitrogen") == 2


@pytest.mark.source("fluids:W3", detail="UK list in ug/L and mg/L: the same numbers as the 22 in other units")
@pytest.mark.parametrize(("item", "most", "unit"), UK)
def test_a_line_of_the_uk_list(item: str, most: str, unit: str) -> None:
    line = {one.item: one for one in LISTS.chemical_list("united_kingdom")}[item]
    assert (line.most, line.unit) == (D(most), unit)
    assert convert(line.most, unit, "mg/L") == INTERNATIONAL[item].most


@pytest.mark.source(
    "fluids:W2", detail="older lists had two lines: free chlorine 0.5 and chloramine 0.1 mg/L"
)
def test_the_older_two_lines_of_chlorine() -> None:
    found = {one.item: one.most for one in LISTS.chemical_list("older_us")}
    assert found == {item: D(most) for item, most in OLDER.items()}


def printed(key: str, place: str, what: str, fluid: str, below: str, action: str | None) -> ParameterSet:
    name = f"{place}-{what}-{fluid}"
    return pytest.param(
        place, what, fluid, below, action, id=name, marks=pytest.mark.source(key, detail="fluids 1.2")
    )


MICROBES = [
    printed("fluids:W4", "international", "microbe", "water_standard", "100", "50"),
    printed("fluids:W6", "international", "microbe", "water_ultrapure", "0.1", None),
    printed("fluids:W7", "international", "microbe", "fluid_standard", "100", "50"),
    printed("fluids:W7", "international", "microbe", "fluid_ultrapure", "0.1", None),
    printed("fluids:W4", "international", "endotoxin", "water_standard", "0.25", "0.125"),
    printed("fluids:W6", "international", "endotoxin", "water_ultrapure", "0.03", None),
    printed("fluids:W7", "international", "endotoxin", "fluid_standard", "0.5", "0.25"),
    printed("fluids:W7", "international", "endotoxin", "fluid_ultrapure", "0.03", None),
    printed("fluids:W7", "older_us", "microbe", "water_standard", "200", "50"),
    printed("fluids:W7", "older_us", "microbe", "fluid_standard", "200", "50"),
    printed("fluids:W7", "older_us", "endotoxin", "water_standard", "2", "1"),
    printed("fluids:W7", "older_us", "endotoxin", "fluid_standard", "2", "1"),
    printed("fluids:W9", "japan", "endotoxin", "fluid_standard", "0.050", None),
    printed("fluids:W9", "japan", "endotoxin", "fluid_ultrapure", "0.001", None),
]


def differing(lists: WaterLists) -> list[str]:
    """Lines of the lists that aren't what their sources print."""
    ours = {(one.jurisdiction, one.item): (one.most, dict(one.printed)) for one in lists.chemicals}
    out = [item for item, (_, most) in PRINTED.items() if ours["international", item][0] != D(most)]
    out += [item for item, mmol in IN_MMOL if ours["international", item][1] != {"mmol/L": D(mmol)}]
    out += [f"{item}, UK" for item, most, _ in UK if ours["united_kingdom", item][0] != D(most)]
    out += [f"{item}, older" for item, most in OLDER.items() if ours["older_us", item][0] != D(most)]
    for row in MICROBES:
        place, what, fluid, below, action = row.values
        limit = lists.microbe_line(what, fluid, place).limit
        if (limit.below, limit.action) != (D(below), None if action is None else D(action)):
            out.append(f"{what}, {fluid}, {place}")
    return out


@pytest.mark.parametrize(("place", "what", "fluid", "below", "action"), MICROBES)
def test_a_line_for_microbes(place: str, what: str, fluid: str, below: str, action: str | None) -> None:
    line = LISTS.microbe_line(what, fluid, place)
    assert line.limit.below == D(below)
    assert line.limit.action == (None if action is None else D(action))
    assert line.limit.unit == {"microbe": "CFU/mL", "endotoxin": "EU/mL"}[what]
