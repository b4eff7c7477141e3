"""A short form as data: what is asked, how, and what was typed in it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime

from starlette.responses import Response

from ebbwell.core.errors import EbbwellError, InputError
from ebbwell.core.text import say
from ebbwell.papers.spoken import error_words
from ebbwell.web.times import past_time
from ebbwell.web.visit import Trouble, Visit

Options = tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Ask:
    """One field. kind: ``pick``, ``line``, ``words``, ``number`` or ``time``. groups: options under their headings.

    chosen: the word picked beforehand, never a measured one. need: key of what to say where it is left empty.
    """

    name: str
    kind: str
    label: str
    options: Options = ()
    groups: tuple[tuple[str, Options], ...] = ()
    unit: str = ""
    how: str = ""
    chosen: str = ""
    need: str = ""

    @property
    def words(self) -> frozenset[str]:
        """Every word that can be picked."""
        return frozenset(
            value for options in (self.options, *(o for _, o in self.groups)) for value, _ in options
        )


@dataclass(frozen=True)
class ShortForm:
    """A form at ``/happened/<name>``. keep: does the deed with what was typed and gives the address to go to, or None.

    lines: what is to be read before it is filled in.
    """

    name: str
    asks: Callable[[Visit], tuple[Ask, ...]]
    keep: Callable[[Visit, Typed], str | None]
    lines: Callable[[Visit], Iterable[str]] = lambda _: ()


class Typed:
    """What was typed in the fields of a form, read by their kind."""

    def __init__(self, visit: Visit, asks: tuple[Ask, ...]) -> None:
        self._visit = visit
        self._asks = {ask.name: ask for ask in asks}

    def text(self, name: str) -> str:
        """A field without the blanks around it."""
        return self._visit.typed.get(name, "").strip() if name in self._asks else ""

    def at(self) -> datetime | None:
        """The typed clock time; None for now."""
        return past_time(self.text("at"), self._visit.desk.now)

    def check(self) -> bool:
        """Whether every field can be read; what can't is told beside it."""
        for ask in self._asks.values():
            text = self.text(ask.name)
            try:
                if ask.kind == "pick" and text and text not in ask.words:
                    raise InputError("web.happened.not_offered")
                if ask.need and not text:
                    raise InputError(ask.need)
                if ask.kind == "time":
                    past_time(text, self._visit.desk.now)
            except EbbwellError as why:
                self._visit.troubles.append(Trouble(error_words(why), ask.name))
        return not self._visit.troubles


def picks(prefix: str, words: Iterable[str]) -> Options:
    """Options with their words: ``<prefix>.<word>``."""
    return tuple((word, say(f"{prefix}.{word}")) for word in words)


def when() -> Ask:
    """When it was; empty for now."""
    return Ask("at", "time", say("web.happened.at"), how=say("web.happened.at_how"))


def words_of(label: str = "web.happened.words") -> Ask:
    """Free words."""
    return Ask("words", "words", say(label))


def show_form(visit: Visit, form: ShortForm) -> Response:
    """The form as it stands, with what was typed."""
    return visit.show(
        "pages/happened/form.html",
        form=form,
        asks=form.asks(visit),
        lines=list(form.lines(visit)),
        typed=visit.typed,
    )


def take_form(visit: Visit, form: ShortForm) -> Response:
    """Keep it, or show it again with the reason."""
    typed = Typed(visit, form.asks(visit))
    to = form.keep(visit, typed) if typed.check() else None
    return visit.go(to, kept=f"happened-{form.name}") if to else show_form(visit, form)
