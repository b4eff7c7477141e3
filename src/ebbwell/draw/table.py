"""The numbers behind a chart: as rows for a table beside it, and as a sentence for a screen reader."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from ebbwell.core.numbers import plain
from ebbwell.core.text import say
from ebbwell.draw.marks import Band, Chart, Level, Mark
from ebbwell.draw.ticks import clock_label, day_label

NONE = "-"
"""What stands in a table where nothing was measured."""


@dataclass(frozen=True)
class Table:
    """caption: the chart's title. columns: heads, the first is the time. rows: one an instant, in order of time."""

    caption: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def moment_label(at: datetime, chart: Chart) -> str:
    """An instant in the chart's zone; with its date where the chart covers more than a day."""
    start, end = chart.stretch()
    words = clock_label(at, chart.zone)
    return f"{day_label(at, chart.zone)} {words}" if end - start > timedelta(hours=24) else words


def _cells(mark: Mark) -> list[tuple[datetime, str]]:
    if isinstance(mark, Band):
        return [
            (at, NONE if low is None or high is None else say("draw.range", low=plain(low), high=plain(high)))
            for at, low, high in mark.ranges
        ]
    if isinstance(mark, Level):
        return []
    return [(at, NONE if value is None else plain(value)) for at, value in mark.values]


def table_of(chart: Chart) -> Table:
    """Every value of the chart. Two values of one name at one instant stand in one cell: ``88 / 90``."""
    shown = [mark for mark in chart.marks if not isinstance(mark, Level)]
    cells = [_cells(mark) for mark in shown]
    instants = sorted({at for column in cells for at, _ in column})
    found: list[dict[datetime, str]] = []
    for column in cells:
        held: dict[datetime, str] = {}
        for at, text in column:
            held[at] = f"{held[at]} / {text}" if at in held else text
        found.append(held)
    columns = (say("draw.time"), *(f"{mark.name} {chart.unit}".rstrip() for mark in shown))
    rows = tuple((moment_label(at, chart), *(held.get(at, NONE) for held in found)) for at in instants)
    return Table(chart.title, columns, rows)


def summary(chart: Chart) -> str:
    """What the chart shows, in words: of each mark how many values, lowest, highest, newest, and how many missing."""
    return " ".join(_said(mark, chart) for mark in chart.marks)


def _said(mark: Mark, chart: Chart) -> str:
    if isinstance(mark, Level):
        return say("draw.level", name=mark.name, value=f"{plain(mark.value)} {chart.unit}".rstrip())
    if isinstance(mark, Band):
        lows = [low for _, low, _ in mark.ranges if low is not None]
        highs = [high for _, _, high in mark.ranges if high is not None]
        if not lows or not highs:
            return say("draw.nothing", name=mark.name)
        text = say("draw.range", low=plain(min(lows)), high=plain(max(highs)))
        return say("draw.level", name=mark.name, value=f"{text} {chart.unit}".rstrip())
    held: list[tuple[Decimal, datetime]] = [(v, at) for at, v in mark.values if v is not None]
    missing = len(mark.values) - len(held)
    if not held:
        return say("draw.nothing", name=mark.name)
    (low, low_at), (high, high_at) = min(held), max(held)
    last, last_at = max(held, key=lambda pair: pair[1])
    words = say(
        "draw.values",
        name=f"{mark.name}, {chart.unit}" if chart.unit else mark.name,
        count=len(held),
        low=plain(low),
        low_at=moment_label(low_at, chart),
        high=plain(high),
        high_at=moment_label(high_at, chart),
        last=plain(last),
        last_at=moment_label(last_at, chart),
    )
    return f"{words} {say('draw.missing', count=missing)}" if missing else words
