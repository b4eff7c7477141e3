"""The tables of usual pressures and needles: line by line as printed, and what contradicts itself is refused."""

from __future__ import annotations

from decimal import Decimal
from importlib import resources

import pytest

from ebbwell.rulebook.load import RulebookFault, load_rulebook
from ebbwell.rulebook.pressure_tables import FILE, OWNER, load_pressure_tables, parse_pressure_tables

D = Decimal
TABLES = load_pressure_tables()
TEXT = (resources.files("ebbwell.rulebook") / FILE).read_text("utf-8")

PRINTED = (
    ("fistula", "150 to 200", "-30 to -100", "50 to 100", "common practice"),
    ("fistula", "200 to 300", "-60 to -180", "80 to 160", "common practice"),
    ("fistula", "300 to 400", "-100 to -220", "120 to 220", "common practice"),
    ("fistula", "", "-60 to -200", "60 to 200", "weak"),
    ("catheter", "", "-200 to -250", "200 to 250", "common practice"),
)
"""fluids 5.1: access, blood flow, arterial, venous, how well it is founded."""


def ends(text: str) -> tuple[Decimal, ...] | None:
    return tuple(sorted(D(part) for part in text.split(" to "))) if text else None


@pytest.mark.source("fluids:5.1", detail="the table of usual ranges, row by row, and the line on catheters")
def test_pressures_stand_as_printed() -> None:
    assert len(TABLES.pressures) == len(PRINTED)
    for row, (access, flow, arterial, venous, mark) in zip(TABLES.pressures, PRINTED, strict=True):
        assert (row.access, row.flow, row.mark) == (access, ends(flow), mark)
        assert (row.arterial, row.venous) == (ends(arterial), ends(venous))


@pytest.mark.source(
    "fluids:5.2",
    detail="17: 1.47 mm, 200 to 250; 16: 1.65, 250 to 350; 15: 1.83, 350 to 450 or more; 14: 2.11, up to 500",
)
def test_needles_stand_as_printed() -> None:
    held = {name: (g.outer, g.flow, g.open) for name, g in TABLES.gauges.items()}
    assert held == {
        "17": (D("1.47"), (D(200), D(250)), False),
        "16": (D("1.65"), (D(250), D(350)), False),
        "15": (D("1.83"), (D(350), D(450)), True),
        "14": (D("2.11"), (D(0), D(500)), False),
    }
    assert {g.mark for g in TABLES.gauges.values()} == {"weak"}


@pytest.mark.source("fluids:P20", detail="200 mL/min: 83 (14 G), 147 (17 G); 500: 204, 382")
def test_measured_pressures_stand_as_printed() -> None:
    held = [(one.gauge, one.flow, one.venous) for one in TABLES.measured]
    assert held == [("14", 200, 83), ("17", 200, 147), ("14", 500, 204), ("17", 500, 382)]


def test_every_row_has_a_source_a_mark_and_an_owner() -> None:
    book = load_rulebook()
    for row in (*TABLES.pressures, *TABLES.gauges.values(), *TABLES.measured):
        assert book.source(row.source).title
        assert row.mark
    assert OWNER == "clinic"


@pytest.mark.parametrize(
    ("flow", "arterial", "venous"),
    [
        ("149", None, None),
        ("150", (-100, -30), (50, 100)),
        ("199", (-100, -30), (50, 100)),
        ("200", (-180, -30), (50, 160)),
        ("230", (-180, -60), (80, 160)),
        ("300", (-220, -60), (80, 220)),
        ("400", (-220, -100), (120, 220)),
        ("401", None, None),
    ],
)
@pytest.mark.source("fluids:5.1", detail="at the end of two rows the wider of both")
def test_the_row_is_found_by_flow(
    flow: str, arterial: tuple[int, int] | None, venous: tuple[int, int] | None
) -> None:
    assert TABLES.usual("arterial", access="fistula", blood_flow_ml_min=D(flow)) == arterial
    assert TABLES.usual("venous", access="fistula", blood_flow_ml_min=D(flow)) == venous


def test_the_table_has_no_row_for_a_graft_and_only_the_furthest_for_a_catheter() -> None:
    for access in ("graft", "catheter"):
        assert TABLES.usual("venous", access=access, blood_flow_ml_min=D(230)) is None
    assert TABLES.furthest("arterial", access="catheter") == (-250, -200)
    assert TABLES.furthest("arterial", access="fistula") is None


@pytest.mark.source("fluids:5.2", detail="highest flows; 15 G prints 'or more', so that of the wider 14 G")
def test_the_highest_flow_of_a_needle() -> None:
    assert [TABLES.ceiling(g) for g in ("17", "16", "15", "14")] == [250, 350, 500, 500]
    assert TABLES.ceiling("18") is None
    assert TABLES.ceiling("") is None


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("venous = [50, 100]", "venous = [100, 50]"),
        ("arterial = [-100, -30]", "arterial = [30, 100]"),
        ("flow = [150, 200]", "flow = [200, 150]"),
        ('access = "fistula"', 'access = "needle"'),
        ('source = "fluids:5.1"', 'source = "fluids:5.9"'),
        ('more = ["fluids:P19"]', 'more = ["fluids:P99"]'),
        ('mark = "weak"', 'mark = "heard"'),
        ("outer = 1.47", "outer = 0"),
        ("17 = {", "18 = {"),
        ('gauge = "14"', 'gauge = "13"'),
        ("venous = 83", 'venous = "much"'),
        ("[[ceiling]]", "[[nothing]]"),
    ],
)
def test_what_contradicts_itself_is_refused(old: str, new: str) -> None:
    assert old in TEXT
    with pytest.raises(RulebookFault):
        parse_pressure_tables(TEXT.replace(old, new, 1))
