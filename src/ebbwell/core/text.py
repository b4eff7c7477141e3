"""Words by key. Code holds keys; the catalogue (gettext, English first) holds the words.

``say("step.S5.do")`` finds the words; ``{name}`` in them is filled from the parameters.
"""

from __future__ import annotations

import gettext
from functools import lru_cache
from pathlib import Path

LOCALE_DIR = Path(__file__).parent / "locale"


class MissingText(KeyError):
    """A key without words: a fault of the program, found by the tests, never shown as blank."""


@lru_cache(maxsize=4)
def _catalogue(language: str) -> gettext.NullTranslations:
    return gettext.translation("ebbwell", localedir=str(LOCALE_DIR), languages=[language], fallback=False)


def has_text(key: str, language: str = "en") -> bool:
    """Whether the catalogue has words for the key."""
    return _catalogue(language).gettext(key) != key


def say(key: str, /, language: str = "en", **params: object) -> str:
    """The words for a key, with its parameters filled in. Raises MissingText for a key without words."""
    words = _catalogue(language).gettext(key)
    if words == key:
        raise MissingText(key)
    return words.format_map({name: str(value) for name, value in params.items()}) if params else words
