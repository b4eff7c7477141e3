"""What a chart is made of: a stretch of time, and lines, bands, points, bars and levels over it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Literal

from ebbwell.draw.ticks import drawable

Role = Literal["plain", "arterial", "venous"]
Value = tuple[datetime, Decimal | None]
"""An instant and what was read; None: not measured."""

Range = tuple[datetime, Decimal | None, Decimal | None]
"""An instant and the own past's lowest and highest; None: no past."""


def _check(values: Iterable[tuple[datetime, Decimal | None]]) -> None:
    for at, value in values:
        if at.tzinfo is None:
            raise ValueError("times must carry a zone")
        if value is not None and not drawable(value):
            raise ValueError(f"{value} can't be drawn")


@dataclass(frozen=True)
class Line:
    """Readings joined where they follow each other.

    join_within: readings further apart than this aren't joined, since nobody looked in between. None: any distance.
    Raises ValueError for a time without zone or a value that can't be drawn, as all marks do.
    """

    name: str
    values: tuple[Value, ...]
    role: Role = "plain"
    join_within: timedelta | None = None

    def __post_init__(self) -> None:
        _check(self.values)

    def pieces(self) -> Iterator[list[tuple[datetime, Decimal]]]:
        """The runs that are drawn joined: cut at each missing value and at each distance over join_within."""
        run: list[tuple[datetime, Decimal]] = []
        for at, value in sorted(self.values, key=lambda v: v[0]):
            apart = run and self.join_within is not None and at - run[-1][0] > self.join_within
            if run and (value is None or apart):
                yield run
                run = []
            if value is not None:
                run.append((at, value))
        if run:
            yield run


@dataclass(frozen=True)
class Band:
    """The range of the own past, behind the lines. A time without range makes a gap."""

    name: str
    ranges: tuple[Range, ...]

    def __post_init__(self) -> None:
        _check((at, value) for at, low, high in self.ranges for value in (low, high))
        if any(low is not None and high is not None and low > high for _, low, high in self.ranges):
            raise ValueError("a range begins at its lowest value")

    def pieces(self) -> Iterator[list[tuple[datetime, Decimal, Decimal]]]:
        """The runs without a gap."""
        run: list[tuple[datetime, Decimal, Decimal]] = []
        for at, low, high in sorted(self.ranges, key=lambda r: r[0]):
            if low is not None and high is not None:
                run.append((at, low, high))
            elif run:
                yield run
                run = []
        if run:
            yield run


@dataclass(frozen=True)
class Points:
    """Single values, never joined."""

    name: str
    values: tuple[Value, ...]
    role: Role = "plain"

    def __post_init__(self) -> None:
        _check(self.values)


@dataclass(frozen=True)
class Bars:
    """Values as bars from zero. width: how much time one covers."""

    name: str
    values: tuple[Value, ...]
    width: timedelta

    def __post_init__(self) -> None:
        _check(self.values)
        if self.width <= timedelta():
            raise ValueError("a bar covers some time")


@dataclass(frozen=True)
class Level:
    """A value that stands for the whole time, such as a limit of the unit."""

    name: str
    value: Decimal

    def __post_init__(self) -> None:
        if not drawable(self.value):
            raise ValueError(f"{self.value} can't be drawn")


Mark = Line | Band | Points | Bars | Level


@dataclass(frozen=True)
class Chart:
    """Marks over one stretch of time and one unit.

    title: read out and shown as tip. desc: longer words for a screen reader; empty: made from the values.
    unit: of all values. start, end: instants; widened where a value lies outside. zone: IANA name, for the clock.
    low, high: the scale shows at least this much; it is widened where a value lies outside, never cut.
    """

    title: str
    unit: str
    start: datetime
    end: datetime
    zone: str
    marks: tuple[Mark, ...]
    desc: str = ""
    low: Decimal | None = None
    high: Decimal | None = None

    def __post_init__(self) -> None:
        if self.start.tzinfo is None or self.end.tzinfo is None or self.end <= self.start:
            raise ValueError("a chart needs a start with zone and an end after it")
        for value in (self.low, self.high):
            if value is not None and not drawable(value):
                raise ValueError(f"{value} can't be drawn")

    def stretch(self) -> tuple[datetime, datetime]:
        """Start and end, with every instant that carries something inside."""
        times = [self.start, self.end]
        for mark in self.marks:
            if isinstance(mark, Band):
                times += [r[0] for r in mark.ranges]
            elif isinstance(mark, Bars):
                times += [at + side * mark.width / 2 for at, _ in mark.values for side in (-1, 1)]
            elif not isinstance(mark, Level):
                times += [at for at, _ in mark.values]
        return min(times), max(times)

    def scale(self) -> tuple[Decimal, Decimal]:
        """Lowest and highest value that has to be seen; 0 to 1 where there is none. Bars begin at zero."""
        values = [v for v in (self.low, self.high) if v is not None]
        for mark in self.marks:
            if isinstance(mark, Band):
                values += [v for _, a, b in mark.ranges for v in (a, b) if v is not None]
            elif isinstance(mark, Level):
                values.append(mark.value)
            else:
                values += [v for _, v in mark.values if v is not None]
            if isinstance(mark, Bars):
                values.append(Decimal(0))
        return (min(values), max(values)) if values else (Decimal(0), Decimal(1))
