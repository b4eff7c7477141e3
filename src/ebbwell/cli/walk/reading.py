"""A row of readings, field by field."""

from __future__ import annotations

from collections.abc import Mapping

from ebbwell.cli.walk.prompt import Again, Leave, NotMeasured, Walk
from ebbwell.core.errors import InputError
from ebbwell.core.text import say
from ebbwell.deeds import night
from ebbwell.deeds.desk import Asked, Desk
from ebbwell.papers.words import place_words as measured_label
from ebbwell.procedure.evidence import SETTING
from ebbwell.rulebook.typed import check_typed, read_quantity, say_question
from ebbwell.state.fields import READING_ORDER as READING_ORDER
from ebbwell.state.fields import field_order
from ebbwell.state.own_past import recent

BODY_FIELDS = ("systolic", "diastolic", "pulse")
POSTURES = ("lying", "sitting", "standing")


def field_label(desk: Desk, quantity: str, place: str = "") -> str:
    """What is to be typed, with the unit it is read in."""
    definition = desk.rulebook.quantity(quantity)
    units = " / ".join(definition.units) or definition.unit
    words = measured_label(quantity, "" if place == SETTING else place)
    return f"{words[:1].upper()}{words[1:]} [{units}]" if units else words


def read_row(walk: Walk, when: str) -> bool:
    """A row of values, field by field; an empty line leaves one out, and the reason is asked once for all of them."""
    desk = walk.desk()
    if when:
        walk.tell(say(f"when.{when}"))
    walk.say("walk.reading_how")
    values: dict[str, str] = {}
    left: list[str] = []
    try:
        for quantity in BODY_FIELDS if when in POSTURES else field_order(desk.standing):
            typed = _read_field(walk, desk, quantity)
            if typed:
                values[quantity] = typed
            else:
                left.append(quantity)
        reason = walk.ask(say("walk.why_left_out")) if left else ""
    except (Again, Leave):
        if values:
            walk.do(night.read, values=values, words=say("walk.row_broken_off"), sure=_all_keys(walk, values))
        raise
    return keep_reading(walk, values, dict.fromkeys(left, reason), when)


def _all_keys(walk: Walk, values: Mapping[str, str]) -> tuple[str, ...]:
    """Keys of every question that a row broken off would raise: it is kept as typed, marked as not asked about."""
    sure: tuple[str, ...] = ()
    desk = walk.desk()
    read = {name: read_quantity(desk.rulebook, name, typed, None)[0] for name, typed in values.items()}
    for name, value in read.items():
        others = {other: v for other, v in read.items() if other != name}
        own = recent(desk.past, name, before=desk.now.at)
        sure += tuple(q.key for q in check_typed(desk.rulebook, name, value, own=own, others=others))
    return sure


def _read_field(walk: Walk, desk: Desk, quantity: str) -> str:
    while True:
        try:
            typed = walk.ask(field_label(desk, quantity), empty=True)
            if typed:
                read_quantity(desk.rulebook, quantity, typed, None)
        except NotMeasured:
            return ""
        except InputError as why:
            walk.tell_error(why)
            continue
        return typed


def keep_reading(walk: Walk, values: dict[str, str], missing: Mapping[str, str], when: str) -> bool:
    """Keep a row; each question is about one field, answered by typing that field again."""
    confirmed: set[tuple[str, str, str]] = set()
    while True:
        sure: tuple[str, ...] = ()
        try:
            for _ in range(len(values) * 2 + 1):
                try:
                    done = walk.do(night.read, values=values, missing=missing, when=when, sure=sure)
                except Asked as asked:
                    marks = [
                        (_about(q.params), values.get(_about(q.params), ""), q.key) for q in asked.questions
                    ]
                    if not confirmed.issuperset(marks):
                        raise
                    sure = (*sure, *(q.key for q in asked.questions))
                else:
                    return done is not None
        except Asked as asked:
            question = next(
                q
                for q in asked.questions
                if (_about(q.params), values.get(_about(q.params), ""), q.key) not in confirmed
            )
            quantity = _about(question.params)
            again = walk.ask(f"{say_question(question)}\n{say('walk.type_again')}")
            if again == values.get(quantity):
                confirmed.add((quantity, again, question.key))
            else:
                values[quantity] = again


def _about(params: tuple[tuple[str, str], ...]) -> str:
    return dict(params).get("quantity", "")
