"""One walker for every form: each field asked by its label, a slip told at its own field, nothing typed lost by it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from ebbwell.cli.walk.prescribe import Draft
from ebbwell.cli.walk.prompt import Back, Later, NotMeasured, Skip, Walk
from ebbwell.core.errors import EbbwellError
from ebbwell.core.text import say
from ebbwell.deeds.desk import Asked, Desk, Refused
from ebbwell.papers.water_asks import Ask
from ebbwell.rulebook.typed import say_question

Typed = dict[str, str]

NEEDED = (
    "water.words_needed",
    "water.pick_needed",
    "water.day_needed",
    "water.number_needed",
    "water.form_needed",
    "bloods.unit_needed",
    "bloods.year_needed",
)
"""What a form between nights says of a field that has to be filled."""

NOTHING = "-"
"""Typed to empty a field that something stands in."""


@dataclass(frozen=True)
class KeyForm:
    """A form at the keyboard.

    title: wording key. fields: what it asks, by what was typed so far. wrong: field to what can't be taken of it.
    deed and inputs: what keeps it, and with which inputs. by: who acts, "" for the one at the keyboard. held: what
    stands there already, which Enter leaves. sure: whether the deed asks about what is odd. blind: fields typed without
    sight of what stands in them, since they are a second typing. draft: what tells its draft from another's.
    """

    title: str
    fields: Callable[[Mapping[str, str]], list[Ask]]
    wrong: Callable[[Desk, Mapping[str, str], str], Mapping[str, EbbwellError]]
    deed: Callable[..., None]
    inputs: Callable[[Mapping[str, str]], dict[str, Any]]
    by: Callable[[Mapping[str, str]], str] = lambda _: ""
    held: Mapping[str, str] = field(default_factory=dict)
    sure: bool = True
    blind: frozenset[str] = frozenset()
    draft: str = ""


def walk_form(walk: Walk, form: KeyForm, draft: Draft) -> bool:
    """Ask a form from its first field to its last, then keep it. Whether it was kept.

    What was typed stays in the draft until then, so that leaving in the middle loses none of it.
    """
    walk.say(form.title)
    typed = draft.load()
    if typed:
        walk.say("form.resumed", count=len(typed))
    else:
        typed = dict(form.held)
    sure: tuple[str, ...] = ()
    _ask_from(walk, form, typed, draft, fresh=set(draft.load()))
    while True:
        wrong = _first_wrong(walk, form, typed)
        if wrong is not None:
            one, why = wrong
            walk.tell_error(why)
            _anew(walk, form, one, typed, draft)
            continue
        try:
            more: dict[str, Any] = {"sure": sure} if form.sure else {}
            done = walk.do(form.deed, by=form.by(typed), **form.inputs(typed), **more)
        except Asked as asked:
            sure = _sure(walk, form, asked, typed, draft, sure)
            continue
        if done is not None:
            draft.drop()
            walk.say("walk.kept")
        return done is not None


def _ask_from(walk: Walk, form: KeyForm, typed: Typed, draft: Draft, fresh: set[str]) -> None:
    """Ask each field in its order; those in ``fresh`` were answered before leaving."""
    asked = set(fresh)
    place = next((n for n, one in enumerate(form.fields(typed)) if one.name not in asked), -1)
    fields = form.fields(typed)
    while 0 <= place < len(fields):
        before, walk.turns = walk.turns, ("back",) if place else ()
        try:
            _field(walk, form, fields[place], typed)
            draft.save(typed)
            place += 1
        except Back:
            place = max(0, place - 1)
        finally:
            walk.turns = before
        fields = form.fields(typed)


def _field(walk: Walk, form: KeyForm, one: Ask, typed: Typed) -> None:
    """One field until it can be taken; what stood in it stays until another is typed."""
    while True:
        try:
            answer = _answer(walk, form, one, typed)
        except (Later, Skip, NotMeasured):
            walk.say("form.leave_empty")
            continue
        before = typed.get(one.name, "")
        typed[one.name] = answer
        why = form.wrong(walk.desk(), typed, one.name).get(one.name)
        if why is None or (not answer and not _needed(why)):
            return
        typed[one.name] = before if before != answer else ""
        walk.tell_error(why)


def _answer(walk: Walk, form: KeyForm, one: Ask, typed: Typed) -> str:
    stands = "" if one.name in form.blind else typed.get(one.name, "")
    label = f"{one.label} [{one.unit}]" if one.unit else one.label
    question = f"{label}\n{one.hint}" if one.hint else label
    if one.kind == "pick":
        without = {**typed, one.name: ""}
        why = form.wrong(walk.desk(), without, one.name).get(one.name)
        needed = why is not None and _needed(why)
        words = dict(one.options).get(stands, "")
        if words:
            key = "form.stands_pick" if needed else "form.stands_enter"
            return _picked(walk, f"{question}\n{say(key, value=words)}", one, stands, needed)
        told = question if needed else f"{question} {say('form.may_be_empty')}"
        return walk.pick(told, one.options, empty=not needed)
    told = f"{question}\n{say('form.stands_enter', value=stands)}" if stands else question
    answer = walk.ask(told, empty=True)
    if not answer:
        return stands
    return "" if answer == NOTHING else answer


def _picked(walk: Walk, question: str, one: Ask, stands: str, needed: bool) -> str:
    """What is picked where something stands already: Enter keeps it."""
    empty = [] if needed else [(NOTHING, say("form.empty"))]
    answer = walk.pick(question, [*one.options, *empty], empty=True)
    return "" if answer == NOTHING else answer or stands


def _needed(why: EbbwellError) -> bool:
    """Whether a field was found empty that has to be filled; not where another one may be filled instead."""
    return why.key.startswith(("enter.", "limit.", "number.")) or why.key in NEEDED


def _first_wrong(walk: Walk, form: KeyForm, typed: Typed) -> tuple[Ask, EbbwellError] | None:
    found = form.wrong(walk.desk(), typed, "")
    for one in form.fields(typed):
        if one.name in found:
            return one, found[one.name]
    return None


def _sure(
    walk: Walk, form: KeyForm, asked: Asked, typed: Typed, draft: Draft, sure: tuple[str, ...]
) -> tuple[str, ...]:
    """What was asked first, kept as typed; or the field that is to be typed anew, after which all is asked afresh."""
    words = "\n".join(say_question(question) for question in asked.questions)
    if walk.pick(words, (("yes", say("form.as_typed")), ("no", say("form.change_one")))) == "yes":
        return (*sure, *(question.key for question in asked.questions))
    options = [(one.name, one.label) for one in form.fields(typed)]
    name = walk.pick(say("form.which"), options)
    _anew(walk, form, next(one for one in form.fields(typed) if one.name == name), typed, draft)
    return ()


def _anew(walk: Walk, form: KeyForm, one: Ask, typed: Typed, draft: Draft) -> None:
    """One field once more; ``back`` leads to another field of the form."""
    before, walk.turns = walk.turns, ("back",)
    try:
        while True:
            try:
                _field(walk, form, one, typed)
                break
            except Back:
                options = [(each.name, each.label) for each in form.fields(typed)]
                name = walk.pick(say("form.which"), options)
                one = next(each for each in form.fields(typed) if each.name == name)
    finally:
        walk.turns = before
    draft.save(typed)


def tried(
    deed: Callable[..., None],
    inputs: Mapping[str, Any],
    desk: Desk,
    about: Mapping[str, str],
    else_of: str,
) -> Mapping[str, EbbwellError]:
    """What a deed would refuse of these inputs, by field; nothing is written, since the desk is only for looking.

    about: key of an error to the field that it is of; else_of: the field of any other. A refusal that belongs to no
    field, such as a night that is open, is left to the deed itself.
    """
    try:
        deed(desk, **inputs)
    except (Asked, Refused):
        return {}
    except EbbwellError as why:
        return {about.get(why.key, else_of): why}
    return {}
