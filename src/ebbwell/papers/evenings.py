"""Evenings on which "not tonight" was said and no night was opened: they have no sheet, and stand between the nights."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import groupby, islice
from zoneinfo import ZoneInfo

from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk
from ebbwell.papers.said_before import Said, no_line
from ebbwell.papers.words import clock, day
from ebbwell.state.noes import No, noes
from ebbwell.state.own_past import Past
from ebbwell.state.standing import HOLDS_FOR, people

NEW_DAY = timedelta(hours=6)
"""Until when after midnight something belongs to the evening before. Own choice."""

NIGHTS = 5
"""Nights before it in which a "not tonight" may have been said. Own choice: one is open at a time, two by mishap."""


@dataclass(frozen=True)
class Evening:
    """id: of the entry that said it first. at: when. day: its date. said: each one and each taking back, in order."""

    id: str
    at: datetime
    day: date
    said: tuple[Said, ...]


def evenings(desk: Desk) -> tuple[Evening, ...]:
    """Each such evening, newest first. One that was said in an open night, or before one of that evening, isn't one."""
    past = desk.past if isinstance(desk.past, Past) else Past(desk.past)
    zone = ZoneInfo(desk.now.zone)
    alone = [no for no in noes(desk.standing) if not _has_night(past, no, zone)]
    alone.sort(key=lambda no: (no.at, no.entry.id))
    found = []
    for when, run in groupby(alone, key=lambda no: _evening(no.at, zone)):
        nos = list(run)
        said = sorted((one for no in nos for one in _said(no)), key=lambda one: one.at)
        found.append(Evening(nos[0].entry.id, nos[0].at, when, tuple(said)))
    return tuple(reversed(found))


def _said(no: No) -> list[Said]:
    """It, and each taking back of it."""
    backs = [Said(back.envelope.at, back.envelope.by, True) for back in no.backs]
    return [Said(no.at, no.entry.envelope.by, False, no.body.said_by, no.body.words), *backs]


def evening_lines(desk: Desk, evening: Evening) -> list[str]:
    """What was said on such an evening, and by whom, a line each; the last says that no night was opened."""
    known = people(desk.standing)
    lines = []
    for one in evening.said:
        at = clock(one.at, desk.now.zone)
        local = one.at.astimezone(ZoneInfo(desk.now.zone)).date()
        if local != evening.day:
            at = f"{day(local.isoformat())} {at}"
        if one.back:
            who = known[one.by].name if one.by in known else say("no.somebody")
            lines.append(say("no.back", at=at, who=who))
        else:
            words = no_line(desk, one.by, one.said_by, at)
            lines.append(f"{words} {one.words}" if one.words else words)
    return [*lines, say("no.no_night")]


def _evening(at: datetime, zone: ZoneInfo) -> date:
    return (at.astimezone(zone).replace(tzinfo=None) - NEW_DAY).date()


def _has_night(past: Past, no: No, zone: ZoneInfo) -> bool:
    """Whether it was said in an open night, or a night was opened after it on that evening or while it held."""
    written = no.entry.envelope.recorded_at
    before = islice(past.opened_before(written + timedelta(microseconds=1)), NIGHTS)
    if any(written in summary.noes for summary in before):
        return True
    after = next(past.opened_from(written), None)
    if after is None:
        return False
    near = after.opened_at - no.at <= HOLDS_FOR
    return near or _evening(after.opened_at, zone) == _evening(no.at, zone)
