"""The night page: hours done and left, last values with what to compare them with, what is due."""

from __future__ import annotations

from datetime import datetime, timedelta

from starlette.responses import Response

from ebbwell.core.clock import elapsed
from ebbwell.core.text import say
from ebbwell.deeds.readings_due import DueReading, due_readings, unread_schedule
from ebbwell.journal.kinds.night import Reading
from ebbwell.papers.beside_value import beside_value
from ebbwell.papers.carer_now import carer_leaves
from ebbwell.papers.concentrates_now import concentrate_hours, concentrate_lines, concentrates_now
from ebbwell.papers.heparin_now import heparin_lines
from ebbwell.papers.night_now import (
    ARM,
    last_values,
    night_clock,
    reading_findings,
    times_of,
    unchecked_steps,
)
from ebbwell.papers.removal_now import removal_words
from ebbwell.papers.shown_beside import shown_beside
from ebbwell.papers.standing_now import WHILE_BLOOD_RUNS
from ebbwell.papers.warned import warnings
from ebbwell.papers.words import reading_words, span
from ebbwell.state.facts import Fact
from ebbwell.state.night import Phase
from ebbwell.state.night_thinner import STRENGTH
from ebbwell.state.reminders import Reminding, reminders
from ebbwell.web.pages.off.steps import keep_steps, open_steps
from ebbwell.web.visit import ALL, HOME, Visit, Way

RUNS = (Phase.RUNNING, Phase.PAUSED, Phase.STOPPING)


HOUR = timedelta(hours=1)

TOLD_FOR = timedelta(minutes=2)
"""How long a reading that was just kept is told back. Own choice: long enough to look it over."""


def show(visit: Visit) -> Response:
    """The page. Writes nothing; every figure says as of when it stands."""
    return _page(visit)


def take_steps(visit: Visit) -> Response:
    """Keep what was filled in of the first hour's steps."""
    keep_steps(visit, WHILE_BLOOD_RUNS)
    return _page(visit) if visit.troubles else visit.go("/night", kept="night-steps")


def _page(visit: Visit) -> Response:
    desk = visit.desk
    if desk.phase not in RUNS or (times := times_of(desk)) is None:
        return visit.show("pages/night/nothing.html")
    values = last_values(desk)
    due = [reading for reading in due_readings(desk) if not reading.given]
    stops = desk.treatment.of("stop")
    offs = desk.treatment.of("off")
    left = concentrates_now(desk)
    return visit.show(
        "pages/night/page.html",
        times=times,
        leaves=carer_leaves(desk),
        phase=desk.phase,
        values=[v for v in values if v.value or v.missing],
        beside={v.quantity: beside_value(desk, v) for v in values},
        none=[v for v in values if not v.value and not v.missing],
        removal=removal_words(desk),
        compared=any(v.own for v in values),
        found=warnings(desk),
        unchecked=unchecked_steps(desk),
        heparin=heparin_lines(desk),
        vial=next(iter(desk.treatment.at_slot("measured", STRENGTH, "")), None),
        concentrates=concentrate_lines(desk, left),
        by_hour=concentrate_hours(desk, left),
        arm=any(f.next_step == ARM for f in reading_findings(desk)),
        told=_told(visit),
        late=[r for r in due if r.late],
        due=_next(due),
        steps=[on for on in open_steps(desk, WHILE_BLOOD_RUNS) if on.fields],
        unread=unread_schedule(desk),
        stopped=stops[-1].at if stops else None,
        paused=offs[-1].at if desk.phase is Phase.PAUSED and offs else None,
        reminding=[(one, heard_at(visit, one)) for one in reminders(desk.treatment)],
        milliseconds=lambda at: max(0, round(elapsed(at, desk.now.at).total_seconds() * 1000)),
        night_clock=lambda at: night_clock(desk, at),
        short=lambda much: span(much).removesuffix(" min") if much >= HOUR else span(much),
        reading_words=reading_words,
        shown_beside=shown_beside,
        aged=lambda at: say("web.night.old", length=span(elapsed(at, desk.now.at))),
    )


def _told(visit: Visit) -> Fact | None:
    """The reading that was kept a moment ago, to be told back once; None as soon as something else was written."""
    desk = visit.desk
    fact = desk.treatment.fact(visit.query.get("told", ""))
    if fact is None or not isinstance(fact.body, Reading):
        return None
    newest = max(desk.treatment, key=lambda entry: (entry.envelope.recorded_at, entry.id))
    recent = elapsed(fact.recorded.at, desk.now.at) <= TOLD_FOR
    return fact if newest.id == fact.id and recent else None


def heard_at(visit: Visit, one: Reminding) -> datetime | None:
    """When a screen with reminders on gave its last sign of life; None where none came since the server started.

    The screen that asks for this page gives one by asking. Told by the boot clock, which nobody sets.
    """
    now = visit.desk.now
    if one.device == visit.device:
        return now.at
    last = visit.heard.get(one.device)
    if last is None or last.boot != now.boot:
        return None
    return now.at - timedelta(milliseconds=now.mono - last.mono)


def _next(due: list[DueReading]) -> list[DueReading]:
    """What comes next: the first with a time still to come or just come, and those that no clock tells."""
    timed = [r for r in due if r.due is not None and not r.late]
    return [*timed[:1], *(r for r in due if r.due is None)]


WAYS = (Way("GET", "/night", show, ALL), Way("POST", "/night/steps", take_steps, HOME))
