"""Bands side by side as one SVG element: a row for each, in the order given, on one scale that begins at nothing.

Each row has its name, a bar from the lower to the upper end with a mark in the middle, and the figures in words; a row
without figures has its words alone. Nothing is told by colour, and no row stands out.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

from ebbwell.draw.palette import Palette
from ebbwell.draw.picture import picture
from ebbwell.draw.svg import element, number, width_of, words
from ebbwell.draw.ticks import drawable, number_label, number_ticks

LINES = 2.9
"""Height of a row over the size of the words: a line of words, and the bar."""

BOLD = 1.12
"""How much wider bold words run. Own choice."""


@dataclass(frozen=True)
class Span:
    """A row. name: whose; said: its figures in words, or why there are none. low, middle, high: all or none.

    Raises ValueError for figures that can't be drawn, are out of order, or are there by half.
    """

    name: str
    said: str
    low: Decimal | None = None
    middle: Decimal | None = None
    high: Decimal | None = None

    def __post_init__(self) -> None:
        ends = (self.low, self.middle, self.high)
        held = [end for end in ends if end is not None]
        if held and (len(held) < len(ends) or not all(map(drawable, held)) or held != sorted(held)):
            raise ValueError(f"{self.name}: a span has three figures in order, or none")


@dataclass(frozen=True)
class Spans:
    """Rows in one unit. title: read out and shown as tip. Raises ValueError for no row."""

    title: str
    unit: str
    rows: tuple[Span, ...]

    def __post_init__(self) -> None:
        if not self.rows:
            raise ValueError("there is nothing to draw")

    @property
    def desc(self) -> str:
        """All rows in words, for a screen reader."""
        return " ".join(f"{row.name}: {row.said}." for row in self.rows)


def svg_of_spans(
    spans: Spans, palette: Palette, *, name: str = "spans", width: float = 640, size: float = 13
) -> str:
    """The rows as an SVG element, the same for the same spans; its height follows from the rows.

    name: begins the ids inside; unlike on every picture of a page. width, size of the words: in its own unit. Words that
    are too long for a line are cut with a sign; in full they stand in the description. Raises ValueError for a name
    that can't stand in an id, or a width too small to draw in.
    """
    if width < size * 12:
        raise ValueError(f"{width} is too small for words of {size}")
    values = [end for row in spans.rows for end in (row.low, row.high) if end is not None]
    ticks = number_ticks(
        min([Decimal(0), *values]), max([Decimal(0), *values]) or Decimal(1), max(3, int(width / size / 8))
    )
    left, right = size, width - size * 1.6
    height = size * (LINES * len(spans.rows) + 2.4)

    def x(value: Decimal) -> float:
        return left + (right - left) * float((value - ticks[0]) / (ticks[-1] - ticks[0]))

    bottom = size * LINES * len(spans.rows) + size * 0.3
    parts: list[str] = []
    for tick in ticks:
        stroke = palette.soft if tick == 0 else palette.line
        parts.append(
            element(
                "line",
                x1=x(tick),
                x2=x(tick),
                y1=size * 0.3,
                y2=bottom,
                class_="draw-grid",
                stroke=stroke,
                stroke_width=1,
            )
        )
        text = number_label(tick, ticks)
        text = f"{text} {spans.unit}".rstrip() if tick == ticks[-1] else text
        end = {"text_anchor": "end" if tick == ticks[-1] else "middle"}
        at = width - 2 if tick == ticks[-1] else x(tick)
        parts.append(words(text, x=at, y=bottom + size * 1.4, fill=palette.soft, class_="draw-soft", **end))
    for place, row in enumerate(spans.rows):
        parts += _row(row, x, size * LINES * place, width, size, palette)
    return picture(
        parts,
        palette,
        title=spans.title,
        desc=spans.desc,
        name=name,
        width=width,
        height=height,
        size=size,
    )


def _row(
    row: Span, x: Callable[[Decimal], float], top: float, width: float, size: float, palette: Palette
) -> list[str]:
    """Words, and below them the bar with an upright stroke at each end and a diamond in the middle."""
    name = _cut(row.name, max(width - width_of(row.said, size) - size * 2, width * 0.4), size * BOLD)
    said = _cut(row.said, width - width_of(name, size * BOLD) - size, size)
    parts = [
        words(name, x=0, y=top + size * 1.2, font_weight="bold", class_="draw-name"),
        words(said, x=width, y=top + size * 1.2, text_anchor="end", class_="draw-said"),
    ]
    if row.low is None or row.middle is None or row.high is None:
        return parts
    y, half = top + size * 2.1, size * 0.42
    left, middle, right = x(row.low), x(row.middle), x(row.high)
    parts.append(
        element(
            "rect",
            x=left,
            y=y - half * 0.6,
            width=max(right - left, 0.5),
            height=half * 1.2,
            class_="draw-span",
            fill=palette.band,
            stroke=palette.ink,
            stroke_width=1,
        )
    )
    parts += [
        element(
            "line",
            x1=at,
            x2=at,
            y1=y - half,
            y2=y + half,
            stroke=palette.ink,
            stroke_width=1.6,
            class_="draw-end",
        )
        for at in (left, right)
    ]
    spots = ((middle, y - half), (middle + half, y), (middle, y + half), (middle - half, y))
    points = " ".join(f"{number(a)},{number(b)}" for a, b in spots)
    parts.append(element("polygon", points=points, fill=palette.ink, class_="draw-middle"))
    return parts


def _cut(text: str, room: float, size: float) -> str:
    """The words, or as many letters of them as there is room for, and a sign that there are more."""
    if width_of(text, size) <= room:
        return text
    while text and width_of(f"{text}\N{HORIZONTAL ELLIPSIS}", size) > room:
        text = text[:-1]
    return f"{text.rstrip()}\N{HORIZONTAL ELLIPSIS}"
