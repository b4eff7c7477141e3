"""What of a night asks for a call to the unit, and what the unit said: carried on until one answers the other."""

from __future__ import annotations

from datetime import datetime

import msgspec

from ebbwell.journal.kinds.marks import Answer, Choice
from ebbwell.journal.kinds.night import Event
from ebbwell.journal.kinds.orders import Advice
from ebbwell.state.facts import Fact, Facts

SYMPTOMS_TO_CALL = frozenset(
    {"chest_pain", "breathless", "dizzy_faint", "bleeding", "cold_shivering", "itching_wheezing", "arm_pain"}
)
"""Symptoms that ask for what the unit taught, and a call, at once. Source: practice:d2."""

YES_TO_CALL = frozenset(
    {"breathless_chest_pain", "ill", "fever_feeling", "bleeding", "fall", "new_medicine", "operation"}
)
"""Questions before the night whose "yes" asks for a call. Source: practice:b."""

BLOOD_TO_CALL = frozenset({"clotted", "haemolysis", "chemical", "other"})
"""How blood looks that stays out, with a call to the unit. Source: practice:c, C7."""


class Told(msgspec.Struct, frozen=True, kw_only=True):
    """Something on record that asks for a call. kind: of the entry. name: symptom, question or choice; value: its word.

    step: that it belongs to, "" for none. said_by: ``person`` or ``carer``; by: id of who wrote it.
    """

    id: str
    kind: str
    name: str
    value: str
    step: str
    at: datetime
    said_by: str
    by: str


class Advised(msgspec.Struct, frozen=True, kw_only=True):
    """The unit said something, or was called in vain. about: steps it speaks to; () for the night as a whole."""

    at: datetime
    about: tuple[str, ...]


def told_of(facts: Facts) -> tuple[Told, ...]:
    """What the entries that stand say that asks for a call, oldest first."""
    called = any(_is(fact, "unit_called", ("called",)) for fact in facts.of("choice"))
    found = [
        told for kind in ("event", "answer", "choice") for f in facts.of(kind) if (told := _told(f, called))
    ]
    return tuple(sorted(found, key=lambda one: (one.at, one.id)))


def advice_of(facts: Facts) -> tuple[Advised, ...]:
    """Each word of the unit that stands on record; none of a call that nobody answered or made."""
    return _of_outcome(facts, "said")


def tried_of(facts: Facts) -> tuple[Advised, ...]:
    """Each call to the unit that nobody there answered."""
    return _of_outcome(facts, "no_answer")


def _of_outcome(facts: Facts, outcome: str) -> tuple[Advised, ...]:
    return tuple(
        Advised(at=f.at, about=f.body.about)
        for f in facts.of("advice")
        if isinstance(f.body, Advice) and f.body.outcome == outcome
    )


def _is(fact: Fact, name: str, options: tuple[str, ...]) -> bool:
    body = fact.body
    return isinstance(body, Choice) and body.name == name and body.option in options


def _told(fact: Fact, called: bool) -> Told | None:
    body = fact.body

    def told(name: str, value: str = "", step: str = "", said_by: str = "carer") -> Told:
        return Told(
            id=fact.id,
            kind=fact.kind,
            name=name,
            value=value,
            step=step,
            at=fact.at,
            said_by=said_by,
            by=fact.by,
        )

    if isinstance(body, Event) and body.symptom in SYMPTOMS_TO_CALL:
        return told(body.symptom, said_by=body.said_by)
    if isinstance(body, Answer) and body.question in YES_TO_CALL and body.answer == "yes":
        return told(body.question, body.answer, body.step, body.said_by)
    if (
        isinstance(body, Choice)
        and body.name == "blood_return"
        and body.option in BLOOD_TO_CALL
        and not called
    ):
        return told(body.name, body.option, body.step)
    return None
