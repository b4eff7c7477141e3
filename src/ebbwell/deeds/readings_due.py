"""Which reading is due when, by what the clinic wrote and what the steps of the first hour ask for.

Every time is a UTC instant counted from first blood, so that no change of clocks moves it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal

from ebbwell.core.clock import elapsed, in_step
from ebbwell.core.errors import InputError
from ebbwell.deeds.after_stop import pump_question
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.night import Connected, Reading
from ebbwell.plan.clock_times import clock
from ebbwell.procedure.conditions import needed
from ebbwell.rulebook.typed import Question
from ebbwell.state.facts import Fact, Facts
from ebbwell.state.night import ON_MACHINE, first_blood, paused_for, pump_stopped, ran_from

LATE_AFTER = timedelta(minutes=10)
"""How long after its time a reading counts as late. Own choice: a row takes a few minutes to type."""

EARLY = timedelta(minutes=3)
"""How long before its time a row that nobody named counts for it. Own choice."""

LONGEST = timedelta(hours=14)
"""The longest treatment. Source: practice:a0."""

DUE_IN = ON_MACHINE
"""Phases in which a reading can be due. Source: practice:H16."""

BODY = ("waking", "lying", "sitting", "standing")
"""Readings of the person alone, which need no running pump. Source: practice:c."""

NOT_ITS_TIME = "not_its_time"
"""What is asked of a row that is called by a reading due at quite another time."""

AT_NO_TIME = ("waking", "before_off", "lying", "sitting", "standing")
"""Readings that belong to what happens and not to a clock: coming off may be earlier than planned, or later."""

NAME = re.compile(rf"start|min\d{{1,4}}|{'|'.join(AT_NO_TIME)}")
"""What a row can be called. Each is known by more words in the wording files: ``when.<name>``."""

_UNIT = r"(?P<unit>min|mins|minutes?|h|hrs?|hours?)"
_NUMBER = r"(?P<number>\d+(?:[.,]5)?)"
"""A whole number or a half: "15,30 min" may be two readings, and is shown as it is."""

_START = re.compile(r"(?:at |on )?(?:the )?start(?: of (?:the )?treatment)?")
_ONCE = re.compile(rf"(?:at |after )?{_NUMBER} ?{_UNIT}(?: after (?:the )?start)?")
_EVERY = re.compile(rf"(?:then )?every {_NUMBER} ?{_UNIT}(?: all night| until the end)?")
_HOURLY = re.compile(r"(?:then )?(?:hourly|every hour|each hour)(?: all night| until the end)?")
_WAKING = re.compile(r"(?:at |on |each |every |when |after )*(?:waking|wake|awake|woken)(?: up)?")
_BEFORE_OFF = re.compile(r"(?:just |and )?before (?:coming off|taking off|off|(?:the )?end)")


@dataclass(frozen=True)
class DueReading:
    """One reading of the night.

    name: ``start``, ``min15``, ``waking``, ``before_off``: the ``when`` of the row that is it. due: UTC instant; None
    where no clock says, such as on waking. given: id of the row, "" while there is none. late: its time is past by
    more than ``LATE_AFTER``. remind: whether a reminder belongs to it: none without a time, and between the first
    hour and the end only what the clinic ordered. trusted: whether the clock has run on since first blood without
    a step; None after a restart.
    """

    name: str
    due: datetime | None
    given: str = ""
    late: bool = False
    remind: bool = False
    trusted: bool | None = True


def due_readings(desk: Desk) -> tuple[DueReading, ...]:
    """The readings of a running night, those given among them, in the order of their times; none when nothing runs.

    Those without a time come last. Sources: design section 6 (night page); practice:T17, T19.
    """
    return _all(desk, desk.now.at) if desk.phase in DUE_IN else ()


def nearest_reading(desk: Desk, at: datetime) -> str:
    """Which reading a row taken at an instant is: the open one due within ``LATE_AFTER`` of it, "" where none is.

    One that is due by then goes before one still to come, whichever lies nearer.
    """
    near = [
        (r.due > at, abs(elapsed(at, r.due)), r.name)
        for r in due_readings(desk)
        if r.due is not None and not r.given and abs(elapsed(at, r.due)) <= LATE_AFTER
    ]
    return min(near)[2] if near else ""


def open_names(desk: Desk, at: datetime) -> tuple[str, ...]:
    """The readings that a row taken at an instant can be called by: those not given yet.

    The last one with the pump running is among them only near the planned end: called so by a slip in mid-night, it
    would be asked for no more.
    """
    return tuple(
        r.name
        for r in due_readings(desk)
        if not r.given and not (r.name == "before_off" and (r.due is None or elapsed(at, r.due) > LATE_AFTER))
    )


def known_names(desk: Desk) -> tuple[str, ...]:
    """Every name that a row of this night can have, those with a time first and in its order."""
    return tuple(dict.fromkeys([*(r.name for r in _all(desk, desk.now.at)), *AT_NO_TIME]))


def time_question(desk: Desk, name: str, at: datetime) -> tuple[Question, ...]:
    """What to ask of a row that was taken at an instant and is called by a reading: () where the two belong together.

    Asked once where the reading is due more than ``LATE_AFTER`` before or after. Not asked where the clock jumped.
    Raises InputError for a word that no reading goes by.
    """
    if not name:
        return ()
    if not NAME.fullmatch(name):
        raise InputError("enter.which_reading", typed=name)
    if name not in BODY and (after := pump_question(desk, at)):
        return after
    named = next((r for r in _all(desk, at) if r.name == name), None)
    if named is None or named.due is None or name in AT_NO_TIME or named.trusted is False:
        return ()
    if abs(elapsed(at, named.due)) <= LATE_AFTER:
        return ()
    words = {"at": clock(at, desk.now.zone), "due": clock(named.due, desk.now.zone)}
    return (Question(NOT_ITS_TIME, 1, tuple(sorted({**words, "reading": name}.items()))),)


def missed_readings(desk: Desk) -> tuple[DueReading, ...]:
    """The readings with a time that were not given by the time they counted as late, or ever. For the sheet."""
    end = pump_stopped(desk.treatment) or desk.now.at
    if first_blood(desk.treatment) is None:
        return ()
    return tuple(r for r in _all(desk, end) if r.late and not r.given)


def unread_schedule(desk: Desk) -> tuple[str, ...]:
    """Parts of the clinic's reading schedule that no time can be made of; to be shown in its own words."""
    return tuple(part for part in _parts(_ordered(desk, "reading_schedule")) if not _times(part, LONGEST))


def planned_end(desk: Desk) -> datetime | None:
    """When the ordered treatment time is over, time off not counted; None before first blood or without an order."""
    start = first_blood(desk.treatment)
    length = _minutes(_ordered(desk, "treatment_minutes"))
    if start is None or length is None:
        return None
    return start + length + paused_for(desk.treatment, desk.now.at)


def _all(desk: Desk, until: datetime) -> tuple[DueReading, ...]:
    start = first_blood(desk.treatment)
    ran = ran_from(desk.treatment)
    if start is None or ran is None:
        return ()
    end = planned_end(desk)
    trusted = in_step(ran.clocked, desk.now)
    names = dict.fromkeys(_asked_by_steps(desk))
    length = LONGEST if end is None else end - start
    for part in _parts(_ordered(desk, "reading_schedule")):
        names |= dict.fromkeys(_times(part, length))
    found = [DueReading(name, _instant(name, start, end), trusted=trusted) for name in names]
    timed = sorted((r for r in found if r.due is not None), key=lambda r: r.due or start)
    timed = [replace(r, remind=True) for r in timed]
    rest = [r for r in found if r.due is None]
    return tuple(_answered(desk.treatment, [*timed, *rest], until))


def _answered(treatment: Facts, due: list[DueReading], until: datetime) -> Iterator[DueReading]:
    rows = sorted(
        ((f, f.body) for f in treatment.of("reading") if isinstance(f.body, Reading)),
        key=lambda pair: pair[0].at,
    )
    named = {body.when: fact for fact, body in rows if body.when}
    free: list[Fact] = [fact for fact, body in rows if not body.when and body.values]
    for place, one in enumerate(due):
        fact = named.get(one.name)
        if fact is None and one.due is not None:
            following = next((r.due for r in due[place + 1 :] if r.due is not None), None)
            last = following - EARLY if following is not None else None
            fact = next((f for f in free if f.at >= one.due - EARLY and (last is None or f.at < last)), None)
            if fact is not None:
                free.remove(fact)
        late = one.due is not None and fact is None and until - one.due > LATE_AFTER
        yield replace(one, given=fact.id if fact is not None else "", late=late)


def _asked_by_steps(desk: Desk) -> Iterator[str]:
    """The readings that the steps of settling ask for: they close the set-up, whatever the schedule says."""
    for step in desk.procedure.steps:
        if step.stage == "settle" and needed(desk.scene, step.only_if):
            yield from (e.name for e in step.evidence if e.form == "reading")


def _ordered(desk: Desk, line: str) -> str:
    """A line as it was shown when the person was connected; a later order is for the next treatment."""
    for fact in desk.treatment.of("connected"):
        if isinstance(fact.body, Connected) and line in fact.body.shown:
            return fact.body.shown[line]
    order = desk.scene.order
    return order.lines.get(line, "") if order is not None else ""


def _minutes(text: str) -> timedelta | None:
    found = re.match(r"\d+(?:\.\d+)?", text.strip())
    return timedelta(minutes=float(found.group())) if found else None


def _parts(schedule: str) -> list[str]:
    parts = re.split(r"(?<!\d),|,(?!\d)|[;\n]| and ", schedule)
    return [" ".join(part.split()) for part in parts if part.strip(" .")]


def _times(part: str, length: timedelta) -> tuple[str, ...]:
    """Names of the readings that a part of a schedule asks for; () for words that aren't understood."""
    text = part.casefold().strip(" .")
    if _START.fullmatch(text):
        return ("start",)
    if _WAKING.fullmatch(text):
        return ("waking",)
    if _BEFORE_OFF.fullmatch(text):
        return ("before_off",)
    once, every = _ONCE.fullmatch(text), _EVERY.fullmatch(text)
    if once:
        minutes = _whole_minutes(once)
        return (f"min{minutes}",) if 0 < minutes <= LONGEST.total_seconds() / 60 else ()
    step = _whole_minutes(every) if every else 60 if _HOURLY.fullmatch(text) else 0
    if step < 5:
        return ()
    last = int(length.total_seconds() // 60)
    return tuple(f"min{minutes}" for minutes in range(step, last, step))


def _whole_minutes(found: re.Match[str]) -> int:
    number = Decimal(found["number"].replace(",", "."))
    return int(number * 60 if found["unit"].startswith("h") else number)


def _instant(name: str, start: datetime, end: datetime | None) -> datetime | None:
    if name == "start":
        return start.astimezone(UTC)
    if name == "before_off":
        return end.astimezone(UTC) if end is not None else None
    after = re.fullmatch(r"min(\d+)", name)
    return start.astimezone(UTC) + timedelta(minutes=int(after[1])) if after else None
