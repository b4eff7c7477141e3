"""A row of readings in a form: its fields, what was typed, and keeping it; on a page of its own or among steps."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from ebbwell.core.errors import EbbwellError, InputError
from ebbwell.core.numbers import plain
from ebbwell.core.text import say
from ebbwell.deeds.desk import Done
from ebbwell.deeds.night import read
from ebbwell.papers.night_now import reading_fields
from ebbwell.papers.spoken import error_words
from ebbwell.papers.words import named
from ebbwell.procedure.evidence import same_value
from ebbwell.rulebook.own_units import field_unit
from ebbwell.rulebook.typed import Question, check_typed, read_quantity, say_question
from ebbwell.web.visit import Trouble, Visit

WHY = ("asleep", "no_device", "cannot_read", "not_asked", "not_written")
"""Reasons that can be picked for a value that isn't measured."""

BEFORE_OFF, LYING = "before_off", "lying"
BODY_ROWS = (LYING, "sitting", "standing")
BODY_FIELDS = ("systolic", "diastolic", "pulse")
"""Rows taken of the person alone, and their fields. Source: practice:c, C3 and C9."""

PRESSURE = "pressure"
BOTH = ("systolic", "diastolic")
"""The two blood pressures are typed in one field, as they are read and written: 131/74."""

WHEN = "when"
"""The form's field that says which reading a row is."""

SIGN = "minus"
"""The question that offers the same figure with the other sign."""

TAKE, TAKEN = "take", "taken"
"""The button that takes it, and the hidden field that goes on saying so."""

_BOTH = re.compile(r"(\d{1,3})\s*[/.,:\- ]\s*(\d{1,3})")
"""A telephone's number keys have no slash: a point between the two does as well, since neither has decimals."""

_UPPER = re.compile(r"(\d{1,3})\s*/\s*-?")
"""Only the upper one could be read."""

ROUNDS = 4
"""A field raises at most two questions, so a row is kept or asked about after this many tries."""


@dataclass(frozen=True)
class RowField:
    """One field. name: in the form, without the row's prefix. quantities: what it holds, in order.

    signed: what it holds is mostly below zero.
    """

    name: str
    label: str
    unit: str
    quantities: tuple[str, ...]
    signed: bool = False


@dataclass(frozen=True)
class Row:
    """One row. when: which reading of the night it is, "" for another. prefix: before each of its names in the form."""

    visit: Visit
    when: str = ""
    prefix: str = ""

    @property
    def fields(self) -> tuple[RowField, ...]:
        """The household's fields in its order, or those of the person alone."""
        names = self._names()
        both = all(name in names for name in BOTH)
        book = self.visit.desk.rulebook
        made = []
        for name in names:
            if both and name == BOTH[1]:
                continue
            if both and name == BOTH[0]:
                label = say("web.blood_pressure")
                made.append(RowField(PRESSURE, label, field_unit(book, name), BOTH))
            else:
                label = named("quantity", name)
                label = label[:1].upper() + label[1:]
                signed = book.quantity(name).sign == "negative"
                made.append(RowField(name, label, field_unit(book, name), (name,), signed))
        return tuple(made)

    def _names(self) -> tuple[str, ...]:
        """The quantities asked for.

        The last row with the pump running leaves out what the steps of coming off ask beside it, such as the pressure
        lying: nobody types the same value twice. Source: practice:c, C1 to C3.
        """
        if self.when in BODY_ROWS:
            return BODY_FIELDS
        names = tuple(reading_fields(self.visit.desk))
        if self.when != BEFORE_OFF:
            return names
        steps = [s for s in self.visit.desk.procedure.steps if s.stage == "come_off"]
        asked = {e.name for s in steps for e in s.evidence if e.form in ("measured", "reading")}
        beside = asked | (set(BODY_FIELDS) if LYING in asked else set())
        return tuple(name for name in names if name not in beside)

    def text(self, name: str) -> str:
        """What was typed or picked, without the blanks around it; with the other sign where that was pressed."""
        text = self.visit.typed.get(self.prefix + name, "").strip()
        pressed = self._mark(self.visit.typed.get(TAKE, ""))
        return pressed[2] if pressed is not None and pressed[:2] == (name, text) else text

    def _mark(self, sent: str) -> tuple[str, str, str] | None:
        """Quantity, what was typed and what was taken for it, from a button or a hidden field of this row."""
        parts = sent.removeprefix(self.prefix).split("|")
        return (parts[0], parts[1], parts[2]) if sent.startswith(self.prefix) and len(parts) == 3 else None

    @property
    def taken(self) -> dict[str, tuple[str, str]]:
        """Quantity to what was typed and to the same figure with the other sign, where that one was taken."""
        sent = [self.visit.typed.get(TAKE, ""), *self.visit.many.get(f"{self.prefix}{TAKEN}", ())]
        marks = [mark for mark in map(self._mark, sent) if mark is not None]
        return {name: (typed, meant) for name, typed, meant in marks if self.text(name) == meant}

    @property
    def marks_taken(self) -> tuple[str, ...]:
        """What the form sends on while another field is still asked about."""
        return tuple(f"{self.prefix}{'|'.join((name, *both))}" for name, both in self.taken.items())

    @property
    def filled(self) -> bool:
        """Whether anything was typed, or a reason picked."""
        return any(self.text(f.name) or self.text(f"why.{f.name}") for f in self.fields) or bool(
            self.text("why")
        )

    def field_of(self, quantity: str) -> RowField:
        """The field that holds a quantity."""
        return next(f for f in self.fields if quantity in f.quantities)

    def values(self) -> dict[str, str]:
        """Quantity to what was typed. What can't be read or can't be so is told beside its field."""
        found: dict[str, str] = {}
        for f in self.fields:
            text = self.text(f.name)
            if not text:
                continue
            try:
                parts = _split(f, text)
                for quantity, typed in parts.items():
                    check_typed(
                        self.visit.desk.rulebook,
                        quantity,
                        read_quantity(self.visit.desk.rulebook, quantity, typed)[0],
                    )
            except EbbwellError as why:
                self.visit.troubles.append(Trouble(_about(f.label, error_words(why)), self.prefix + f.name))
            else:
                found |= parts
        return found

    def missing(self, values: Mapping[str, str]) -> dict[str, str]:
        """Why each empty field is empty: picked beside it, else for the whole row, else that it was left empty."""
        found: dict[str, str] = {}
        for f in self.fields:
            picked = self.text(f"why.{f.name}") or self.text("why")
            reason = reason_words(picked) if picked else say("web.reading.left_empty")
            found |= {quantity: reason for quantity in f.quantities if quantity not in values}
        return found if self.filled else {}

    def keep(self, *, at: datetime | None = None, words: str = "") -> bool:
        """Keep it, once each question was answered for just the value that it was asked about."""
        visit, before = self.visit, len(self.visit.troubles)
        values = self.values()
        if len(visit.troubles) > before:
            return False
        confirmed = self._confirmed()
        sure: tuple[str, ...] = ()
        for _ in range(len(values) * 2 + 1):
            done = visit.do(
                read,
                key=self.text("key") or None,
                values=values,
                missing=self.missing(values),
                typed={name: typed for name, (typed, _) in self.taken.items() if name in values},
                words=words,
                when=self.when,
                at=at,
                sure=sure,
            )
            if done is not None:
                return self._as_kept(done, values)
            asked = visit.troubles.pop()
            if not asked.raised:
                visit.troubles.append(asked)
                return False
            visit.troubles += self._asked_of(asked.raised, values, confirmed)
            if len(visit.troubles) > before:
                return False
            sure = tuple(dict.fromkeys((*sure, *(q.key for q in asked.raised))))
        return False

    def _asked_of(
        self, raised: tuple[Question, ...], values: Mapping[str, str], confirmed: frozenset[str]
    ) -> list[Trouble]:
        """What is still to be asked, one box a field. Whether a minus was meant is asked before anything else of it."""
        boxes: dict[str, list[tuple[Question, str]]] = {}
        for question in raised:
            quantity = dict(question.params).get("quantity", WHEN)
            value = f"{self.when} {self.text('at')}" if quantity == WHEN else values.get(quantity, "")
            mark = f"{quantity}|{value}|{question.key}"
            if mark not in confirmed:
                name = WHEN if quantity == WHEN else self.field_of(quantity).name
                boxes.setdefault(name, []).append((question, mark))
        made = []
        for name, box in boxes.items():
            signs = [(q, mark) for q, mark in box if q.key == SIGN]
            shown = signs or box
            made.append(
                Trouble(
                    "",
                    self.prefix + name,
                    questions=tuple(say_question(q) for q, _ in shown),
                    sure=tuple(mark for _, mark in shown),
                    offers=tuple(o for q, mark in signs if (o := self._offer(q, mark)) is not None),
                )
            )
        return made

    def _offer(self, question: Question, mark: str) -> tuple[str, str] | None:
        """What a button that takes the other sign sends, and its words; the figure is the same one."""
        if question.suggestion is None:
            return None
        quantity, typed, _ = mark.split("|")
        meant = plain(question.suggestion)
        unit = self.visit.desk.rulebook.quantity(quantity).unit
        figure = f"{meant} {unit}".replace("-", "\N{MINUS SIGN}")
        return f"{self.prefix}{quantity}|{typed}|{meant}", say("web.take_offer", value=figure)

    def _as_kept(self, done: Done, values: Mapping[str, str]) -> bool:
        """Whether what came is on record. A form that came before with other values keeps nothing, and says so."""
        fact = self.visit.desk.treatment.fact(done.entries[0]) if done.repeated else None
        if fact is None:
            return True
        held = getattr(fact.body, "values", {})
        book = self.visit.desk.rulebook
        other = [q for q in values if not _same(plain(read_quantity(book, q, values[q])[0]), held.get(q, ""))]
        if not other:
            return True
        changed = [f.name for f in self.fields if set(f.quantities) & set(other)]
        why = error_words(InputError("web.marks.saved_before"))
        self.visit.troubles.append(Trouble(why, self.prefix + (changed[0] if changed else "")))
        return False

    def _confirmed(self) -> frozenset[str]:
        """Answers for this row: those of the field whose button was pressed, and those given before."""
        pressed = self.visit.typed.get("as_typed", "").removeprefix(self.prefix)
        named = {q for f in self.fields if f.name == pressed for q in f.quantities}
        named |= {WHEN} if pressed == WHEN else set()
        marks = self.visit.many.get(f"{self.prefix}sure", ())
        return frozenset(
            [m for m in marks if m.partition("|")[0] in named]
            + list(self.visit.many.get(f"{self.prefix}answered", ()))
        )

    @property
    def answered(self) -> tuple[str, ...]:
        """Answers that go on standing while another field is still asked about."""
        return tuple(sorted(self._confirmed()))

    def keep_late(self, *, at: datetime | None, words: str, made_under: str) -> bool:
        """Keep a row that a screen held back: as typed, its questions unasked and marked so, the unreadable as words."""
        visit = self.visit
        values = self.values()
        told = [words, say("web.reading.sent_later")]
        for t in visit.troubles:
            f = next(f for f in self.fields if self.prefix + f.name == t.field)
            told.append(say("web.reading.as_words", name=f.label, typed=self.text(f.name)))
        visit.troubles.clear()
        sure: tuple[str, ...] = ()
        for _ in range(ROUNDS):
            done = visit.do(
                read,
                key=self.text("key") or None,
                values=values,
                missing=self.missing(values),
                words=" ".join(w for w in told if w),
                when=self.when,
                at=at,
                sure=sure,
                made_under=made_under,
            )
            if done is not None:
                return self._as_kept(done, values)
            raised = [q for t in visit.troubles for q in t.raised]
            if not raised:
                return False
            visit.troubles.clear()
            sure = tuple(dict.fromkeys((*sure, *(q.key for q in raised))))
        return False


def _same(typed: str, held: str) -> bool:
    return same_value(typed.replace(",", ".").replace("\N{MINUS SIGN}", "-"), held)


def _split(f: RowField, text: str) -> dict[str, str]:
    if len(f.quantities) == 1:
        return {f.quantities[0]: text}
    upper, both = _UPPER.fullmatch(text), _BOTH.fullmatch(text)
    if upper is not None:
        return {f.quantities[0]: upper[1]}
    if both is None:
        raise InputError("web.reading.both", typed=text[:40])
    return dict(zip(f.quantities, both.groups(), strict=True))


def _about(label: str, words: str) -> str:
    """What is wrong, with the label of its field before it where the words don't name it."""
    return words if label.casefold() in words.casefold() else f"{label}: {words}"


def reason_words(picked: str) -> str:
    """A picked reason as it stands in the record; other words as they are."""
    return say(f"web.reading.because.{picked}") if picked in WHY else picked
