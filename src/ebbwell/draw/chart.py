"""A chart as one SVG element: axes, band, bars, levels, lines and points, with words at the end of each."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Final

from ebbwell.core.numbers import plain
from ebbwell.core.text import say
from ebbwell.draw.axes import GAP, Frame, number_axis, time_axis
from ebbwell.draw.marks import Band, Bars, Chart, Level, Line, Mark, Points
from ebbwell.draw.palette import Palette
from ebbwell.draw.picture import picture
from ebbwell.draw.svg import element, number, width_of, words
from ebbwell.draw.table import summary
from ebbwell.draw.ticks import number_label, number_ticks, time_ticks

SHAPES: Final = ("circle", "square", "triangle", "diamond")
DASHES: Final = ("", "7 3", "2 3", "9 3 2 3")
FIXED: Final = {"arterial": 0, "venous": 1}
"""The arterial line is whole with circles, the venous one dashed with squares, on every chart."""

Spots = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class _Label:
    y: float
    text: str
    shape: str
    dash: str
    colour: str


def svg_of(
    chart: Chart,
    palette: Palette,
    *,
    name: str = "chart",
    width: float = 640,
    height: float = 240,
    size: float = 12,
    ground: bool = False,
) -> str:
    """The chart as an SVG element, the same for the same chart.

    name: begins the ids inside; unlike on every chart of a page. width, height, size of the words: in the chart's
    own unit; the element scales to the space it is given. ground: whether the paper's colour is painted behind.
    Raises ValueError for a name that can't stand in an id, or a size too small to draw in.
    """
    low, high = chart.scale()
    rows = max(3, int(height / (size * 2.4)))
    ticks = number_ticks(low, high, rows)
    styles = _styles(chart)
    margin = max((width_of(_end_words(m), size) for m in chart.marks), default=0.0)
    tick_labels = [number_label(t, ticks) for t in ticks]
    left = max(width_of(t, size) for t in tick_labels) + GAP * 2
    right = width - (margin + size * 2.4 if margin else size)
    if right - left < size * 4 or height < size * 6:
        raise ValueError(f"{width} x {height} is too small for words of {size}")
    start, end = chart.stretch()
    frame = Frame(left, right, size * 1.7, height - size * 1.9, ticks[0], ticks[-1], start, end)
    hours = time_ticks(start, end, chart.zone, max(2, int((right - left) / (size * 3.6))))
    parts: list[str] = []
    if ground:
        parts.append(element("rect", width=width, height=height, fill=palette.paper, class_="draw-paper"))
    parts += number_axis(frame, ticks, tick_labels, chart.unit, palette, size)
    parts += time_axis(frame, hours, chart, palette, size)
    order = (Band, Bars, Level, Line, Points)
    labels: list[_Label] = []
    for kind in order:
        for mark in chart.marks:
            if isinstance(mark, kind):
                drawn, label = _draw(mark, styles[id(mark)], frame, palette, size)
                parts += drawn
                labels += [label] if label is not None else []
    parts += _ends(labels, frame, palette, size)
    return picture(
        parts,
        palette,
        title=chart.title,
        desc=chart.desc or summary(chart),
        name=name,
        width=width,
        height=height,
        size=size,
    )


def _styles(chart: Chart) -> dict[int, tuple[str, str]]:
    """Shape and dash of each line or points; no two lines of a chart alike while there are enough."""
    lines = [m for m in chart.marks if isinstance(m, Line | Points)]
    used = {FIXED[m.role] for m in lines if m.role in FIXED}
    free = [n for n in range(len(SHAPES)) if n not in used] or [0]
    found: dict[int, tuple[str, str]] = {id(m): ("", "") for m in chart.marks}
    spare = 0
    for mark in lines:
        if mark.role in FIXED:
            n = FIXED[mark.role]
        else:
            n = free[spare % len(free)]
            spare += 1
        found[id(mark)] = (SHAPES[n], DASHES[n])
    return found


def _newest(mark: Line | Points | Bars) -> tuple[datetime, Decimal] | None:
    held = [(at, value) for at, value in mark.values if value is not None]
    return max(held, key=lambda pair: pair[0]) if held else None


def _end_words(mark: Mark) -> str:
    """The words at the end: the name with the newest value, or with the level's."""
    if isinstance(mark, Band):
        return mark.name
    if isinstance(mark, Level):
        return say("draw.end", name=mark.name, value=plain(mark.value))
    newest = _newest(mark)
    return mark.name if newest is None else say("draw.end", name=mark.name, value=plain(newest[1]))


def _draw(
    mark: Mark, style: tuple[str, str], frame: Frame, palette: Palette, size: float
) -> tuple[list[str], _Label | None]:
    text = _end_words(mark)
    if isinstance(mark, Band):
        return _band(mark, frame, palette, text)
    if isinstance(mark, Level):
        return _level(mark, frame, palette, text)
    newest = _newest(mark)
    if newest is None:
        return [], None
    y = frame.y(newest[1])
    if isinstance(mark, Bars):
        return _bars(mark, frame, palette), _Label(y, text, "", "", palette.soft)
    shape, dash = style
    colour = palette.of(mark.role)
    parts = []
    if isinstance(mark, Line):
        style_of_dash = {"stroke_dasharray": dash} if dash else {}
        parts += [
            element(
                "polyline",
                points=_points((frame.x(at), frame.y(value)) for at, value in run),
                fill="none",
                stroke=colour,
                stroke_width=1.6,
                stroke_linejoin="round",
                class_=f"draw-line draw-{mark.role}",
                **style_of_dash,
            )
            for run in mark.pieces()
            if len(run) > 1
        ]
    parts += [
        _shape(shape, frame.x(at), frame.y(value), size * 0.26, colour, f"draw-mark draw-{mark.role}")
        for at, value in mark.values
        if value is not None
    ]
    return parts, _Label(y, text, shape, dash if isinstance(mark, Line) else "none", colour)


def _sides(alone: float) -> tuple[float, ...]:
    """A range at one instant only is drawn a little wide, so that it can be seen."""
    return (-alone, alone) if alone else (0.0,)


def _points(spots: Iterable[tuple[float, float]]) -> str:
    return " ".join(f"{number(x)},{number(y)}" for x, y in spots)


def _band(mark: Band, frame: Frame, palette: Palette, text: str) -> tuple[list[str], _Label | None]:
    parts = []
    y: float | None = None
    for run in mark.pieces():
        alone = GAP / 2 if len(run) == 1 else 0.0
        spots = [(frame.x(at) + side, frame.y(high)) for at, _, high in run for side in _sides(alone)]
        spots += [
            (frame.x(at) - side, frame.y(low)) for at, low, _ in reversed(run) for side in _sides(alone)
        ]
        parts.append(
            element(
                "polygon",
                points=_points(spots),
                fill=palette.band,
                stroke=palette.soft,
                stroke_width=0.6,
                stroke_dasharray="1 2",
                class_="draw-band",
            )
        )
        _, low, high = run[-1]
        y = (frame.y(low) + frame.y(high)) / 2
    return parts, None if y is None else _Label(y, text, "band", "", palette.soft)


def _level(mark: Level, frame: Frame, palette: Palette, text: str) -> tuple[list[str], _Label]:
    y = frame.y(mark.value)
    line = element(
        "line",
        x1=frame.left,
        x2=frame.right,
        y1=y,
        y2=y,
        stroke=palette.ink,
        stroke_width=0.9,
        stroke_dasharray="1 2.5",
        class_="draw-level",
    )
    return [line], _Label(y, text, "", "", palette.soft)


def _bars(mark: Bars, frame: Frame, palette: Palette) -> list[str]:
    parts = []
    zero = frame.y(Decimal(0))
    for at, value in mark.values:
        if value is None:
            continue
        x1, x2 = frame.x(at - mark.width / 2), frame.x(at + mark.width / 2)
        y = frame.y(value)
        parts.append(
            element(
                "rect",
                x=x1 + (x2 - x1) * 0.1,
                y=min(y, zero),
                width=(x2 - x1) * 0.8,
                height=max(abs(zero - y), 0.5),
                fill=palette.band,
                stroke=palette.ink,
                stroke_width=1,
                class_="draw-bar",
            )
        )
    return parts


def _shape(shape: str, x: float, y: float, r: float, colour: str, class_: str) -> str:
    """A marker by its shape."""
    style = {"fill": colour, "class_": class_}
    if shape == "circle":
        return element("circle", cx=x, cy=y, r=r, **style)
    if shape == "square":
        return element("rect", x=x - r * 0.9, y=y - r * 0.9, width=r * 1.8, height=r * 1.8, **style)
    if shape == "triangle":
        spots: Spots = ((x, y - r * 1.2), (x + r * 1.1, y + r * 0.8), (x - r * 1.1, y + r * 0.8))
    else:
        spots = ((x, y - r * 1.3), (x + r * 1.3, y), (x, y + r * 1.3), (x - r * 1.3, y))
    return element("polygon", points=_points(spots), **style)


def spread(wanted: list[float], apart: float, low: float, high: float) -> list[float]:
    """Places near the wanted ones, in the same order, at least ``apart`` from each other, within low to high.

    Where there is too little room for all, they stand evenly from low on. wanted must be sorted.
    """
    placed: list[float] = []
    for place in wanted:
        placed.append(max(place, low if not placed else placed[-1] + apart))
    ceiling = high
    for n in range(len(placed) - 1, -1, -1):
        placed[n] = min(placed[n], ceiling)
        ceiling = placed[n] - apart
    if placed and placed[0] < low:
        return [low + n * apart for n in range(len(placed))]
    return placed


def _ends(labels: list[_Label], frame: Frame, palette: Palette, size: float) -> list[str]:
    """The words at the right, moved apart where they would meet, each beside its marker."""
    labels = sorted(labels, key=lambda one: one.y)
    places = spread([one.y for one in labels], size * 1.15, frame.top, frame.bottom)
    parts = []
    for one, y in zip(labels, places, strict=True):
        x = frame.right + size * 0.5
        if one.shape == "band":
            parts.append(
                element(
                    "rect",
                    x=x,
                    y=y - size * 0.4,
                    width=size * 1.2,
                    height=size * 0.8,
                    fill=palette.band,
                    stroke=palette.soft,
                    stroke_width=0.6,
                    class_="draw-band",
                )
            )
        elif one.shape:
            parts.append(_shape(one.shape, x + size * 0.6, y, size * 0.34, one.colour, "draw-key"))
        parts.append(
            words(
                one.text,
                x=x + size * 1.5,
                y=y + size * 0.35,
                fill=one.colour,
                class_="draw-end",
            )
        )
    return parts
