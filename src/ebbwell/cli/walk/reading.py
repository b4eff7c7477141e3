"""A row of readings, field by field."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from ebbwell.cli.walk.prompt import Again, Back, Later, Leave, NotMeasured, Skip, Walk
from ebbwell.core.errors import EbbwellError
from ebbwell.core.numbers import plain
from ebbwell.core.text import say
from ebbwell.core.when import when_words
from ebbwell.deeds import night
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.readings_due import time_question
from ebbwell.papers.night_now import reading_fields
from ebbwell.papers.words import place_words as measured_label
from ebbwell.procedure.evidence import SETTING
from ebbwell.rulebook.own_units import entered, typed_unit
from ebbwell.rulebook.typed import Question, read_quantity, say_question
from ebbwell.state.fields import READING_ORDER as READING_ORDER

PRESSURES = re.compile(r"([0-9]{2,3}) ?/ ?([0-9]{2,3})")
"""Both blood pressures typed together."""

BODY_FIELDS = ("systolic", "diastolic", "pulse")
POSTURES = ("lying", "sitting", "standing")


def field_label(desk: Desk, quantity: str, place: str = "") -> str:
    """What is to be typed, with the unit it is read in."""
    definition = desk.rulebook.quantity(quantity)
    bare = typed_unit(desk.rulebook, definition)
    units = " / ".join(dict.fromkeys((bare, *definition.units) if bare else definition.units))
    words = measured_label(quantity, "" if place == SETTING else place)
    return f"{words[:1].upper()}{words[1:]} [{units}]" if units else words


def word_question(quantity: str, place: str = "") -> str:
    """What is asked of a value that is one of a few words."""
    words = measured_label(quantity, place)
    return say("walk.what_read", what=f"{words[:1].upper()}{words[1:]}")


class Row:
    """A row of values while it is typed: field to text as typed, fields left out, and what was confirmed.

    both: the lower pressure was typed together with the upper one.
    """

    def __init__(self, walk: Walk) -> None:
        self.walk = walk
        self.values: dict[str, str] = {}
        self.left: list[str] = []
        self.both = False
        self.sure: set[tuple[str, str, str]] = set()

    def take(self, quantity: str, typed: str) -> None:
        """Take a field's value. Raises what reading it raises, and then keeps the one before."""
        trial = {**self.values, quantity: typed}
        self._questions(trial, quantity)
        self.values = trial
        self.left = [name for name in self.left if name != quantity]

    def leave_out(self, quantity: str) -> None:
        """Leave a field empty; the reason is asked for all of them at the end."""
        self.values.pop(quantity, None)
        if quantity not in self.left:
            self.left.append(quantity)

    def open_questions(self, quantity: str) -> list[Question]:
        """What is still to be asked about a field, judged with the other fields typed so far."""
        return [
            question
            for question in self._questions(self.values, quantity)
            if (quantity, self.values[quantity], question.key) not in self.sure
        ]

    def confirm(self, quantity: str, question: Question) -> None:
        """The same value was typed once more."""
        self.sure.add((quantity, self.values[quantity], question.key))

    def every_key(self) -> tuple[str, ...]:
        """Keys of all that the row as it stands would be asked about."""
        return tuple(q.key for name in self.values for q in self._questions(self.values, name))

    def _questions(self, values: Mapping[str, str], quantity: str) -> tuple[Question, ...]:
        desk = self.walk.desk()
        read = {name: read_quantity(desk.rulebook, name, typed, None)[0] for name, typed in values.items()}
        asked = night.row_questions(desk, read, desk.now.at)
        return tuple(question for question in asked if dict(question.params).get("quantity") == quantity)


def read_row(walk: Walk, when: str) -> bool:
    """A row of values, field by field; an empty line leaves one out, and the reason is asked once for all of them.

    A value that can't be read, or that is asked about, is settled at its own field. Whatever turns away from the row
    keeps what was typed so far.
    """
    if when:
        walk.tell(when_words(when))
    walk.say("walk.reading_how")
    row = Row(walk)
    names = BODY_FIELDS if when in POSTURES else reading_fields(walk.desk())
    try:
        _fill(row, names)
        reason = walk.ask(say("walk.why_left_out")) if row.left else ""
        for quantity in names:
            _settle(row, quantity)
        when, sure = _called(walk, when)
    except (Again, Leave, Later, Skip, Back, KeyboardInterrupt):
        if row.values:
            words = say("walk.row_broken_off")
            walk.do(night.read, values=row.values, words=words, sure=row.every_key())
            walk.say("walk.row_kept")
        raise
    inputs: dict[str, Any] = {"values": row.values, "missing": dict.fromkeys(row.left, reason), "when": when}
    return walk.do(night.read, **inputs, sure=(*row.every_key(), *sure)) is not None


def _called(walk: Walk, when: str) -> tuple[str, tuple[str, ...]]:
    """What the row is called, and the key of the question that was answered, where it is due at another time."""
    desk = walk.desk()
    for question in time_question(desk, when, desk.now.at):
        options = [("keep", say("walk.keep_as", reading=when_words(when))), ("other", say("walk.keep_other"))]
        if walk.pick(say_question(question), options) == "other":
            return "", ()
        return when, (question.key,)
    return when, ()


def _fill(row: Row, names: Sequence[str]) -> None:
    place = 0
    while place < len(names):
        try:
            _fill_one(row, names[place], names)
        except Back:
            place -= 2 if row.both and names[place - 1] == "diastolic" else 1
            if place < 0:
                raise
        else:
            place += 1


def _fill_one(row: Row, quantity: str, names: Sequence[str]) -> None:
    """One field; ``138/76`` at the upper pressure fills the lower one too."""
    walk = row.walk
    if quantity == "diastolic" and row.both:
        _settle(row, quantity)
        return
    while True:
        try:
            typed = walk.ask(field_label(walk.desk(), quantity), empty=True)
        except NotMeasured:
            typed = ""
        try:
            if not typed:
                row.leave_out(quantity)
                return
            _take(row, quantity, typed, names)
        except EbbwellError as why:
            walk.tell_error(why)
            continue
        _settle(row, quantity)
        return


def _take(row: Row, quantity: str, typed: str, names: Sequence[str]) -> None:
    pair = PRESSURES.fullmatch(typed)
    if quantity != "systolic" or pair is None or "diastolic" not in names:
        row.both = row.both and quantity != "systolic"
        row.take(quantity, typed)
        echo(row.walk, quantity, typed)
        return
    row.take("systolic", pair[1])
    row.take("diastolic", pair[2])
    row.both = True
    row.walk.say("walk.both_taken", upper=pair[1], lower=pair[2])


def echo(walk: Walk, quantity: str, typed: str) -> None:
    """Say a value back in the unit it is kept in, where that isn't what was typed."""
    book = walk.desk().rulebook
    value, below, unit = read_quantity(book, quantity, typed, None)
    shown = f"{'<' if below else ''}{plain(value)}"
    if shown != typed.strip():
        kept, before = f"{shown} {unit}".strip(), entered(book, quantity, typed)
        walk.say("walk.taken", value=f"{before} = {kept}" if before else kept)


def _settle(row: Row, quantity: str) -> None:
    """Ask what is to be asked about a value, until it is typed the same again or another one is."""
    walk = row.walk
    while quantity in row.values:
        questions = row.open_questions(quantity)
        if not questions:
            return
        try:
            again = walk.ask(f"{say_question(questions[0])}\n{say('walk.type_again')}")
        except NotMeasured:
            row.leave_out(quantity)
            return
        if again == row.values[quantity]:
            row.confirm(quantity, questions[0])
            continue
        try:
            row.take(quantity, again)
        except EbbwellError as why:
            walk.tell_error(why)
