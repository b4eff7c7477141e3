"""A reading: the household's fields in its order, one Save; what isn't measured with its reason."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from starlette.responses import Response

from ebbwell.core.errors import EbbwellError
from ebbwell.core.text import has_text, say
from ebbwell.deeds.night import read
from ebbwell.deeds.readings_due import due_readings
from ebbwell.papers.night_now import reading_fields
from ebbwell.papers.spoken import error_words
from ebbwell.papers.words import named
from ebbwell.rulebook.typed import check_typed, read_quantity, say_question
from ebbwell.state.night import Phase
from ebbwell.web.pages.reading.later import made_at
from ebbwell.web.times import past_time
from ebbwell.web.visit import ALL, HOME, Trouble, Visit, Way

WHY = ("asleep", "no_device", "cannot_read", "not_asked")
"""Reasons that can be picked for a value that isn't measured."""

BODY_ROWS = ("lying", "sitting", "standing")
BODY_FIELDS = ("systolic", "diastolic", "pulse")
"""Rows taken of the person alone, and their fields. Source: practice:c, C3 and C9."""

OFF = (Phase.OFF, Phase.SAFE)

ROUNDS = 4
"""A field raises at most two questions, so a row is kept or asked about after this many tries."""


def show(visit: Visit) -> Response:
    """The empty form. Measured values are never filled in."""
    return _page(visit)


def _page(visit: Visit) -> Response:
    desk = visit.desk
    due = [r for r in due_readings(desk) if not r.given]
    picked = visit.typed.get("when", visit.query.get("when", ""))
    names = list(dict.fromkeys([*([picked] if picked else []), *(r.name for r in due)]))
    return visit.show(
        "pages/reading/page.html",
        fields=[(name, desk.rulebook.quantity(name).unit) for name in _fields(visit, picked)],
        body=picked in BODY_ROWS,
        back=_back(visit, picked),
        whens=names,
        picked=picked,
        reasons=WHY,
        typed=visit.typed,
        draft=f"reading-{picked or 'row'}",
    )


def take(visit: Visit) -> Response:
    """Keep the row, ask about odd values, or say what can't be read. What a screen held back is kept without asking."""
    if visit.typed.get("queued"):
        return _take_queued(visit)
    values = {name: visit.typed[name].strip() for name in _fields(visit) if visit.typed.get(name, "").strip()}
    at = _time(visit)
    if not _readable(visit, values) or visit.troubles:
        return _page(visit)
    when = visit.typed.get("when", "")
    done = _keep(visit, values, missing=_missing(visit, values), when=when, at=at)
    return visit.go(_back(visit, when), kept=f"reading-{when or 'row'}") if done else _page(visit)


def _fields(visit: Visit, when: str | None = None) -> tuple[str, ...]:
    named = visit.typed.get("when", "") if when is None else when
    return BODY_FIELDS if named in BODY_ROWS else reading_fields(visit.desk)


def _back(visit: Visit, when: str) -> str:
    """Where to go from a row: to coming off where it belongs there, else to the night."""
    return "/off" if when in (*BODY_ROWS, "before_off") or visit.desk.phase in OFF else "/night"


def _time(visit: Visit) -> datetime | None:
    try:
        return past_time(visit.typed.get("at", ""), visit.desk.now)
    except EbbwellError as why:
        visit.troubles.append(Trouble(error_words(why), "at"))
        return None


def _readable(visit: Visit, values: Mapping[str, str]) -> bool:
    """Whether each value can be read and can be so; what can't is told beside its field."""
    book = visit.desk.rulebook
    for name, typed in values.items():
        try:
            check_typed(book, name, read_quantity(book, name, typed, None)[0])
        except EbbwellError as why:
            visit.troubles.append(Trouble(_about(name, error_words(why)), name))
    return not visit.troubles


def _about(quantity: str, words: str) -> str:
    """What is wrong, with the label of its field before it where the words don't name it."""
    label = named("quantity", quantity)
    return words if label.casefold() in words.casefold() else f"{label[:1].upper()}{label[1:]}: {words}"


def _missing(visit: Visit, values: Mapping[str, str]) -> dict[str, str]:
    """Why each empty field is empty: picked beside it, else for the whole row, else that nothing was entered."""
    whole = visit.typed.get("why", "")
    found = {}
    for name in _fields(visit):
        if name not in values:
            picked = visit.typed.get(f"why.{name}", "") or whole
            found[name] = reason_words(picked) if picked else say("web.reading.left_empty")
    return found if values or whole or any(visit.typed.get(f"why.{n}") for n in found) else {}


def reason_words(picked: str) -> str:
    """A picked reason as it reads; other words as they are."""
    return say(f"web.reading.why.{picked}") if has_text(f"web.reading.why.{picked}") else picked


def _keep(
    visit: Visit, values: Mapping[str, str], *, missing: Mapping[str, str], when: str, at: datetime | None
) -> bool:
    """Keep the row once every question was answered for just the value that it was asked about."""
    confirmed = set(visit.sure)
    sure: tuple[str, ...] = ()
    for _ in range(len(values) * 2 + 1):
        done = visit.do(
            read,
            key=visit.typed.get("key"),
            values=values,
            missing=missing,
            words=visit.typed.get("words", ""),
            when=when,
            at=at,
            sure=sure,
        )
        if done is not None:
            return True
        asked = [t for t in visit.troubles if t.raised]
        if not asked:
            return False
        visit.troubles = [t for t in visit.troubles if not t.raised]
        for question in asked[-1].raised:
            name = dict(question.params).get("quantity", "")
            mark = f"{name}|{values.get(name, '')}|{question.key}"
            if mark not in confirmed:
                visit.troubles.append(
                    Trouble("", name, questions=(say_question(question),), sure=(mark,), raised=(question,))
                )
        if visit.troubles:
            _carry(visit, values, confirmed)
            return False
        sure = tuple(dict.fromkeys((*sure, *(q.key for q in asked[-1].raised))))
    return False


def _carry(visit: Visit, values: Mapping[str, str], confirmed: set[str]) -> None:
    """Answers given before go on standing for the values that they were given for."""
    first = visit.troubles[0]
    kept = tuple(m for m in sorted(confirmed) if m.split("|")[1] == values.get(m.split("|")[0]))
    visit.troubles[0] = Trouble(
        first.words, first.field, first.rows, first.questions, (*first.sure, *kept), first.lost, first.raised
    )


def _take_queued(visit: Visit) -> Response:
    """A row that was typed while the server was away: kept as typed, its questions unasked and marked so."""
    book = visit.desk.rulebook
    values, words = {}, [visit.typed.get("words", "").strip(), say("web.reading.sent_later")]
    for name in _fields(visit):
        typed = visit.typed.get(name, "").strip()
        if not typed:
            continue
        try:
            check_typed(book, name, read_quantity(book, name, typed, None)[0])
        except EbbwellError:
            words.append(say("web.reading.as_words", name=say(f"quantity.{name}"), typed=typed))
        else:
            values[name] = typed
    sure: tuple[str, ...] = ()
    for _ in range(ROUNDS):
        done = visit.do(
            read,
            key=visit.typed.get("key"),
            values=values,
            missing=_missing(visit, values),
            words=" ".join(w for w in words if w),
            when=visit.typed.get("when", ""),
            at=made_at(visit),
            sure=sure,
            made_under=visit.typed.get("made_under", ""),
        )
        if done is not None:
            return visit.go("/night")
        raised = [q for t in visit.troubles for q in t.raised]
        if not raised:
            break
        visit.troubles = []
        sure = tuple(dict.fromkeys((*sure, *(q.key for q in raised))))
    return _page(visit)


WAYS = (Way("GET", "/night/reading", show, ALL), Way("POST", "/night/reading", take, HOME))
