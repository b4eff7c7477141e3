"""The short forms: an event, something given, what the unit said, what opens checks again."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from ebbwell.core.text import say
from ebbwell.deeds.medicines import ordered_medicines
from ebbwell.deeds.night import give, note_event
from ebbwell.deeds.open_calls import open_calls
from ebbwell.deeds.orders import advise
from ebbwell.deeds.person import on_dialysis, say_symptom
from ebbwell.deeds.setup import happened
from ebbwell.journal.kinds.night import SYMPTOMS
from ebbwell.journal.kinds.orders import OUTCOMES, UNANSWERED
from ebbwell.papers.open_calls import call_lines
from ebbwell.papers.spoken import finding_words
from ebbwell.papers.warned import call_is_open, symptoms_said
from ebbwell.papers.words import day, line_words, step_words
from ebbwell.procedure.model import REOPENERS
from ebbwell.web.pages.happened.asks import Ask, ShortForm, Typed, picks, when, words_of
from ebbwell.web.visit import Visit

ALARMS = (
    "arterial_low",
    "arterial_zero",
    "venous_high",
    "venous_low",
    "air",
    "blood_leak",
    "conductivity",
    "temperature",
    "membrane",
    "water",
    "power",
    "wet_sensor",
    "heparin_pump",
    "machine_fault",
)
"""Kinds of machine alarm. Source: practice:d1."""

SEEN = ("needle_moved", "line_apart", "clot_seen", "swelling", "other")
"""What can be seen at the arm and the set. Source: practice:d2."""

GIVEN = {"saline": "mL", "drink": "mL", "medicine": "", "other": ""}
"""What can be given, and the unit where there is but one."""


def _saved(entries: tuple[str, ...]) -> str:
    return f"/happened/kept/{entries[0]}"


def _event_asks(visit: Visit) -> tuple[Ask, ...]:
    groups = (
        (say("web.happened.group.person"), picks("symptom", SYMPTOMS[:-1])),
        (say("web.happened.group.seen"), picks("web.happened.seen", SEEN)),
        (say("web.happened.group.alarm"), picks("web.happened.alarm", ALARMS)),
    )
    return (
        Ask("what", "pick", say("web.happened.event.what"), groups=groups, need="web.happened.event.need"),
        words_of("web.happened.event.words"),
        Ask("done", "words", say("web.happened.event.done")),
        Ask(
            "said_by",
            "pick",
            say("web.happened.event.said_by"),
            picks("web.happened.said_by", ("carer", "person")),
            chosen="person" if on_dialysis(visit.desk) else "carer",
        ),
        when(),
    )


def event_words(what: str) -> str:
    """A picked event that is no symptom, as it stands in the record."""
    if what in ALARMS:
        return say("web.happened.alarm_of", what=say(f"web.happened.alarm.{what}"))
    return say(f"web.happened.seen.{what}")


def _event(visit: Visit, typed: Typed) -> str | None:
    what, key = typed.text("what"), visit.typed.get("key")
    common: dict[str, Any] = {"words": typed.text("words"), "at": typed.at()}
    if what in SYMPTOMS and typed.text("said_by") == "person" and not typed.text("done"):
        done = visit.do(say_symptom, key=key, symptom=what, **common)
    else:
        done = visit.do(
            note_event,
            key=key,
            what=what if what in SYMPTOMS else event_words(what),
            symptom=what if what in SYMPTOMS else "",
            done=typed.text("done"),
            said_by=typed.text("said_by") or "carer",
            **common,
        )
    return _saved(done.entries) if done else None


def _given_asks(_: Visit) -> tuple[Ask, ...]:
    return (
        Ask(
            "what",
            "pick",
            say("web.happened.given.what"),
            picks("web.happened.given.kind", GIVEN),
            need="web.happened.given.need",
        ),
        Ask("name", "line", say("web.happened.given.name"), how=say("web.happened.given.name_how")),
        Ask("amount", "number", say("web.happened.given.amount"), need="web.happened.given.need_amount"),
        Ask("unit", "line", say("web.happened.given.unit"), how=say("web.happened.given.unit_how")),
        Ask("ordered_by", "line", say("web.happened.given.by"), how=say("web.happened.given.by_how")),
        words_of(),
        when(),
    )


def _ordered(visit: Visit) -> Iterable[str]:
    return [line_words(line, value) for line, value in ordered_medicines(visit.desk)]


def _given(visit: Visit, typed: Typed) -> str | None:
    kind = typed.text("what")
    done = visit.do(
        give,
        field="amount",
        key=visit.typed.get("key"),
        what=typed.text("name") or ("" if kind in ("medicine", "other") else kind),
        typed=typed.text("amount"),
        unit=typed.text("unit") or GIVEN[kind],
        words=typed.text("words"),
        medicine=kind == "medicine",
        ordered_by=typed.text("ordered_by"),
        at=typed.at(),
    )
    return _saved(done.entries) if done else None


def _unit_asks(visit: Visit) -> tuple[Ask, ...]:
    desk = visit.desk
    about = [(v.step.id, step_words(desk.procedure, v.step.id)) for v in desk.views.values() if v.unit_may]
    spoken = visit.typed.get("outcome") not in UNANSWERED
    asks: tuple[Ask, ...] = (
        *_which_night(visit),
        Ask(
            "outcome",
            "pick",
            say("web.happened.unit.outcome"),
            picks("web.happened.unit.outcome", OUTCOMES),
            chosen="" if call_is_open(desk) else "said",
            need="enter.outcome",
        ),
        Ask("who", "line", say("web.happened.unit.who"), need="enter.who_advised" if spoken else ""),
        Ask("words", "words", say("web.happened.unit.words"), need="enter.words" if spoken else ""),
    )
    if not about:
        return asks
    return (
        *asks,
        Ask(
            "about",
            "pick",
            say("web.happened.unit.about"),
            (*about, ("none", say("web.happened.unit.none"))),
            chosen=visit.query.get("about", ""),
        ),
        Ask("allows", "pick", say("web.happened.unit.allows"), picks("web.happened.yes_no", ("yes", "no"))),
    )


def _which_night(visit: Visit) -> tuple[Ask, ...]:
    """Tonight, or an earlier night with a call that nothing on record answers."""
    calls = {call.treatment: call.night for call in open_calls(visit.desk) if call.treatment}
    if not calls:
        return ()
    nights = tuple(
        (treatment, say("web.happened.unit.night_of", day=day(on))) for treatment, on in calls.items()
    )
    tonight = ("tonight", say("web.happened.unit.tonight"))
    label = say("web.happened.unit.night")
    picked = visit.query.get("night", "")
    return (
        Ask("night", "pick", label, (*nights, tonight), chosen=picked, need="web.happened.unit.need_night"),
    )


def _unit_lines(visit: Visit) -> Iterable[str]:
    felt = [finding_words(found, visit.desk) for found in symptoms_said(visit.desk)]
    return [*felt, *(words for _, words in call_lines(visit.desk))]


def _unit(visit: Visit, typed: Typed) -> str | None:
    about = typed.text("about")
    named = () if about in ("", "none") else (about,)
    night = typed.text("night")
    earlier = night if night not in ("", "tonight") else None
    if earlier is not None:
        named = ()
    done = visit.do(
        advise,
        key=visit.typed.get("key"),
        treatment=earlier,
        who=typed.text("who"),
        words=typed.text("words"),
        about=named,
        outcome=typed.text("outcome"),
        allows=bool(named) and typed.text("allows") == "yes",
    )
    if done is None:
        return None
    return f"/sheet/{earlier}" if earlier is not None else _saved(done.entries)


def _reopens_asks(_: Visit) -> tuple[Ask, ...]:
    keys = [r for r in REOPENERS if r.startswith("happened:")]
    options = tuple((key.partition(":")[2], say(f"reopens.{key}")) for key in keys)
    return (
        Ask("what", "pick", say("web.happened.reopens.what"), options, need="web.happened.reopens.need"),
        words_of(),
    )


def _reopens(visit: Visit, typed: Typed) -> str | None:
    done = visit.do(happened, key=visit.typed.get("key"), what=typed.text("what"), words=typed.text("words"))
    return _saved(done.entries) if done else None


def _note_asks(_: Visit) -> tuple[Ask, ...]:
    return (Ask("words", "words", say("web.happened.note.words"), need="enter.note"), when())


def _note(visit: Visit, typed: Typed) -> str | None:
    done = visit.do(
        note_event,
        key=visit.typed.get("key"),
        what=say("web.happened.note.what"),
        words=typed.text("words"),
        at=typed.at(),
    )
    return _saved(done.entries) if done else None


FORMS = (
    ShortForm("event", _event_asks, _event),
    ShortForm("given", _given_asks, _given, _ordered),
    ShortForm("unit", _unit_asks, _unit, _unit_lines),
    ShortForm("reopens", _reopens_asks, _reopens),
    ShortForm("note", _note_asks, _note),
)
