"""The prescription, typed line by line from the paper, and its second check; one line changed by phone."""

from __future__ import annotations

import json
from collections.abc import Iterable
from contextlib import nullcontext, suppress
from pathlib import Path

from ebbwell.cli.walk.give import read_date
from ebbwell.cli.walk.planning import WITH_UNIT
from ebbwell.cli.walk.prompt import Back, NotMeasured, Walk, in_a_row
from ebbwell.cli.walk.righting import ask_person
from ebbwell.core.errors import EbbwellError, UnitError
from ebbwell.core.text import has_text, say
from ebbwell.core.units import parse_unit
from ebbwell.deeds import orders, record
from ebbwell.journal.kinds.orders import LineAmended, Prescription, SecondCheck
from ebbwell.papers.words import line_value, line_words
from ebbwell.rulebook.model import LineDef, Rulebook
from ebbwell.rulebook.own_units import typed_unit
from ebbwell.rulebook.typed import read_line, say_question
from ebbwell.state.facts import Fact
from ebbwell.state.standing import people

HEAD = ("number", "giver", "valid_from")
"""What stands at the top of the paper, before its lines."""


class Draft:
    """Lines typed so far, in a small file beside the record, so that leaving in the middle loses none.

    Not kept beside an encrypted record, where it would lie about in plain text.
    """

    def __init__(self, path: Path | None) -> None:
        self.path = path

    def load(self) -> dict[str, str]:
        """The lines typed before; none where there is no draft or it can't be read."""
        if self.path is None or not self.path.exists():
            return {}
        try:
            kept = json.loads(self.path.read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return {}
        return {str(k): str(v) for k, v in kept.items()} if isinstance(kept, dict) else {}

    def save(self, lines: dict[str, str]) -> None:
        """Keep the lines typed so far, for their owner's eyes. A disk that is full costs typing, nothing else."""
        if self.path is not None:
            with suppress(OSError):
                self.path.touch(mode=0o600)
                self.path.write_text(json.dumps(lines, ensure_ascii=False), encoding="utf-8")

    def drop(self) -> None:
        """Let go of the draft."""
        if self.path is not None:
            self.path.unlink(missing_ok=True)


def transcribe(walk: Walk, draft: Draft) -> bool:
    """Type a whole prescription. Whether it was kept; it then waits for its second check."""
    with walk.row("walk.row.order") if draft.path is None else nullcontext():
        return _transcribe(walk, draft)


def _transcribe(walk: Walk, draft: Draft) -> bool:
    walk.say("walk.order_begin")
    typed = draft.load()
    if typed:
        walk.say("walk.order_resumed", count=len(typed))
    names = [*HEAD, *(line.id for line in walk.desk().rulebook.lines())]
    place = next((n for n, name in enumerate(names) if name not in typed), len(names))
    while place < len(names):
        name = names[place]
        try:
            answer = _head(walk, name) if name in HEAD else _line(walk, name, typed, first=True)
        except Back:
            place = max(0, _before(walk, names, place, typed))
            continue
        typed[name] = answer
        draft.save(typed)
        place += 1
    lines = {name: value for name, value in typed.items() if name not in HEAD and value}
    done = walk.do(
        orders.transcribe,
        number=typed["number"],
        giver=typed["giver"],
        valid_from=typed["valid_from"],
        lines=lines,
    )
    if done is None:
        draft.drop()
        return False
    draft.drop()
    walk.say("walk.order_kept")
    return True


def _before(walk: Walk, names: list[str], place: int, typed: dict[str, str]) -> int:
    """The place of the question asked before this one; lines that weren't asked are passed over."""
    while place > 0:
        place -= 1
        if names[place] in HEAD or _wanted(walk.desk().rulebook.line(names[place]), typed):
            return place
    return 0


def _head(walk: Walk, name: str) -> str:
    if name == "giver":
        return ask_person(walk, say("walk.order_giver"))
    if name != "valid_from":
        return walk.ask(say(f"walk.order_{name}"), about="why.order_head")
    while True:
        found = read_date(walk, say("walk.order_valid_from"))
        if found:
            return found


def _wanted(line: LineDef, typed: dict[str, str]) -> bool:
    """Whether a line can be on this paper: heparin lines not where the paper says no heparin."""
    if not line.possible(typed):
        return False
    if line.id == "heparin_dead_space":
        return typed.get("anticoagulant") == "heparin"
    if line.id in ("needle_gauge", "needle_method"):
        return typed.get("access") != "catheter"
    return True


def line_question(line: LineDef, book: Rulebook | None = None) -> str:
    """The label of a line with its unit or its words. book: with the units that the household chose."""
    label = say(f"line.{line.id}")
    if line.options:
        options = " / ".join(say(f"option.{line.id}.{o}") for o in line.options)
        return f"{label} ({options})"
    extra = f"line_hint.{line.id}"
    hint = f" {say(extra)}" if has_text(extra) else ""
    unit = typed_unit(book, line) if book is not None else line.unit
    return f"{label} [{unit}]{hint}" if unit else f"{label}{hint}"


def _line(walk: Walk, name: str, typed: dict[str, str], *, first: bool = False) -> str:
    """One line of the paper in its plain form; "" where it isn't on it. first: an unusual value is asked about."""
    rulebook = walk.desk().rulebook
    line = rulebook.line(name)
    if not _wanted(line, typed):
        return ""
    needed = line.needed(typed)
    question = line_question(line, rulebook) + ("" if needed else f" {say('walk.may_be_empty')}")
    while True:
        try:
            answer = walk.ask(question, empty=not needed, about="why.order_line")
            value = _read(walk, line, answer) if answer else ""
            return _asked(walk, line, value) if first and value else value
        except NotMeasured:
            walk.say("walk.no_measure_here")
        except EbbwellError as why:
            walk.tell_error(why)


def _read(walk: Walk, line: LineDef, typed: str) -> str:
    """A typed line in its plain form, said back where it was converted; words that look like an amount are asked about.

    Raises InputError and UnitError for what can't be read.
    """
    rulebook = walk.desk().rulebook
    value = read_line(rulebook, line.id, typed)
    while line.kind == "text" and _looks_like_amount(value):
        question = say("walk.looks_like_amount", typed=value, line=say(f"line.{line.id}"))
        again = read_line(rulebook, line.id, walk.ask(f"{question}\n{say('walk.type_again')}"))
        if again == value:
            break
        value = again
    if line.kind == "number" and value != typed.strip():
        walk.say("walk.taken", value=line_value(line.id, value, rulebook))
    return value


def _asked(walk: Walk, line: LineDef, value: str) -> str:
    """A line just read, after what is unusual about it was asked: it holds once the same was typed again."""
    sure: set[str] = set()
    while True:
        questions = [q for _, q in orders.odd_lines(walk.desk(), {line.id: value}) if q.key not in sure]
        if not questions:
            return value
        again = walk.ask(f"{say_question(questions[0])}\n{say('walk.type_again')}", about="why.order_line")
        try:
            read = _read(walk, line, again)
        except EbbwellError as why:
            walk.tell_error(why)
            continue
        if read == value:
            sure.add(questions[0].key)
        else:
            value, sure = read, set()


def _looks_like_amount(typed: str) -> bool:
    found = WITH_UNIT.fullmatch(typed)
    if found is None:
        return False
    with suppress(UnitError):
        parse_unit(found[2])
        return True
    return False


def how_second(walk: Walk, first_by: str, *, photo: bool = False, reread: bool = True) -> tuple[str, str]:
    """Who reads it the second time: the way, and the id of who reads."""
    known = people(walk.desk().standing)
    options = []
    others = [person for person in known if person != first_by]
    if others:
        options.append(("person", say("walk.second_person")))
    if reread:
        options.append(("reread", say("walk.second_reread")))
    if photo:
        options.append(("photo", say("walk.second_photo")))
    way = options[0][0] if len(options) == 1 else walk.pick(say("walk.second_how"), options)
    if way != "person":
        return way, walk.by
    if len(others) == 1:
        return way, others[0]
    return way, walk.pick(say("walk.second_who"), [(p, known[p].name) for p in others])


def check_waiting(walk: Walk) -> bool:
    """Second check of whatever waits for one: the prescription, then each changed line. Whether all is in force."""
    while True:
        order = walk.desk().scene.order
        if order is None:
            return False
        if not order.waiting:
            return True
        fact = walk.desk().standing.fact(order.waiting[0])
        if fact is None:
            return False
        _check_one(walk, fact)


def _lines_of(fact: Fact) -> dict[str, str]:
    if isinstance(fact.body, Prescription):
        return {line: value for line, value in fact.body.lines.items() if value}
    return {fact.body.line: fact.body.value} if isinstance(fact.body, LineAmended) else {}


@in_a_row("walk.row.order_second")
def _check_one(walk: Walk, fact: Fact) -> None:
    whole = isinstance(fact.body, Prescription)
    walk.say("walk.order_second" if whole else "walk.line_second")
    how, by = how_second(walk, fact.by)
    again = _read_paper(walk) if whole else _read_again(walk, _lines_of(fact))
    _keep_check(walk, fact, again, how, by)


def _read_paper(walk: Walk) -> dict[str, str]:
    """Every line that a paper can have, read again; an empty line says that it isn't on the paper."""
    names = [line.id for line in walk.desk().rulebook.lines()]
    found: dict[str, str] = {}
    place = 0
    while place < len(names):
        try:
            found[names[place]] = _line(walk, names[place], found)
        except Back:
            place = _before(walk, names, place, found)
        else:
            place += 1
    return found


def _read_again(walk: Walk, lines: Iterable[str]) -> dict[str, str]:
    rulebook = walk.desk().rulebook
    names = list(lines)
    found: dict[str, str] = {}
    place = 0
    while place < len(names):
        name = names[place]
        try:
            line = rulebook.line(name)
            found[name] = _read(
                walk, line, walk.ask(line_question(line, walk.desk().rulebook), about="why.order_line")
            )
            place += 1
        except Back:
            place = max(0, place - 1)
        except NotMeasured:
            walk.say("walk.no_measure_here")
        except EbbwellError as why:
            walk.tell_error(why)
    return found


def _keep_check(walk: Walk, fact: Fact, again: dict[str, str], how: str, by: str) -> None:
    """Write the second check; a line that differs is read a third time, which says which reading was the slip."""
    while True:
        done = walk.do(orders.check_order, by=by, of=fact.id, values=again, how=how)
        if done is None:
            walk.ask(say("walk.enter_when_ready"), empty=True)
            continue
        check = walk.desk().standing.fact(done.entries[0])
        if check is None or not isinstance(check.body, SecondCheck) or check.body.agrees:
            walk.say("walk.second_same")
            return
        first = _lines_of(fact)
        slips: dict[str, str] = {}
        by_phone = isinstance(fact.body, LineAmended)
        for name in sorted(n for n in {*first, *again} if first.get(n, "") != again.get(n, "")):
            walk.say(
                "walk.differs_by_phone" if by_phone else "walk.differs",
                line=say(f"line.{name}"),
                first=_as_read(name, first.get(name, "")),
                second=_as_read(name, again.get(name, "")),
            )
            third = _third(walk, name, {**first, **again})
            if third != first.get(name, ""):
                slips[name] = third
            again[name] = third
        if slips:
            fact = _correct_first(walk, fact, slips) or fact


def _as_read(name: str, value: str) -> str:
    return line_words(name, value) if value else say("walk.not_on_paper")


def _third(walk: Walk, name: str, lines: dict[str, str]) -> str:
    """A line read a third time; "" where it isn't on the paper, if it needn't be."""
    while True:
        with suppress(Back):
            return _line(walk, name, lines)


def _correct_first(walk: Walk, fact: Fact, slips: dict[str, str]) -> Fact | None:
    amended = isinstance(fact.body, LineAmended)
    changes: dict[str, str] = {}
    for name, value in slips.items():
        changes |= {"value": value, "read_back": value} if amended else {f"lines.{name}": value}
    done = walk.do(record.correct, of=fact.id, changes=changes, reason=say("walk.slip_found"))
    return walk.desk().standing.fact(done.entries[0]) if done is not None else None


def phone_order(walk: Walk) -> None:
    """One line changed by phone: heard, read back aloud, typed again, then its second check."""
    desk = walk.desk()
    if desk.scene.order is None:
        walk.say("tonight.no_prescription")
        return
    options = [(line.id, say(f"line.{line.id}")) for line in desk.rulebook.lines()]
    line = walk.pick(say("walk.phone_which"), options)
    definition = desk.rulebook.line(line)
    giver = ask_person(walk, say("walk.phone_giver"))
    heard = _asked(walk, definition, _read_again(walk, [line])[line])
    lasts = [("tonight", say("walk.phone_tonight")), ("on", say("walk.phone_from_now"))]
    tonight_only = walk.pick(say("walk.phone_lasts"), lasts) == "tonight"
    walk.say("walk.phone_read_back", line=line_question(definition, walk.desk().rulebook))
    while True:
        back = _read_again(walk, [line])[line]
        done = walk.do(
            orders.amend_line,
            line=line,
            value=heard,
            giver=giver,
            read_back=back,
            written_awaited=True,
            tonight_only=tonight_only,
        )
        if done is not None:
            break
        heard = _asked(walk, definition, _read_again(walk, [line])[line])
    walk.say("walk.phone_kept_tonight" if tonight_only else "walk.phone_kept")
    fact = walk.desk().standing.fact(done.entries[0])
    if fact is not None:
        _check_one(walk, fact)
    check_waiting(walk)


def paper_came(walk: Walk) -> None:
    """The paper for a line taken by phone has come: the line is read off it, what was heard not shown."""
    order = walk.desk().scene.order
    if order is None or not order.unconfirmed:
        walk.say("walk.no_paper_awaited")
        return
    lines = [(line, say(f"line.{line}")) for line in order.unconfirmed]
    line = lines[0][0] if len(lines) == 1 else walk.pick(say("walk.paper_which"), lines)
    walk.say("walk.paper_read", line=say(f"line.{line}"))
    giver = ask_person(walk, say("walk.paper_giver"))
    value = _read_again(walk, [line])[line]
    if walk.do(orders.confirm_written, line=line, value=value, giver=giver) is not None:
        walk.say("walk.paper_kept")
