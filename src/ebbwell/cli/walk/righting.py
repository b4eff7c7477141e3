"""Putting right what was typed: an entry of tonight, two values that disagree, a name."""

from __future__ import annotations

from ebbwell.cli.walk.prompt import Back, Walk, in_a_row, plain_word
from ebbwell.core.text import say
from ebbwell.deeds import record
from ebbwell.deeds.desk import Asked, Done
from ebbwell.journal.kinds.marks import Answer, Choice, LotUsed, Measured
from ebbwell.journal.kinds.night import Reading
from ebbwell.papers.describe import describe
from ebbwell.papers.words import clock, option_words
from ebbwell.rulebook.typed import say_question
from ebbwell.state.facts import Fact

SHOWN = 12
"""Entries that ``fix`` shows at once, newest first."""

KINDS = ("measured", "answer", "choice", "lot_used", "reading", "event", "given", "tick", "skipped")
"""Kinds of entries that ``fix`` offers."""


@in_a_row("walk.row.fix")
def fix(walk: Walk) -> None:
    """Put an earlier entry right, or take it back; settle two values that disagree."""
    desk = walk.desk()
    clash = next(iter(desk.treatment.disagreements().values()), None)
    if clash is not None:
        settle(walk, clash)
        return
    facts = [f for kind in KINDS for f in desk.treatment.of(kind)]
    if not facts:
        walk.say("walk.fix_nothing")
        return
    fact = _which(walk, sorted(facts, key=lambda f: f.id, reverse=True))
    changes = _changes(walk, fact)
    reason = walk.ask(say("walk.fix_reason"))
    if changes is None:
        done = walk.do(record.withdraw, of=fact.id, reason=reason)
    else:
        field, value = changes
        done = _correct(walk, fact, field, value, reason)
    if done is not None:
        walk.say("walk.fixed")


def _which(walk: Walk, newest: list[Fact]) -> Fact:
    """One of the entries, a dozen at a time."""
    names, zone = walk.names(), walk.desk().now.zone
    place = 0
    while True:
        shown = newest[place : place + SHOWN]
        options = [(f.id, f"{clock(f.at, zone)} {describe(f.body, names)}") for f in shown]
        left = len(newest) - place - SHOWN
        if left > 0:
            options.append(("more", say("walk.fix_more", count=left)))
        chosen = walk.pick(say("walk.fix_which"), options)
        if chosen != "more":
            return next(f for f in shown if f.id == chosen)
        place += SHOWN


@in_a_row("walk.row.names")
def names(walk: Walk) -> None:
    """Put the name of the household or of a person right. The first one stays in the record beside it."""
    standing = walk.desk().standing
    facts = [f for kind in ("household", "person") for f in standing.of(kind)]
    if not facts:
        walk.say("walk.names_nobody")
        return
    options = [(f.id, str(getattr(f.body, "name", ""))) for f in facts]
    chosen = walk.pick(say("walk.names_which"), options)
    name = ask_name(walk, say("walk.names_new"))
    reason = walk.ask(say("walk.fix_reason"))
    if walk.do(record.correct, of=chosen, changes={"name": name}, reason=reason) is not None:
        walk.say("walk.names_kept", name=name)


def ask_name(walk: Walk, question: str) -> str:
    """A name; a word of this program is none, since it was meant to do something."""
    while True:
        name = walk.ask(question)
        if plain_word(name) not in walk.known_words:
            return name
        walk.say("walk.name_is_word", word=name)


def _correct(walk: Walk, fact: Fact, field: str, value: str, reason: str) -> Done | None:
    sure: tuple[str, ...] = ()
    while True:
        try:
            return walk.do(record.correct, of=fact.id, changes={field: value}, reason=reason, sure=sure)
        except Asked as asked:
            again = walk.ask(f"{say_question(asked.questions[0])}\n{say('walk.type_again')}")
            if again == value:
                sure = (*sure, asked.questions[0].key)
            else:
                value, sure = again, ()


def _changes(walk: Walk, fact: Fact) -> tuple[str, str] | None:
    """Field and new value; None to take the entry back."""
    body = fact.body
    step = next((s for s in walk.desk().procedure.steps if s.id == getattr(body, "step", "")), None)
    ways = [("back", say("walk.fix_take_back"))]
    if isinstance(body, Measured | Reading | Answer | Choice | LotUsed):
        ways.insert(0, ("value", say("walk.fix_value")))
    if walk.pick(say("walk.fix_how"), ways) == "back":
        return None
    if isinstance(body, Measured):
        return "value", walk.ask(say("walk.fix_new"))
    if isinstance(body, Reading):
        options = [(q, f"{say(f'quantity.{q}')} {v}") for q, v in body.values.items()]
        quantity = walk.pick(say("walk.fix_field"), options)
        return f"values.{quantity}", walk.ask(say("walk.fix_new"))
    if isinstance(body, LotUsed):
        fields = [(f, say(f"walk.lot_{f}")) for f in ("code", "lot", "expiry")]
        name = walk.pick(say("walk.fix_field"), fields)
        return name, walk.ask(say("walk.fix_new"))
    if isinstance(body, Answer):
        words = step.options.get(body.question, ("yes", "no")) if step is not None else ("yes", "no")
        return "answer", walk.pick(say("walk.fix_new"), [(w, option_words(body.question, w)) for w in words])
    if isinstance(body, Choice) and step is not None:
        words = step.options.get(body.name, ())
        return "option", walk.pick(say("walk.fix_new"), [(w, option_words(body.name, w)) for w in words])
    raise Back


def settle(walk: Walk, facts: tuple[Fact, ...]) -> None:
    """Two values stand for one thing: say which one holds, and why."""
    names = walk.names()
    zone = walk.desk().now.zone
    options = [
        (f.id, f"{clock(f.at, zone)} {names.get(f.by, f.by)}: {describe(f.body, names)}") for f in facts
    ]
    holds = walk.pick(say("walk.settle"), options)
    reason = walk.ask(say("walk.fix_reason"))
    if walk.do(record.settle, of=tuple(f.id for f in facts), holds=holds, reason=reason) is not None:
        walk.say("walk.kept")


def ask_person(walk: Walk, question: str) -> str:
    """A name and role as text; a bare number, as of a picked line, is neither."""
    while True:
        typed = walk.ask(question)
        if any(character.isalpha() for character in typed):
            return typed
        walk.say("walk.no_name", typed=typed)
