"""Evenings on which "not tonight" was said and no night was opened: they have no sheet, and stand between the nights."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import groupby, islice
from zoneinfo import ZoneInfo

from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.bedside import NotTonight
from ebbwell.journal.kinds.marks import Withdrawn
from ebbwell.papers.said_before import Said, no_line
from ebbwell.papers.words import clock, day
from ebbwell.state.facts import Facts
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


@dataclass(frozen=True)
class _No:
    """One "not tonight". recorded_at: when it was written. backs: each taking back of it."""

    id: str
    recorded_at: datetime
    said: Said
    backs: tuple[Said, ...]


def evenings(desk: Desk) -> tuple[Evening, ...]:
    """Each such evening, newest first. One that was said in an open night, or before one of that evening, isn't one."""
    past = desk.past if isinstance(desk.past, Past) else Past(desk.past)
    zone = ZoneInfo(desk.now.zone)
    alone = [no for no in desk.standing.worked_out(_noes) if not _has_night(past, no, zone)]
    alone.sort(key=lambda no: (no.said.at, no.id))
    found = []
    for when, run in groupby(alone, key=lambda no: _evening(no.said.at, zone)):
        nos = list(run)
        said = sorted((one for no in nos for one in (no.said, *no.backs)), key=lambda one: one.at)
        found.append(Evening(nos[0].id, nos[0].said.at, when, tuple(said)))
    return tuple(reversed(found))


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


def _has_night(past: Past, no: _No, zone: ZoneInfo) -> bool:
    """Whether it was said in an open night, or a night was opened after it on that evening or while it held."""
    before = islice(past.opened_before(no.recorded_at + timedelta(microseconds=1)), NIGHTS)
    if any(no.recorded_at in summary.noes for summary in before):
        return True
    after = next(past.opened_from(no.recorded_at), None)
    if after is None:
        return False
    near = after.opened_at - no.said.at <= HOLDS_FOR
    return near or _evening(after.opened_at, zone) == _evening(no.said.at, zone)


def _noes(standing: Facts) -> tuple[_No, ...]:
    """Every "not tonight" that stands between nights, also those taken back."""
    backs: dict[str, list[Said]] = {}
    times = {fact.first.id: (fact.at, fact.body) for fact in standing.of(NotTonight.KIND)}
    for entry in standing.entries.values():
        of = standing.fact(entry.body.of) if isinstance(entry.body, Withdrawn) else None
        if of is not None and of.kind == NotTonight.KIND:
            backs.setdefault(of.first.id, []).append(Said(entry.envelope.at, entry.envelope.by, True))
    found = []
    for entry in standing.entries.values():
        if not isinstance(entry.body, NotTonight):
            continue
        at, body = times.get(entry.id, (entry.envelope.at, entry.body))
        held = body if isinstance(body, NotTonight) else entry.body
        said = Said(at, entry.envelope.by, False, held.said_by, held.words)
        found.append(_No(entry.id, entry.envelope.recorded_at, said, tuple(backs.get(entry.id, ()))))
    return tuple(found)
