"""Characters that no font here can show: what is written in their place."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Container
from typing import Final

_CONTROLS: Final = re.compile(
    "[\x00-\x09\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ud800-\udfff\ufdd0-\ufdef\ufff9-\ufffb\ufffe\uffff]"
)
"""Controls, halves of characters, and marks that turn the direction of what follows: these could turn a figure."""

_SPELT: Final = ("HANGUL SYLLABLE ", "HIRAGANA LETTER ", "KATAKANA LETTER ")


def printable(text: str) -> str:
    """The text with what isn't a character of any script made visible: tabs as blanks, controls as ``[U+0007]``."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n")
    return _CONTROLS.sub(lambda m: " " if m[0] == "\t" else f"[{code_point(m[0])}]", lines)


def code_point(char: str) -> str:
    """A character by its number: ``U+5F20``."""
    return f"U+{ord(char):04X}"


def spelt(run: str) -> str:
    """Characters in Latin letters where their Unicode name spells them, with their numbers behind.

    >>> spelt("김영")
    'gim yeong, U+AE40 U+C601'
    >>> spelt("张")
    'U+5F20'
    """
    numbers = " ".join(code_point(char) for char in run)
    sounds = [
        unicodedata.name(char, "").removeprefix(kind).lower()
        for char in run
        for kind in _SPELT
        if unicodedata.name(char, "").startswith(kind)
    ]
    return f"{' '.join(sounds)}, {numbers}" if len(sounds) == len(run) else numbers


def instead(text: str, missing: Container[str]) -> str:
    """The text with each run of missing characters written as what they are: ``[U+5F20 U+4F1F]``."""
    out, run = [], ""
    for char in [*text, ""]:
        if char and char in missing:
            run += char
            continue
        if run:
            out.append(f"[{spelt(run)}]")
            run = ""
        out.append(char)
    return "".join(out)
