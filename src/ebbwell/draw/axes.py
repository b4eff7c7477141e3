"""The field of a chart and its two axes: round numbers upwards, the clock on the wall sideways."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Final

from ebbwell.core.text import say
from ebbwell.draw.marks import Chart
from ebbwell.draw.palette import Palette
from ebbwell.draw.svg import element, width_of, words
from ebbwell.draw.ticks import TimeTick, clock_changes

GAP: Final = 5.0
"""Room between the field and its labels, in the chart's unit."""


@dataclass(frozen=True)
class Frame:
    """Where values land. left, right, top, bottom: edges of the field; scale and stretch: what they stand for."""

    left: float
    right: float
    top: float
    bottom: float
    low: Decimal
    high: Decimal
    start: datetime
    end: datetime

    def x(self, at: datetime) -> float:
        """Where an instant lies; distances are real time."""
        return self.left + (self.right - self.left) * ((at - self.start) / (self.end - self.start))

    def y(self, value: Decimal) -> float:
        """Where a value lies."""
        part = float((value - self.low) / (self.high - self.low))
        return self.bottom - (self.bottom - self.top) * part


def number_axis(
    frame: Frame, ticks: tuple[Decimal, ...], labels: list[str], unit: str, palette: Palette, size: float
) -> list[str]:
    """Faint lines at the ticks with their labels at the left, zero stronger, the unit on top."""
    parts = []
    for tick, label in zip(ticks, labels, strict=True):
        y = frame.y(tick)
        zero = tick == 0 and ticks[0] < 0 < ticks[-1]
        parts.append(
            element(
                "line",
                x1=frame.left,
                x2=frame.right,
                y1=y,
                y2=y,
                stroke=palette.soft if zero else palette.line,
                stroke_width=1 if zero else 0.6,
                class_="draw-zero" if zero else "draw-grid",
            )
        )
        parts.append(
            words(
                label,
                x=frame.left - GAP,
                y=y + size * 0.35,
                text_anchor="end",
                fill=palette.soft,
                class_="draw-soft",
            )
        )
    if unit:
        parts.append(words(unit, x=frame.left - GAP, y=size * 0.85, fill=palette.soft, class_="draw-soft"))
    return parts


def time_axis(
    frame: Frame, ticks: tuple[TimeTick, ...], chart: Chart, palette: Palette, size: float
) -> list[str]:
    """The upright rule, ticks with what the wall clock shows, and a mark where the clocks change.

    No label runs over the left edge, and none of a change over the unit that stands before it.
    """
    parts = [
        element(
            "line",
            x1=frame.left,
            x2=frame.left,
            y1=frame.top,
            y2=frame.bottom,
            stroke=palette.accent,
            stroke_width=1.6,
            class_="draw-rule",
        )
    ]
    beyond = -1e9
    for tick in ticks:
        x = frame.x(tick.at)
        parts.append(
            element(
                "line",
                x1=x,
                x2=x,
                y1=frame.bottom,
                y2=frame.bottom + size * 0.4,
                stroke=palette.soft,
                stroke_width=1,
                class_="draw-tick",
            )
        )
        half = width_of(tick.label, size) / 2
        if x - half > beyond:
            parts.append(
                words(
                    tick.label,
                    x=max(x, half),
                    y=frame.bottom + size * 1.5,
                    text_anchor="middle",
                    fill=palette.soft,
                    class_="draw-soft",
                )
            )
            beyond = max(x, half) + half + size * 0.4
    clear = frame.left - GAP + width_of(chart.unit, size) + size * 0.4 if chart.unit else 0.0
    for at in clock_changes(frame.start, frame.end, chart.zone):
        x = frame.x(at)
        parts.append(
            element(
                "line",
                x1=x,
                x2=x,
                y1=frame.top,
                y2=frame.bottom,
                stroke=palette.soft,
                stroke_width=1,
                stroke_dasharray="1 3",
                class_="draw-change",
            )
        )
        told = say("draw.clocks_change")
        half = width_of(told, size) / 2
        middle = max(x, clear + half)
        clear = middle + half + size * 0.4
        parts.append(
            words(
                told,
                x=middle,
                y=size * 0.85,
                text_anchor="middle",
                fill=palette.soft,
                class_="draw-soft",
            )
        )
    return parts
