"""One line asked and one line taken; the words that work at every prompt; deeds done with their answers shown."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from ebbwell.cli.session import Session
from ebbwell.cli.words import error_lines, findings_lines, wrap
from ebbwell.core.errors import EbbwellError, InputError
from ebbwell.core.text import say
from ebbwell.core.typed_times import past_time as past_time
from ebbwell.deeds.desk import Asked, Desk, Done, Refused
from ebbwell.house import House
from ebbwell.papers.spoken import bar_words, error_words, plain_words
from ebbwell.procedure.holds import StepView
from ebbwell.rulebook.typed import say_question
from ebbwell.state.standing import people


class Leave(Exception):
    """The person leaves, or no more input comes. Everything recorded is kept."""


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


@dataclass
class Walk:
    """One person at one terminal.

    by: who acts. view: the step that is being asked about, for ``?``. steady: a long row of questions goes on
    whatever a word changes. later: steps put off. given: step ids and evidence answered here, newest last, for
    ``back``. words: word to what it does, besides those that belong to the question.
    """

    session: Session
    house: House
    by: str = "bedside"
    view: StepView | None = None
    coming_off: bool = False
    steady: bool = False
    later: list[str] = field(default_factory=list)
    given: list[tuple[str, str]] = field(default_factory=list)
    words: dict[str, Callable[[Walk], None]] = field(default_factory=dict)

    def desk(self) -> Desk:
        """How things stand now."""
        return self.house.look(by=self.by)

    def names(self) -> dict[str, str]:
        """Person id to name."""
        return {person: body.name for person, body in people(self.house.look().standing).items()}

    def tell(self, text: str, *, first: str = "") -> None:
        """Print words, broken to the terminal."""
        self.session.print(*wrap(text, first=first))

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

    def ask(self, question: str, *, empty: bool = False, fresh: bool = False) -> str:
        """Ask until something is typed that isn't one of the words; those are done and the question asked again.

        empty: an empty line is an answer. fresh: after a word the question is to be made anew (raises Again).
        """
        while True:
            self.tell(question)
            typed = self.line()
            if not typed and not empty:
                continue
            row = self.house.state.row
            word = self._word(typed)
            if not word:
                return typed
            changed = word in CHANGES and self.house.state.row != row
            if fresh or (changed and not self.steady):
                raise Again

    def _word(self, typed: str) -> str:
        """Do what a word asks for. Gives the word; "" when it wasn't one."""
        word = " ".join(typed.casefold().split())
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
        view = self.view
        try:
            act(self)
        except (Back, Later, NotMeasured, Skip):
            self.say("walk.back_to_question")
        except Asked as asked:
            self.tell(say_question(asked.questions[0]))
        except EbbwellError as why:
            self.tell_error(why)
        finally:
            self.view = view
        return word

    _running_at: str = ""

    def take_running_at(self) -> str:
        """The time typed behind ``running``, once."""
        typed, self._running_at = self._running_at, ""
        return typed

    def pick(self, question: str, options: Sequence[tuple[str, str]], *, fresh: bool = False) -> str:
        """One of several: by number, or by its words. Gives its key. fresh: as in ``ask``."""
        rows = [f"{n}  {words}" for n, (_, words) in enumerate(options, start=1)]
        while True:
            typed = self.ask("\n".join([question, *(f"  {row}" for row in rows)]), fresh=fresh)
            plain = typed.casefold().strip(" .")
            for n, (key, words) in enumerate(options, start=1):
                if plain in (str(n), words.casefold().strip(" ."), key, key.replace("_", " ")):
                    return key
            self.say("walk.pick", count=len(options))

    def yes(self, question: str) -> bool:
        """A yes or a no, typed."""
        return self.pick(question, (("yes", say("walk.yes")), ("no", say("walk.no")))) == "yes"

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
            desk = self.desk()
            self.session.print(*wrap(error_lines(Refused(why.key, **why.params))[0]))
            for bar in why.bars:
                self.session.print(*wrap(bar_words(bar, desk), first="  - "))
            return
        self.session.print(*error_lines(why))

    def do(self, deed: Callable[..., None], /, *, by: str = "", **inputs: Any) -> Done | None:
        """Do a deed and show what it found. None when it was refused or not understood, which is told."""
        try:
            done = self.house.do(deed, by=by or self.by, **inputs)
        except Asked:
            raise
        except EbbwellError as why:
            self.tell_error(why)
            return None
        self.session.print(*findings_lines(done.findings, self.desk()))
        return done

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
