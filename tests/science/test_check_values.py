"""Where each check value of the reference on fluids and water (its section 6) is tested.

Files are those of ``tests/external``, where nothing else is said.

| rows | what | where |
| --- | --- | --- |
| 1 to 9 | rejection, recovery, contact time, litres, softener, hardness | ``test_water`` |
| 10 | nitrate as nitrate | ``test_water_lists``, ``test_units`` |
| 11 to 14 | A0: holds, a ramp, time at 85 C | ``test_disinfection`` |
| 15, 18 to 20 | concentrates for a night, and when they run dry | ``test_dialysate`` |
| 16, 17, 30, 31 | the published recipe, chloride by balance, pH | ``test_composition`` |
| 21 to 23, 27 to 29 | standards of KCl and NaCl, what moves conductivity | ``test_conductivity`` |
| 24 to 26 | three mixes against two chemistry programs | ``test_witness`` |
| 32 to 34 | heparin over time, for reviews | ``test_review_heparin`` |
| 35, 36 | syringe, total | ``test_heparin`` |
| 37 to 41 | removal, several nights, lines by weight, saline | ``test_fluid`` |
| 42, 43 | pressure across the membrane, and its coefficient | ``test_pressures`` |
| 44 | smooth-flow drop along a needle | ``test_pressures`` |
| 45 to 47 | blood loss, mean pressure, blood column | ``test_pressures`` |
| 48, 50 | plates, action level | ``test_microbes``; more in ``science/test_microbes`` |
| 49 | chlorine at the limit by method | ``science/test_chlorine`` |

The test below looks for each of these rows by number in the file that the table names.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

SCIENCE = Path(__file__).parent
EXTERNAL = SCIENCE.parent / "external"
NAMED = re.compile(r"(?<![a-z])rows?[ _](\d+)(?: to (\d+))?", re.IGNORECASE)
TABLE = {
    EXTERNAL / "test_water.py": range(1, 10),
    EXTERNAL / "test_water_lists.py": (10,),
    EXTERNAL / "test_disinfection.py": range(11, 15),
    EXTERNAL / "test_dialysate.py": (15, 18, 19, 20),
    EXTERNAL / "test_composition.py": (16, 17, 30, 31),
    EXTERNAL / "test_conductivity.py": (21, 22, 23, 27, 28, 29),
    EXTERNAL / "test_witness.py": (24, 25, 26),
    EXTERNAL / "test_review_heparin.py": range(32, 35),
    EXTERNAL / "test_heparin.py": (35, 36),
    EXTERNAL / "test_fluid.py": range(37, 42),
    EXTERNAL / "test_pressures.py": range(42, 48),
    EXTERNAL / "test_microbes.py": (48, 50),
    SCIENCE / "test_chlorine.py": (49,),
}
EACH = [pytest.param(path, row, id=f"row {row}") for path, rows in TABLE.items() for row in rows]


def rows_in(text: str) -> set[int]:
    """Numbers named as ``row 3``, ``row_3`` or ``rows 3 to 5``."""
    return {row for first, last in NAMED.findall(text) for row in range(int(first), int(last or first) + 1)}


@pytest.mark.parametrize(("path", "row"), EACH)
def test_a_row_is_where_the_table_says(path: Path, row: int) -> None:
    assert row in rows_in(path.read_text("utf-8"))


def test_none_of_the_50_rows_is_left_out() -> None:
    assert {row for rows in TABLE.values() for row in rows} == set(range(1, 51))


def test_a_row_is_found_by_its_number() -> None:
    assert rows_in("fluids 6, row 12: 93 C\ndef test_row_49() -> None: rows 33") == {12, 49, 33}
    assert rows_in("fluids 6, rows 24 to 26: printed") == {24, 25, 26}
    assert rows_in("arrow 7, 8 rows, row12") == set()
