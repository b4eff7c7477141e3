"""Times of day and dates of labels as people type them."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from ebbwell.core.errors import InputError


def past_time(typed: str, now: datetime, zone: ZoneInfo) -> datetime:
    """The last instant at which the home's clock read a typed ``21:40``. Raises InputError for what isn't a time."""
    hours, colon, minutes = typed.strip().replace(".", ":").partition(":")
    if not (colon and hours.isdecimal() and minutes.isdecimal() and int(hours) < 24 and int(minutes) < 60):
        raise InputError("walk.no_time", typed=typed[:40])
    limit = now.astimezone(UTC) + timedelta(minutes=1)
    today = now.astimezone(zone).replace(hour=int(hours), minute=int(minutes), second=0, microsecond=0)
    found = [
        (today - timedelta(days=back)).replace(fold=fold).astimezone(UTC)
        for back in (0, 1)
        for fold in (0, 1)
    ]
    return max(at for at in found if at <= limit)


def label_date(typed: str) -> str:
    """A date as YYYY-MM-DD. ``2027-06`` is the last day of that month. Raises InputError for anything else."""
    parts = typed.strip().replace("/", "-").replace(".", "-").split("-")
    if not 2 <= len(parts) <= 3 or not all(p.isdecimal() for p in parts) or len(parts[0]) != 4:
        raise InputError("walk.no_date", typed=typed[:40])
    try:
        year, month = int(parts[0]), int(parts[1])
        if len(parts) == 3:
            return datetime(year, month, int(parts[2]), tzinfo=UTC).date().isoformat()
        datetime(year, month, 1, tzinfo=UTC)
        first_of_next = datetime(year + month // 12, month % 12 + 1, 1, tzinfo=UTC)
    except ValueError as why:
        raise InputError("walk.no_date", typed=typed[:40]) from why
    return (first_of_next - timedelta(days=1)).date().isoformat()
