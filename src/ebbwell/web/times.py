"""Clock times typed into a form: the last instant, or the next, at which the home's clock reads them."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta

from ebbwell.core.clock import Moment, zone_info
from ebbwell.core.errors import InputError

_TIME = re.compile(r"(\d{1,2})[:.](\d{2})")


def past_time(typed: str, now: Moment) -> datetime | None:
    """The last UTC instant at which the home's clock read a typed ``21:40``; None where nothing was typed.

    A minute ahead still counts as now. Where the clocks went back since, the later of two such instants is meant; a
    time that the clocks jumped over is read by the clock before the jump. Raises InputError for what isn't a time.
    """
    text = typed.strip()
    if not text:
        return None
    found = _TIME.fullmatch(text)
    if found is None or int(found[1]) > 23 or int(found[2]) > 59:
        raise InputError("web.no_time", typed=typed[:40])
    zone = zone_info(now.zone)
    today = now.at.astimezone(zone).date()
    latest = now.at + timedelta(minutes=1)
    best: datetime | None = None
    for back in (0, 1):
        day = today - timedelta(days=back)
        for fold in (0, 1):
            local = datetime(
                day.year, day.month, day.day, int(found[1]), int(found[2]), fold=fold, tzinfo=zone
            )
            at = local.astimezone(UTC)
            if at <= latest and (best is None or at > best):
                best = at
    return min(best, now.at) if best is not None else None


def coming_time(typed: str, now: Moment) -> datetime | None:
    """The next UTC instant at which the home's clock reads a typed ``21:40``; None where nothing was typed.

    A time within the last hour stays where it is. Where the clocks go back, the first of two such instants is meant.
    Raises InputError for what isn't a time, and for one that the clocks jump over.
    """
    text = typed.strip()
    if not text:
        return None
    found = _TIME.fullmatch(text)
    if found is None or int(found[1]) > 23 or int(found[2]) > 59:
        raise InputError("web.no_time", typed=typed[:40])
    zone = zone_info(now.zone)
    today = now.at.astimezone(zone).date()
    earliest = now.at - timedelta(hours=1)
    ahead: list[tuple[datetime, bool]] = []
    for days in (-1, 0, 1):
        day = today + timedelta(days=days)
        for fold in (0, 1):
            local = datetime(
                day.year, day.month, day.day, int(found[1]), int(found[2]), fold=fold, tzinfo=zone
            )
            at = local.astimezone(UTC)
            if at >= earliest:
                ahead.append((at, at.astimezone(zone).replace(tzinfo=None) == local.replace(tzinfo=None)))
    instant, is_there = min(ahead)
    if not is_there:
        raise InputError("web.no_such_time", typed=text)
    return instant
