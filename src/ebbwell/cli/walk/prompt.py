"""One line asked and one line taken; the words that work at every prompt; deeds done with their answers shown."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from functools import wraps
from typing import Any, Concatenate, ParamSpec, TypeVar
from zoneinfo import ZoneInfo

from ebbwell.cli.session import Session
from ebbwell.cli.words import bars_lines, error_lines, findings_lines, wrap
from ebbwell.core.errors import EbbwellError, InputError
from ebbwell.core.reader import now_with
from ebbwell.core.text import say
from ebbwell.core.typed_times import past_time as past_time
from ebbwell.deeds.desk import Asked, Desk, Done, Refused
from ebbwell.house import House
from ebbwell.papers.spoken import error_words, plain_words
from ebbwell.procedure.holds import StepView
from ebbwell.rulebook.typed import say_question
from ebbwell.state.standing import people

P = ParamSpec("P")
R = TypeVar("R")


class Leave(Exception):
    """The person leaves, or no more input comes. What was written down stays; ``Walk.unkept`` names what wasn't."""


class Back(Exception):
    """The person wants the question before this one."""


class Later(Exception):
    """The person puts this step off."""


class NotMeasured(Exception):
    """The person says that this can't be measured."""


class Again(Exception):
    """A word changed where the night stands: what comes next is looked up afresh."""


class Skip(Exception):
    """The person wants to leave this step out."""


CHANGES = frozenset(
    {
        "stop",
        "stop now",
        "by hand",
        "not tonight",
        "tonight after all",
        "running",
        "connect",
        "off the machine",
        "call off",
        "happened",
        "phone",
        "fix",
        "hand over",
    }
)
"""Words after which the next thing may be another one."""


LONG = 14
"""Options from which on a list is printed in a run, and any word of an option finds it."""

PART = 3
"""Letters that a typed part of an option has at least, so that a sleeve on a key answers nothing (practice:H60)."""

TURNS = ("back", "later", "skip", "not measured")
"""Words that turn away from a question; which of them a question takes is in ``Walk.turns``."""


def plain_word(typed: str) -> str:
    """A typed word without case, spare blanks and a closing mark, so that ``STOP!`` is ``stop``."""
    return " ".join(typed.casefold().split()).strip(" .!") or typed.strip()


@dataclass
class Walk:
    """One person at one terminal.

    by: who acts. view: the step that is being asked about, for ``?``. about: wording key of why a question is asked
    that belongs to no step. turns: which of ``TURNS`` the question takes. steady: a long row of questions goes on
    whatever a word changes. steps_first: after ``stop`` the steps of coming off come before off. later: steps put
    off. given: step ids and evidence answered here, newest last, for ``back``. words: word to what it does, besides
    those that belong to the question. known_words: all that there
    are, also where they do nothing.
    """

    session: Session
    house: House
    by: str = "bedside"
    view: StepView | None = None
    about: str = ""
    turns: tuple[str, ...] = ()
    coming_off: bool = False
    steps_first: bool = False
    steady: bool = False
    later: list[str] = field(default_factory=list)
    given: list[tuple[str, str]] = field(default_factory=list)
    words: dict[str, Callable[[Walk], None]] = field(default_factory=dict)
    known_words: frozenset[str] = frozenset()
    _rows: list[list[Any]] = field(default_factory=list)

    @contextmanager
    def row(self, what: str) -> Iterator[None]:
        """Questions that are written down only with the last of them. what: wording key of what they are about."""
        self._rows.append([what, 0])
        try:
            yield
        except (Leave, KeyboardInterrupt):
            raise
        except BaseException:
            self._rows.pop()
            raise
        self._rows.pop()

    def unkept(self) -> list[str]:
        """What was answered in part and is not written down, in words."""
        return [say(what) for what, answered in self._rows if answered]

    def desk(self) -> Desk:
        """How things stand now."""
        desk = self.house.look(by=self.by)
        now_with(desk.access)
        return desk

    def names(self) -> dict[str, str]:
        """Person id to name."""
        return {person: body.name for person, body in people(self.house.look().standing).items()}

    def tell(self, text: str, *, first: str = "") -> None:
        """Print words, broken to the terminal."""
        self.session.print(*wrap(text, first=first))

    def tell_command(self, key: str, *words: str) -> None:
        """Words, then on a line of its own the command that they are about."""
        self.say(key)
        self.session.print(f"  {self.session.command(*words)}")

    def say(self, key: str, **params: object) -> None:
        """Print the words of a key."""
        self.tell(plain_words(key, **params))

    def line(self) -> str:
        """One typed line, without its end. Leave when no more comes."""
        self.session.out.write("> ")
        self.session.out.flush()
        try:
            typed = self.session.stdin.readline()
        except (KeyboardInterrupt, UnicodeDecodeError) as why:
            self.session.print("")
            if isinstance(why, UnicodeDecodeError):
                self.say("walk.not_text")
                return self.line()
            raise Leave from why
        if not typed:
            self.session.print("")
            raise Leave
        return typed.rstrip("\r\n").strip()

    def ask(self, question: str, *, empty: bool = False, fresh: bool = False, about: str = "") -> str:
        """Ask until something is typed that isn't one of the words; those are done and the question asked again.

        empty: an empty line is an answer. fresh: after a word the question is to be made anew (raises Again). about:
        wording key of why it is asked, for ``?``.
        """
        before, self.about = self.about, about or self.about
        try:
            return self._ask(question, empty=empty, fresh=fresh)
        finally:
            self.about = before

    def _ask(self, question: str, *, empty: bool, fresh: bool) -> str:
        while True:
            self.tell(question)
            typed = self.line()
            if not typed and not empty:
                continue
            row = self.house.state.row
            word = self._word(typed)
            if not word:
                for asked in self._rows[-1:]:
                    asked[1] += bool(typed)
                return typed
            changed = word in CHANGES and self.house.state.row != row
            if fresh or (changed and not self.steady):
                raise Again

    def _word(self, typed: str) -> str:
        """Do what a word asks for. Gives the word; "" when it wasn't one."""
        word = plain_word(typed)
        if word == "leave":
            raise Leave
        if word == "back":
            raise Back
        if word == "later":
            raise Later
        if word == "not measured":
            raise NotMeasured
        if word == "skip":
            raise Skip
        first, _, rest = typed.partition(" ")
        act = self.words.get(word)
        if act is None and first.casefold() == "running" and ":" in rest and len(rest) <= 5:
            word = "running"
            act = self.words.get(word)
            self._running_at = rest
        if act is None:
            return ""
        view, turns, about = self.view, self.turns, self.about
        try:
            act(self)
        except (Back, Later, NotMeasured, Skip):
            self.say("walk.back_to_question")
        except Asked as asked:
            self.tell(say_question(asked.questions[0]))
        except EbbwellError as why:
            self.tell_error(why)
        finally:
            self.view, self.turns, self.about = view, turns, about
        return word

    _running_at: str = ""

    def take_running_at(self) -> str:
        """The time typed behind ``running``, once."""
        typed, self._running_at = self._running_at, ""
        return typed

    def pick(
        self,
        question: str,
        options: Sequence[tuple[str, str]],
        *,
        fresh: bool = False,
        about: str = "",
        empty: bool = False,
    ) -> str:
        """One of several: by number, by its words or by how they begin. Gives its key.

        fresh, about, empty: as in ``ask``.

        In a long list any word of an option may be typed. What was taken for a part is said back.
        """
        rows = [f"{n}  {words}" for n, (_, words) in enumerate(options, start=1)]
        if len(rows) > LONG:
            rows = ["; ".join(rows), say("walk.pick_part")]
        while True:
            asked = "\n".join([question, *(f"  {row}" for row in rows)])
            typed = self.ask(asked, fresh=fresh, about=about, empty=empty)
            if not typed:
                return ""
            plain = typed.casefold().strip(" .")
            for n, (key, words) in enumerate(options, start=1):
                if plain in (str(n), words.casefold().strip(" ."), key, key.replace("_", " ")):
                    return key
            fitting = _fitting(plain, options)
            if len(fitting) == 1:
                self.say("walk.taken", value=fitting[0][1])
                return fitting[0][0]
            if fitting:
                self.say("walk.pick_several", options="; ".join(words for _, words in fitting))
            self.say("walk.pick", count=len(options))

    def yes(self, question: str, *, about: str = "") -> bool:
        """A yes or a no, typed."""
        options = (("yes", say("walk.yes")), ("no", say("walk.no")))
        return self.pick(question, options, about=about) == "yes"

    def time(self, question: str) -> datetime | None:
        """A time of day on the home's clock, the last one that has been; None for an empty line (now)."""
        zone = ZoneInfo(self.desk().now.zone)
        while True:
            typed = self.ask(question, empty=True)
            if not typed:
                return None
            try:
                return past_time(typed, self.desk().now.at, zone)
            except InputError as why:
                self.tell_error(why)

    def tell_error(self, why: EbbwellError) -> None:
        """What stopped a deed: in words, with every bar."""
        if isinstance(why, Refused) and not error_words(why).startswith(say("walk.not_yet")):
            self.say("walk.not_yet")
        if isinstance(why, Refused) and why.bars:
            from ebbwell.papers.standing_now import next_words

            desk = self.desk()
            self.session.print(*error_lines(Refused(why.key, **why.params)), *bars_lines(why.bars, desk))
            self.say("tonight.next", next=next_words(desk))
            return
        self.session.print(*error_lines(why))

    def do(
        self, deed: Callable[..., None], /, *, by: str = "", shown: bool = False, **inputs: Any
    ) -> Done | None:
        """Do a deed and show what it found. None when it was refused or not understood, which is told.

        shown: what it finds was on the screen just before.
        """
        try:
            done = self.house.do(deed, by=by or self.by, **inputs)
        except Asked:
            raise
        except EbbwellError as why:
            self.tell_error(why)
            return None
        for asked in self._rows[-1:]:
            asked[1] = 0
        if not shown:
            self.session.print(*findings_lines(done.findings, self.desk()))
        return done

    def sure(self, asked: Asked, options: Sequence[tuple[str, str]]) -> tuple[str, ...]:
        """The keys of what a deed asked first, where ``yes`` is picked; else ()."""
        words = "\n".join(say_question(question) for question in asked.questions)
        if self.pick(words, options, fresh=True) != "yes":
            return ()
        return tuple(question.key for question in asked.questions)

    def do_typed(self, deed: Callable[..., None], inputs: Mapping[str, Any], *, typed: str) -> Done | None:
        """Do a deed that may ask about one typed value: each question once, answered by typing the value again.

        typed: name of the input that holds it.
        """
        given = dict(inputs)
        sure: tuple[str, ...] = ()
        while True:
            try:
                return self.do(deed, sure=sure, **given)
            except Asked as asked:
                question = asked.questions[0]
                again = self.ask(f"{say_question(question)}\n{say('walk.type_again')}")
                if again == given[typed]:
                    sure = (*sure, question.key)
                else:
                    given[typed], sure = again, ()


def _fitting(typed: str, options: Sequence[tuple[str, str]]) -> list[tuple[str, str]]:
    """The options that a typed part fits: how they begin, or in a long list how any word of theirs begins."""
    if len(typed) < PART or typed.isdigit():
        return []
    if len(options) <= LONG:
        return [(key, words) for key, words in options if words.casefold().startswith(typed)]
    return [(key, words) for key, words in options if f" {typed}" in f" {words.casefold()}"]


def in_a_row(
    what: str,
) -> Callable[[Callable[Concatenate[Walk, P], R]], Callable[Concatenate[Walk, P], R]]:
    """Marks an act whose answers are written down only with the last one. what: wording key of its name."""

    def marked(act: Callable[Concatenate[Walk, P], R]) -> Callable[Concatenate[Walk, P], R]:
        @wraps(act)
        def asked(walk: Walk, /, *args: P.args, **kwargs: P.kwargs) -> R:
            with walk.row(what):
                return act(walk, *args, **kwargs)

        return asked

    return marked
