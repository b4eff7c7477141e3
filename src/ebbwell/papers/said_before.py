"""What was said before a night was opened, and every "not tonight" with its taking back, in the order it was said.

Whatever is said on an evening without a night stands on the sheet of the night opened next: the clinic reads sheets.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk
from ebbwell.journal.envelope import Entry
from ebbwell.journal.kinds.night import Event
from ebbwell.papers.describe import describe
from ebbwell.papers.home_clock import home_clock
from ebbwell.papers.night_now import night_clock
from ebbwell.papers.words import Names, day
from ebbwell.state.calls import SYMPTOMS_TO_CALL
from ebbwell.state.facts import Fact, Facts
from ebbwell.state.night import first_blood, start_known
from ebbwell.state.noes import noes
from ebbwell.state.own_past import Past
from ebbwell.state.standing import people, said_no

BEFORE = timedelta(hours=24)
"""How long before its opening a night's sheet looks back. Own choice: a day, so that no night takes another's words."""

EVENTS = ("event", "advice")
"""Kinds that are written without a night and belong among the events of the next one."""


@dataclass(frozen=True)
class Said:
    """One "not tonight", or one taking back of it. said_by: ``person`` or ``carer``, "" of a taking back."""

    at: datetime
    by: str
    back: bool
    said_by: str = ""
    words: str = ""


@dataclass(frozen=True)
class Before:
    """said: each "not tonight" and taking back, in order. holds: the one that nobody took back. told: other facts."""

    said: tuple[Said, ...]
    holds: Said | None
    told: tuple[Fact, ...]


def gathered(treatment: Facts, standing: Facts, since: datetime, opened: datetime) -> Before:
    """What belongs to a night: all that was said in it, and what was said without a night from ``since`` to ``opened``.

    One that was said before ``since`` belongs to it too where it still held at the opening or was taken back later,
    and no more than a day lies between. What a treatment and the facts between them both hold is told once.
    """
    found: dict[tuple[datetime, str, bool], Said] = {}
    held: list[Said] = []
    for facts in (treatment, standing):
        for no in noes(facts):
            body, env = no.first, no.entry.envelope
            if facts is standing and not opened - BEFORE <= env.recorded_at <= opened:
                continue
            if facts is standing and env.recorded_at < since:
                if any(back.envelope.recorded_at < since for back in no.backs):
                    continue
            said = Said(no.at, env.by, False, body.said_by, body.words)
            found.setdefault((env.recorded_at, env.by, False), said)
            held += [] if no.backs else [said]
            for back in no.backs:
                e = back.envelope
                found.setdefault((e.recorded_at, e.by, True), Said(e.at, e.by, True))
    told = [
        fact
        for kind in EVENTS
        for fact in standing.of(kind)
        if since <= fact.first.envelope.recorded_at <= opened
    ]
    return Before(
        tuple(said for _, said in sorted(found.items(), key=lambda one: one[0])),
        max(held, key=lambda said: said.at, default=None),
        tuple(sorted(told, key=lambda fact: (fact.at, fact.id))),
    )


def before(desk: Desk) -> Before:
    """What was said before the night on the desk was opened, and in it."""
    opened = desk.treatment.of("pinned")[0].first.envelope.recorded_at
    return gathered(desk.treatment, desk.standing, _since(desk, opened), opened)


def _since(desk: Desk, opened: datetime) -> datetime:
    """The end of the treatment before; of one without blood its opening, since what was said in it may still hold."""
    past = desk.past if isinstance(desk.past, Past) else Past(desk.past)
    last = next((s for s in past.opened_before(opened) if s.treatment != desk.treatment_id), None)
    ended = opened - BEFORE if last is None else last.pump_stopped or last.opened_at
    return max(ended, opened - BEFORE)


def said_lines(desk: Desk, names: Names) -> Iterator[str]:
    """What the first part of the sheet says of it: "not tonight" and what came of it, and what asked for a call."""
    told = before(desk)
    start = first_blood(desk.treatment)
    if told.holds is not None and start is not None and told.holds.at <= start:
        known = start_known(desk.treatment)
        yield say("no.blood" if known else "no.blood_not_known", at=_clock(desk, told.holds.at))
    if told.said:
        last = told.said[-1].at
        holds = "no.holds" if told.holds is not None else "no.after_all"
        at = _clock(desk, told.holds.at if told.holds is not None else last)
        yield f"{'; '.join(_said(desk, one, names) for one in told.said)}. {say(holds, at=at)}"
    for fact in told.told:
        if isinstance(fact.body, Event) and fact.body.symptom in SYMPTOMS_TO_CALL:
            yield say("no.before", what=_told(desk, fact, names))


def said_events(desk: Desk, names: Names) -> list[tuple[datetime, str]]:
    """Each of them as a row among the events, with its time."""
    told = before(desk)
    rows = [(one.at, _said(desk, one, names)) for one in told.said]
    return [*rows, *((fact.at, _told(desk, fact, names)) for fact in told.told)]


def no_was_said(desk: Desk) -> bool:
    """Whether somebody said "not tonight" of this night and nobody took it back."""
    return bool(desk.treatment.of("pinned")) and before(desk).holds is not None


def no_words(desk: Desk) -> str:
    """One line while "not tonight" holds: when it was said, and by whom; "" while it doesn't."""
    fact = said_no(desk.treatment, desk.standing, desk.now.at)
    if fact is None:
        return ""
    return no_line(desk, fact.by, getattr(fact.body, "said_by", ""), night_clock(desk, fact.at))


def no_line(desk: Desk, by: str, said_by: str, at: str) -> str:
    """ "Not tonight" in one line. by: id of who wrote it; said_by: ``person`` or ``carer``; at: the time in words."""
    known = people(desk.standing)
    who = known[by].name if by in known else say("no.somebody")
    key = "no.line"
    if said_by != "person":
        key = "no.line_for"
    elif by not in known or "dialysis" not in known[by].roles:
        key = "no.line_person"
    return say(key, at=at, who=who)


def _said(desk: Desk, one: Said, names: Names) -> str:
    key = "no.back" if one.back else "no.said" if one.said_by == "person" else "no.said_for"
    words = say(key, at=_clock(desk, one.at), who=names.get(one.by, one.by))
    return f"{words}: {one.words}" if one.words else words


def _told(desk: Desk, fact: Fact, names: Names) -> str:
    text = f"{_clock(desk, fact.at)} {describe(fact.body, names)}"
    if getattr(fact.body, "said_by", "") == "person":
        return f"{text} ({say('sheet.said_by_person')})"
    return text


def _clock(desk: Desk, at: datetime) -> str:
    """The home's clock time, with its date where that isn't the day on which the night was opened."""
    zone = ZoneInfo(desk.now.zone)
    opened = desk.treatment.of("pinned")[0].at
    words = home_clock(desk, at)
    if at >= opened or at.astimezone(zone).date() == opened.astimezone(zone).date():
        return words
    return f"{day(at.astimezone(zone).date().isoformat())} {words}"


def taken_back_no(facts: Facts, entry: Entry) -> bool:
    """Whether an entry takes a "not tonight" back."""
    return any(entry in no.backs for no in noes(facts))
