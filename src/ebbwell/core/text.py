"""Words by key. Code holds keys; the catalogue (gettext, English first) holds the words.

``say("step.S5.do")`` finds the words; ``{name}`` in them is filled from the parameters. The language is the one of
the context, English unless another was chosen with ``speak``. A key may have words of its own for an access, such as
``night.arm.catheter``: they are said to a reader of that access.
"""

from __future__ import annotations

import gettext
import re
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import lru_cache
from pathlib import Path

from ebbwell.core.reader import reader

LOCALE_DIR = Path(__file__).parent / "locale"

PSEUDO = "pseudo"
"""A made-up language: the English words with other letters, longer, in brackets. Shows text that has no key."""

LEFT, RIGHT = "\N{MATHEMATICAL LEFT WHITE SQUARE BRACKET}", "\N{MATHEMATICAL RIGHT WHITE SQUARE BRACKET}"
"""What stands around each text of the made-up language."""

_language: ContextVar[str] = ContextVar("language", default="en")
_FIELD = re.compile(r"(\{[^{}]*\})")
_OTHER = str.maketrans("aceinouyACEINOUY", "âçéîñôûýÂÇÉÎÑÔÛÝ")


class MissingText(KeyError):
    """A key without words: a fault of the program, found by the tests, never shown as blank."""


class Pseudo(gettext.NullTranslations):
    """The made-up language, generated from another catalogue's words at each look."""

    def __init__(self, words: gettext.NullTranslations) -> None:
        super().__init__()
        self._words = words

    def gettext(self, message: str) -> str:
        """The words, bracketed, with other letters and a third longer; fields stay; a key without words as it is."""
        words = self._words.gettext(message)
        return words if words == message else pseudo(words)


def pseudo(words: str) -> str:
    """Words as the made-up language has them.

    >>> pseudo("Keep the {what}")
    '⟦Kéép thé {what} ~~~~~⟧'
    """
    parts = _FIELD.split(words)
    changed = "".join(part if part.startswith("{") else part.translate(_OTHER) for part in parts)
    return f"{LEFT}{changed} {'~' * (len(words) // 3 or 1)}{RIGHT}"


@contextmanager
def speak(language: str) -> Iterator[None]:
    """Use a language for what is said inside. Raises FileNotFoundError for one without a catalogue."""
    _catalogue(language)
    token = _language.set(language)
    try:
        yield
    finally:
        _language.reset(token)


def language() -> str:
    """The language that things are said in here; "en" unless another was chosen with ``speak``."""
    return _language.get()


@lru_cache(maxsize=4)
def _catalogue(language: str) -> gettext.NullTranslations:
    if language == PSEUDO:
        return Pseudo(_catalogue("en"))
    return gettext.translation("ebbwell", localedir=str(LOCALE_DIR), languages=[language], fallback=False)


def has_text(key: str, language: str = "") -> bool:
    """Whether the catalogue has words for the key. language: another one than the context's."""
    return _catalogue(language or _language.get()).gettext(key) != key


def worded_as(key: str, language: str = "") -> str:
    """The key whose words are said for it: that of the reader's access where it has words of its own."""
    access = reader().access
    own = f"{key}.{access}"
    return own if access and has_text(own, language) else key


def say(key: str, /, language: str = "", **params: object) -> str:
    """The words for a key, with its parameters filled in. Raises MissingText for a key without words."""
    words = _catalogue(language or _language.get()).gettext(worded_as(key, language))
    if words == key:
        raise MissingText(key)
    return words.format_map({name: str(value) for name, value in params.items()}) if params else words
