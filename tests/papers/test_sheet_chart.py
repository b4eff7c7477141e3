"""The sheet's chart: both pressures as recorded, with gaps, limits, and what couldn't be drawn named."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest

from ebbwell.draw.marks import Chart, Level, Line
from ebbwell.papers.sheet import Sheet
from ebbwell.papers.sheet_chart import pressure_chart
from ebbwell.sim.household import PRESCRIPTION
from tests.papers.nights import played


@pytest.fixture(scope="module")
def sheet() -> Sheet:
    return played(8, missing_every=4, pause_after=5)


def with_value(sheet: Sheet, text: str) -> Sheet:
    readings: list[dict[str, Any]] = [{**r, "values": dict(r["values"])} for r in sheet.data["readings"]]
    readings[0]["values"]["venous_pressure"] = text
    return replace(sheet, data={**sheet.data, "readings": readings})


def chart_of(sheet: Sheet) -> Chart:
    chart, _ = pressure_chart(sheet)
    assert chart is not None
    return chart


def line(chart: Chart, role: str) -> Line:
    (found,) = [m for m in chart.marks if isinstance(m, Line) and m.role == role]
    return found


def test_the_chart_shows_what_was_read(sheet: Sheet) -> None:
    for name, role in (("arterial_pressure", "arterial"), ("venous_pressure", "venous")):
        shown = {at: value for at, value in line(chart_of(sheet), role).values if value is not None}
        assert shown == {
            datetime.fromisoformat(r["at"]): Decimal(r["values"][name])
            for r in sheet.data["readings"]
            if name in r["values"]
        }


def test_the_units_limits_stand_on_it(sheet: Sheet) -> None:
    levels = {m.value for m in chart_of(sheet).marks if isinstance(m, Level)}
    assert levels == {Decimal(PRESCRIPTION["venous_limit"]), Decimal(PRESCRIPTION["arterial_limit"])}


def test_missing_values_and_time_off_make_gaps(sheet: Sheet) -> None:
    chart = chart_of(sheet)
    off = datetime.fromisoformat(sheet.data["pauses"][0]["off"])
    for role in ("arterial", "venous"):
        for run in line(chart, role).pieces():
            assert not run[0][0] < off < run[-1][0]
    assert len(list(line(chart, "venous").pieces())) > len(list(line(chart, "arterial").pieces())) == 2


def test_hours_without_a_look_are_not_joined() -> None:
    chart = chart_of(played(3))
    apart = [b[0] - a[0] for a, b in zip(*[line(chart, "venous").values[n:] for n in (0, 1)], strict=False)]
    assert min(apart) > timedelta(hours=2)
    assert [len(run) for run in line(chart, "venous").pieces()] == [1, 1, 1]


@pytest.mark.parametrize("text", ["abc", "1E400", "NaN", "99999", "0.00000001"])
def test_a_value_that_cannot_be_drawn_is_named(sheet: Sheet, text: str) -> None:
    chart, undrawn = pressure_chart(with_value(sheet, text))
    assert chart is not None
    (said,) = undrawn
    assert text in said
    assert "venous pressure" in said
    assert line(chart, "venous").values[0][1] is None


def test_no_pressure_no_chart(sheet: Sheet) -> None:
    assert pressure_chart(replace(sheet, data={**sheet.data, "readings": []})) == (None, ())
