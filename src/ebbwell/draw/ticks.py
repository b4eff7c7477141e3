"""Marks on an axis: round numbers, and hours of the clock on the wall."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from typing import Final
from zoneinfo import ZoneInfo

from ebbwell.core.text import say

LARGEST: Final = Decimal("1E12")
FINEST: Final = -12
"""Values from LARGEST on, or with more than 12 decimals, are no bedside figures and aren't drawn."""

FEWEST: Final = 3
"""Ticks that must be allowed: a range that straddles zero always has three."""

_STEPS: Final = (Decimal(1), Decimal(2), Decimal(5))
_MINUTES: Final = (5, 10, 15, 30, 60, 120, 180, 240, 360, 720)
_DAYS: Final = (1, 2, 7, 14, 28, 91, 364)
_GRID: Final = timedelta(minutes=5)
_BY_DAYS: Final = timedelta(hours=54)
_BY_YEARS: Final = timedelta(days=330)


def drawable(value: Decimal) -> bool:
    """Whether a value is a number that a chart can carry: finite, below 1E12, at most 12 decimals."""
    if not value.is_finite() or abs(value) >= LARGEST:
        return False
    exponent = value.as_tuple().exponent
    return isinstance(exponent, int) and exponent >= FINEST


def number_ticks(low: Decimal, high: Decimal, most: int = 6) -> tuple[Decimal, ...]:
    """Evenly spaced round numbers that cover low to high: steps of 1, 2 or 5 times a power of ten, at most ``most``.

    Raises ValueError for a value that isn't drawable, for high below low and for most below 3.

    >>> [str(t) for t in number_ticks(Decimal("-93"), Decimal("124"))]
    ['-100', '-50', '0', '50', '100', '150']
    """
    if not drawable(low) or not drawable(high) or high < low or most < FEWEST:
        raise ValueError(f"no ticks from {low} to {high} with at most {most}")
    if low == high:
        pad = Decimal(1).scaleb(low.adjusted() - 1) if low else Decimal(1)
        low, high = low - pad, high + pad
    power = (high - low).adjusted() - 2
    while True:
        for base in _STEPS:
            step = base.scaleb(power)
            first = (low / step).to_integral_value(ROUND_FLOOR)
            last = (high / step).to_integral_value(ROUND_CEILING)
            if last - first < most:
                return tuple((first + n) * step + 0 for n in range(int(last - first) + 1))
        power += 1


def number_label(value: Decimal, ticks: tuple[Decimal, ...]) -> str:
    """A tick as text, with as many decimals as the step between ticks needs."""
    step = (ticks[1] - ticks[0]).normalize()
    exponent = step.as_tuple().exponent
    places = max(0, -exponent) if isinstance(exponent, int) else 0
    text = f"{value:.{places}f}"
    return text.removeprefix("-") if not value else text


@dataclass(frozen=True)
class TimeTick:
    """at: UTC instant. label: what the clock on the wall shows then. midnight: a new day begins."""

    at: datetime
    label: str
    midnight: bool


def clock_label(at: datetime, zone: str) -> str:
    """An instant on the wall clock; the second pass through a repeated hour says so: ``01:30 again``."""
    local = at.astimezone(ZoneInfo(zone))
    text = f"{local:%H:%M}"
    return say("draw.again", time=text) if local.fold else text


def day_label(at: datetime, zone: str, *, year: bool = False) -> str:
    """An instant by its local date: ``29 Apr``, or ``29 Apr 2026``."""
    local = at.astimezone(ZoneInfo(zone))
    month = say(f"draw.month.{local.month}")
    if year:
        return say("draw.day_of_year", day=local.day, month=month, year=local.year)
    return say("draw.day", day=local.day, month=month)


def time_ticks(start: datetime, end: datetime, zone: str, most: int = 8) -> tuple[TimeTick, ...]:
    """Ticks from start to end at round times of the local clock, at most ``most``; whole days for long spans.

    Distances are real time; labels are what the wall shows, so a skipped hour has no tick and a repeated one has
    two. Raises ValueError for times without a zone, an end not after the start, or most below 2.
    Source: examples:E18.1 (local clocks and real hours part on change nights).
    """
    if start.tzinfo is None or end.tzinfo is None:
        raise ValueError("times must carry a zone")
    start, end = start.astimezone(UTC), end.astimezone(UTC)
    if end <= start or most < 2:
        raise ValueError("a time axis needs an end after its start, and 2 ticks")
    if end - start <= _BY_DAYS:
        grid = list(_grid(start, end, ZoneInfo(zone)))
        for step in _MINUTES:
            found = [at for at, minute in grid if minute % step == 0]
            if len(found) <= most:
                midnights = {at for at, minute in grid if minute == 0}
                return tuple(TimeTick(at, clock_label(at, zone), at in midnights) for at in found)
    days = list(_midnights(start, end, ZoneInfo(zone)))
    for days_apart in _DAYS:
        found = days[::days_apart]
        if len(found) <= most:
            break
    else:
        found = days[:: max(1, -(-len(days) // most))]
    year = end - start > _BY_YEARS
    return tuple(TimeTick(at, day_label(at, zone, year=year), True) for at in found)


def _grid(start: datetime, end: datetime, zone: ZoneInfo) -> Iterator[tuple[datetime, int]]:
    """Every fifth minute with the minute of the local day."""
    at = datetime.fromtimestamp(-(-start.timestamp() // 300) * 300, UTC)
    while at <= end:
        local = at.astimezone(zone)
        yield at, local.hour * 60 + local.minute
        at += _GRID


def _midnights(start: datetime, end: datetime, zone: ZoneInfo) -> Iterator[datetime]:
    """The instant at which each local day begins."""
    one = start.astimezone(zone).date()
    while True:
        at = datetime.combine(one, time(), zone).astimezone(UTC)
        if at > end:
            return
        if at >= start:
            yield at
        one += timedelta(days=1)


def clock_changes(start: datetime, end: datetime, zone: str) -> tuple[datetime, ...]:
    """UTC instants between start and end at which the local clock jumps, to five minutes."""
    zone_of = ZoneInfo(zone)
    if end - start > timedelta(days=400):
        return ()
    found = []
    at, before = start.astimezone(UTC), start.astimezone(zone_of).utcoffset()
    while at < end:
        after = min(at + timedelta(hours=6), end.astimezone(UTC))
        offset = after.astimezone(zone_of).utcoffset()
        if offset != before:
            found.append(_when_changed(at, after, zone_of))
        at, before = after, offset
    return tuple(found)


def _when_changed(low: datetime, high: datetime, zone: ZoneInfo) -> datetime:
    before = low.astimezone(zone).utcoffset()
    while high - low > timedelta(seconds=1):
        middle = low + (high - low) / 2
        if middle.astimezone(zone).utcoffset() == before:
            low = middle
        else:
            high = middle
    return high.replace(microsecond=0)
