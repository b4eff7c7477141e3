"""Times of the night: added in UTC, shown on the home's clock.

Where the clocks change between two times that stand side by side, each is shown with its offset, so that
05:30 can't be taken for another 05:30. Source: practice hazard H17 (design: elapsed in UTC, shown local).
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal

from ebbwell.core.clock import zone_info


def after(start: datetime, minutes: Decimal) -> datetime:
    """The UTC instant so many minutes that really pass after start.

    start: with its zone. minutes [min], to the second. Raises ValueError for a start without zone.
    """
    if start.tzinfo is None:
        raise ValueError("times must carry a zone")
    return start.astimezone(UTC) + timedelta(seconds=int((minutes * 60).to_integral_value()))


def clock(instant: datetime, zone: str) -> str:
    """An instant on the home's clock: ``21:40``. Raises InputError for an unknown zone."""
    return instant.astimezone(zone_info(zone)).strftime("%H:%M")


def offset_text(instant: datetime, zone: str) -> str:
    """How far the home's clock is ahead of UTC at an instant: ``UTC+01:00``."""
    offset = instant.astimezone(zone_info(zone)).utcoffset() or timedelta()
    minutes = round(offset.total_seconds() / 60)
    sign = "-" if minutes < 0 else "+"
    return f"UTC{sign}{abs(minutes) // 60:02d}:{abs(minutes) % 60:02d}"


def clocks_change(first: datetime, last: datetime, zone: str) -> bool:
    """Whether the home's clocks stand differently against UTC at two instants."""
    return offset_text(first, zone) != offset_text(last, zone)


def local_text(instant: datetime, zone: str, *, beside: datetime) -> str:
    """An instant on the home's clock, ``05:30``; with its offset where the clocks changed since ``beside``.

    Raises InputError for an unknown zone, ValueError for an instant without zone.
    """
    if instant.tzinfo is None or beside.tzinfo is None:
        raise ValueError("times must carry a zone")
    text = clock(instant, zone)
    return f"{text} {offset_text(instant, zone)}" if clocks_change(beside, instant, zone) else text
