"""The sheet's small chart: both pressures over the night, with the unit's limits."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from decimal import Decimal, InvalidOperation
from typing import Any, Final

from ebbwell.core.text import say
from ebbwell.draw.marks import Chart, Level, Line, Mark, Role, Value
from ebbwell.draw.ticks import clock_label
from ebbwell.papers.sheet import Sheet
from ebbwell.papers.words import named

PRESSURES: Final[Mapping[str, Role]] = {"arterial_pressure": "arterial", "venous_pressure": "venous"}

JOINED_WITHIN: Final = timedelta(hours=2)
"""Readings further apart aren't joined: nobody looked in between. Common practice, no source."""

LARGEST: Final = Decimal(10_000)
"""A value beyond this would flatten the chart; it is named beside it instead."""


def pressure_chart(sheet: Sheet) -> tuple[Chart | None, tuple[str, ...]]:
    """The chart, None without a pressure, and what couldn't be drawn, in words.

    While off, and where a pressure wasn't read, the line has a gap.
    """
    data = sheet.data
    zone = str(data["zone"])
    found: dict[str, list[Value]] = {name: [] for name in PRESSURES}
    undrawn = []
    for reading in data["readings"]:
        at = datetime.fromisoformat(reading["at"])
        for name in PRESSURES:
            text = reading["values"].get(name)
            value = _number(text) if text is not None else None
            if text is not None and value is None:
                undrawn.append(
                    say("pdf.undrawn", at=clock_label(at, zone), what=named("quantity", name), value=text)
                )
            found[name].append((at, value))
    if not any(value is not None for values in found.values() for _, value in values):
        return None, tuple(undrawn)
    for pause in data["pauses"]:
        for values in found.values():
            values.append((datetime.fromisoformat(pause["off"]), None))
    marks: list[Mark] = [
        Line(say(f"pdf.end.{role}"), tuple(sorted(found[name], key=_at)), role, JOINED_WITHIN)
        for name, role in PRESSURES.items()
        if any(value is not None for _, value in found[name])
    ]
    marks += [
        Level(say("pdf.end.limit"), value)
        for text in data["limits"].values()
        if (value := _number(text)) is not None
    ]
    start, end = _stretch(data)
    return Chart(say("pdf.chart"), "mmHg", start, end, zone, tuple(marks)), tuple(undrawn)


def _at(value: Value) -> datetime:
    return value[0]


def _number(text: str) -> Decimal | None:
    try:
        value = Decimal(text)
    except InvalidOperation:
        return None
    return value if value.is_finite() and abs(value) <= LARGEST and _short(value) else None


def _short(value: Decimal) -> bool:
    exponent = value.as_tuple().exponent
    return isinstance(exponent, int) and exponent >= -6


def _stretch(data: Mapping[str, Any]) -> tuple[datetime, datetime]:
    """From first blood to pump stop; by the readings where one isn't recorded."""
    readings = [datetime.fromisoformat(r["at"]) for r in data["readings"]]
    times = {name: datetime.fromisoformat(text) for name, text in data["times"].items()}
    start = min([times.get("first_blood", readings[0]), readings[0]])
    end = times.get("pump_stopped", readings[-1])
    return start, max(end, start + timedelta(minutes=5))
