"""Calls of earlier nights that nothing answers yet, in words, for every screen."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from ebbwell.core.findings import name_fact
from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.open_calls import OpenCall, open_calls
from ebbwell.papers.words import Names, clock, day
from ebbwell.state.standing import people


def call_words(call: OpenCall, names: Names, zone: str) -> str:
    """One open call: ``On 26 April 2026: body temperature 38.2 C. ...``, with when the unit was called in vain."""
    words = {"day": day(call.night), "what": _what(call, names, zone)}
    if not call.tried:
        return say("call.open", **words)
    times = "; ".join(_on(at, call.night, zone) for at in call.tried)
    return say("call.open_tried", **words, tried=say("call.tried", at=times))


def _on(at: datetime, night: str, zone: str) -> str:
    """The clock time, with its date where that isn't the night's."""
    date = at.astimezone(ZoneInfo(zone)).date().isoformat()
    return clock(at, zone) if date == night else f"{day(date)} {clock(at, zone)}"


def _what(call: OpenCall, names: Names, zone: str) -> str:
    at = clock(call.at, zone) if call.at is not None else ""
    if call.kind == "measured":
        return say("call.measured", what=name_fact(call.name), value=call.value)
    if call.kind == "event":
        who = names.get(call.by, call.by)
        key = "call.felt" if call.said_by == "person" else "call.seen"
        return say(key, what=say(f"symptom.{call.name}"), who=who, at=at)
    if call.kind == "answer":
        return say("call.answer", question=say(f"ask.{call.name}"), at=at)
    return say("call.blood", look=say(f"option.{call.name}.{call.value}"), at=at)


def call_lines(desk: Desk) -> list[tuple[OpenCall, str]]:
    """Each open call with its words, newest night first."""
    calls = open_calls(desk)
    names = {person: one.name for person, one in people(desk.standing).items()} if calls else {}
    return [(call, call_words(call, names, desk.now.zone)) for call in calls]
