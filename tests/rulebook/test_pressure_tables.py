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
