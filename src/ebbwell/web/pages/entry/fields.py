"""The fields of an entry that can be put right, with their words and what may stand in them."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from ebbwell.core.clock import elapsed
from ebbwell.core.text import has_text, say
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.mend import ANOTHER, FIELDS, INSIDE, PICKED
from ebbwell.deeds.readings_due import known_names
from ebbwell.journal.kinds.marks import Answer, Choice, Measured
from ebbwell.journal.kinds.night import Reading
from ebbwell.papers.words import (
    kept_words,
    line_value,
    named,
    option_words,
    place_words,
    unit_words,
    when_words,
)
from ebbwell.procedure.evidence import SETTING
from ebbwell.rulebook.own_units import choice_of, field_unit, typed_unit
from ebbwell.state.chlorine_test import CONTROLLED_AT, QUANTITY
from ebbwell.state.facts import Fact, instant

CLOCK = re.compile(r"([01]?\d|2[0-3]):[0-5]\d")

WORDS = {
    "symptom": "symptom",
    "blood": "said.off_",
    "blood_returned": "blood",
    "why": "why_new_set",
    "when": "sample_when",
    "how": "sample_how",
    "said_by": "said_by",
}
"""Field to the group of words that name what may stand in it."""

SAID_BY = ("person", "carer")


@dataclass(frozen=True)
class Field:
    """name: as a correction names it. now: what stands there, in words. options: value and words, where one is picked.

    kind: ``text``, ``number`` or ``time``; at: the instant of a time, where one stands there. signed: mostly below zero.
    unit: of a bare number that is typed there; ``now`` has its own.
    """

    name: str
    label: str
    now: str
    unit: str = ""
    options: tuple[tuple[str, str], ...] = ()
    kind: str = "text"
    at: datetime | None = None
    signed: bool = False


def fields_of(desk: Desk, fact: Fact) -> list[Field]:
    """Every field of this entry that a correction may name, its time last."""
    out: list[Field] = []
    for head in sorted(FIELDS.get(fact.kind, ()), key=_place):
        value = getattr(fact.body, head, None)
        if head == "control" and not _controlled(fact):
            continue
        if head in INSIDE:
            inner: dict[str, str] = value if isinstance(value, dict) else {}
            out += [_inside(desk, head, name, str(held)) for name, held in inner.items()]
        else:
            out.append(_plain(desk, fact, head, value))
    return [*out, _time(desk, "at", say("web.entry.field.at"), fact.at)]


def _controlled(fact: Fact) -> bool:
    """Whether this is a test that may need a look at what the reagent does before the carbon."""
    body = fact.body
    return isinstance(body, Measured) and (body.quantity, body.place) == (QUANTITY, CONTROLLED_AT)


def _time(desk: Desk, name: str, label: str, at: datetime | None) -> Field:
    now = at.astimezone(ZoneInfo(desk.now.zone)).strftime("%Y-%m-%d %H:%M") if at is not None else ""
    return Field(name, label, now, kind="time", at=at)


def time_near(typed: str, field: Field, zone: str) -> str:
    """A typed time as a correction reads it. One without a day means the day on which it is nearest to what stood.

    Anything else than ``05:36`` stays as typed.
    """
    if field.at is None or not CLOCK.fullmatch(typed.strip()):
        return typed
    hours, minutes = map(int, typed.strip().split(":"))
    stood = field.at.astimezone(ZoneInfo(zone))
    same_day = stood.replace(hour=hours, minute=minutes, second=0, microsecond=0)
    days = [same_day + timedelta(days=shift) for shift in (-1, 0, 1)]
    return min(days, key=lambda day: abs(elapsed(stood, day))).isoformat()


FIRST = ("value", "answer", "option", "code", "lot", "expiry", "what", "amount", "unit", "symptom")
"""Fields in the order in which a slip is likely; the others come behind."""


def _place(name: str) -> tuple[int, str]:
    return (FIRST.index(name) if name in FIRST else len(FIRST), name)


def _inside(desk: Desk, head: str, name: str, held: str) -> Field:
    full = f"{head}.{name}"
    if head == "values":
        unit = unit_words(name, desk.rulebook)
        signed = bool(unit) and desk.rulebook.quantity(name).sign == "negative"
        now = kept_words(name, held, unit)
        beside = field_unit(desk.rulebook, name)
        return Field(full, named("quantity", name), now, beside, kind="number", signed=signed)
    if head == "lines":
        now = line_value(name, held, desk.rulebook)
        return Field(full, named("line", name), now, _line_unit(desk, name))
    if head == "times":
        return _time(desk, full, named("sheet.time", name), instant(held))
    return Field(full, say("web.entry.why_missing", what=named("quantity", name)), held)


def _plain(desk: Desk, fact: Fact, head: str, value: Any) -> Field:
    body = fact.body
    label = say(f"web.entry.field.{head}")
    if isinstance(body, Measured) and head == "value":
        return _value(desk, body)
    if isinstance(body, Answer) and head == "answer":
        return _picked(head, label, body.answer, _options(desk, body.step, body.question), body.question)
    if isinstance(body, Choice) and head == "option":
        return _picked(head, label, body.option, _options(desk, body.step, body.name), body.name)
    if isinstance(body, Reading) and head == "when":
        other = say("web.reading.when_other")
        known = tuple((one, when_words(one)) for one in known_names(desk))
        now = when_words(body.when) if body.when else other
        return Field(head, say("web.reading.when"), now, options=(*known, (ANOTHER, other)))
    if isinstance(value, bool):
        yes_no = (("true", say("web.entry.yes")), ("false", say("web.entry.no")))
        return Field(head, label, dict(yes_no)[str(value).lower()], options=yes_no)
    allowed = PICKED.get((fact.kind, head), SAID_BY if head == "said_by" else ())
    if allowed:
        pairs = tuple((one, _word(fact.kind, head, one)) for one in allowed if one)
        return Field(head, label, _word(fact.kind, head, str(value)) if value else "", options=pairs)
    if head in ("started_at", "ended_at"):
        return _time(desk, head, label, instant(str(value or "")))
    return Field(head, label, str(value or ""), kind="number" if head == "amount" else "text")


def _value(desk: Desk, body: Measured) -> Field:
    label = place_words(body.quantity, body.place)
    known = {q.id: q for q in desk.rulebook.quantities()}
    words = known[body.quantity].words if body.quantity in known and body.place != SETTING else ()
    if words:
        return _picked("value", label, body.value, tuple(words), body.quantity)
    shown = f"<{body.value} {body.unit}" if body.below else kept_words(body.quantity, body.value, body.unit)
    beside = _line_unit(desk, body.quantity) if body.place == SETTING else ""
    return Field("value", label, shown, beside or field_unit(desk.rulebook, body.quantity), kind="number")


def _line_unit(desk: Desk, name: str) -> str:
    """The unit of a bare number of a line, where the household chooses it."""
    known = next((line for line in desk.rulebook.lines() if line.id == name), None)
    return typed_unit(desk.rulebook, known) if known is not None and choice_of(known) else ""


def _picked(name: str, label: str, now: str, options: tuple[str, ...], group: str) -> Field:
    pairs = tuple((one, option_words(group, one)) for one in options)
    return Field(name, label, option_words(group, now) if now else "", options=pairs)


def _options(desk: Desk, step: str, name: str) -> tuple[str, ...]:
    return tuple(desk.procedure.step(step).options.get(name, ())) if desk.procedure.has(step) else ()


def _word(kind: str, head: str, value: str) -> str:
    group = "why_by_hand" if kind == "blood_by_hand" and head == "why" else WORDS.get(head, head)
    key = f"{group}{value}" if group.endswith("_") else f"{group}.{value}"
    return say(key) if has_text(key) else value
