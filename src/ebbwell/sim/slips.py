"""How typing goes wrong: what is meant, and what is typed instead."""

from __future__ import annotations

import random
from collections.abc import Callable

OTHER_UNIT = ("mg/L", "lb", "F", "mmHg", "kg")
EMOJI = "\U0001f44d"
LONG = "9" * 10_000


def _transposed(text: str, chance: random.Random) -> str:
    digits = [i for i in range(len(text) - 1) if text[i : i + 2].isdigit() and text[i] != text[i + 1]]
    if not digits:
        return text + text
    i = chance.choice(digits)
    return text[:i] + text[i + 1] + text[i] + text[i + 2 :]


def _tenfold(text: str, _: random.Random) -> str:
    if "." not in text:
        return text + "0"
    whole, __, part = text.partition(".")
    return f"{whole}{part[0]}.{part[1:]}".rstrip(".")


def _comma(text: str, _: random.Random) -> str:
    return text.replace(".", ",") if "." in text else f"{text},000"


def _sign(text: str, _: random.Random) -> str:
    return text[1:] if text.startswith("-") else f"-{text}"


def _neighbour(_: str, chance: random.Random) -> str:
    return chance.choice(("138", "76", "64.5", "1000", "13.8"))


def _unit(text: str, chance: random.Random) -> str:
    return f"{text} {chance.choice(OTHER_UNIT)}"


SLIPS: dict[str, Callable[[str, random.Random], str]] = {
    "transposed digits": _transposed,
    "tenfold": _tenfold,
    "comma for point": _comma,
    "lost sign": _sign,
    "neighbour field": _neighbour,
    "unit mixed": _unit,
    "nothing typed": lambda *_: "",
    "an emoji": lambda *_: EMOJI,
    "ten kilobytes": lambda *_: LONG,
}
"""Name of a slip to what comes out of what was meant."""
