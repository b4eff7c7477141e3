"""SVG as text: elements with escaped attributes and words, and a guess at how wide words run."""

from __future__ import annotations

import re
import unicodedata
from typing import Final

_UNLAWFUL: Final = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""Characters that XML can't hold, escaped or not."""

_ESCAPES: Final = str.maketrans(
    {
        "&": "&amp;",
        "<": "&lt;",
        ">": "&gt;",
        '"': "&quot;",
        "'": "&#39;",
        "\r": "&#13;",
        "\n": "&#10;",
        "\t": "&#9;",
    }
)

NAME: Final = re.compile(r"[a-z][a-z0-9-]*")
"""What may stand as an id."""


def escape(text: str) -> str:
    """Any text, fit to stand between tags or in an attribute. Characters that XML can't hold become U+FFFD."""
    return _UNLAWFUL.sub("\N{REPLACEMENT CHARACTER}", text).translate(_ESCAPES)


def number(value: float) -> str:
    """A coordinate with at most two decimals: ``12``, ``3.5``; never ``-0``."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def element(tag: str, content: str = "", /, **attributes: str | float) -> str:
    """One element. content: ready SVG. Underscores in attribute names stand for hyphens, one at the end is dropped."""
    parts = [tag]
    for name, value in attributes.items():
        shown = value if isinstance(value, str) else number(value)
        parts.append(f'{name.rstrip("_").replace("_", "-")}="{escape(shown)}"')
    head = " ".join(parts)
    return f"<{head}>{content}</{tag}>" if content else f"<{head}/>"


def words(text: str, /, **attributes: str | float) -> str:
    """A text element with any words in it."""
    return element("text", escape(text), **attributes)


def width_of(text: str, size: float) -> float:
    """About how wide words run, in the unit of size; a little too much rather than too little."""
    wide = 0.0
    for char in text:
        if unicodedata.combining(char):
            continue
        if unicodedata.east_asian_width(char) in "WF":
            wide += 1.0
        elif char in " .,:;'|!ijl":
            wide += 0.32
        elif char.isupper() or char in "mwMW%@":
            wide += 0.78
        else:
            wide += 0.58
    return wide * size
