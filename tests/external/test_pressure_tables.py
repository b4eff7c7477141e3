"""The tables of usual pressures and needles, row by row against what their sources print."""

from __future__ import annotations

from decimal import Decimal

import pytest

from ebbwell.rulebook.pressure_tables import PressureTables, load_pressure_tables

D = Decimal
TABLES = load_pressure_tables()

PRESSURES = (
    ("fistula", "150 to 200", "-30 to -100", "50 to 100", "common practice"),
    ("fistula", "200 to 300", "-60 to -180", "80 to 160", "common practice"),
    ("fistula", "300 to 400", "-100 to -220", "120 to 220", "common practice"),
    ("fistula", "", "-60 to -200", "60 to 200", "weak"),
    ("catheter", "", "-200 to -250", "200 to 250", "common practice"),
)
"""fluids 5.1: access, blood flow, arterial, venous, how well it is founded."""

NEEDLES = (
    ("17", "1.47", "200 to 250", False),
    ("16", "1.65", "250 to 350", False),
    ("15", "1.83", "350 to 450", True),
    ("14", "2.11", "0 to 500", False),
)
"""fluids 5.2: gauge, outer mm, usual blood flow ("up to 500" for 14), whether "or more" is printed."""

MEASURED = (("14", "200", "83"), ("17", "200", "147"), ("14", "500", "204"), ("17", "500", "382"))
"""fluids:P20: gauge, blood flow, venous pressure."""


def ends(text: str) -> tuple[Decimal, ...] | None:
    return tuple(sorted(D(part) for part in text.split(" to "))) if text else None


def differing(tables: PressureTables) -> list[str]:
    """Rows that aren't as printed, and how many there should be."""
    rows = [(r.access, r.flow, r.arterial, r.venous, r.mark) for r in tables.pressures]
    wanted = [(a, ends(flow), ends(art), ends(ven), mark) for a, flow, art, ven, mark in PRESSURES]
    needles = [(g.gauge, g.outer, g.flow, g.open) for g in tables.gauges.values()]
    wanted_needles = [(g, D(outer), ends(flow), more) for g, outer, flow, more in NEEDLES]
    read = [(m.gauge, m.flow, m.venous) for m in tables.measured]
    wanted_read = [(g, D(flow), D(venous)) for g, flow, venous in MEASURED]
    pairs = ((rows, wanted), (needles, wanted_needles), (read, wanted_read))
    if any(len(held) != len(printed) for held, printed in pairs):
        return ["a row is missing or too many"]
    return [
        f"{one} is printed {other}"
        for held, printed in pairs
        for one, other in zip(held, printed, strict=True)
        if one != other
    ]


@pytest.mark.source(
    "fluids:5.1", detail="table of usual ranges and the line on catheters; fluids 5.2 and P20 for needles"
)
def test_every_row_stands_as_printed() -> None:
    assert differing(TABLES) == []


@pytest.mark.source(
    "fluids:5.2", detail="the needles are founded on teaching pages (P7, P19), P20 on a study"
)
def test_needles_are_marked_as_weak_and_the_study_as_published() -> None:
    assert {one.mark for one in TABLES.gauges.values()} == {"weak"}
    assert {(one.mark, one.source) for one in TABLES.measured} == {("published", "fluids:P20")}
