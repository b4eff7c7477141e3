"""Worked values: a figure with its inputs, formula, source and outcome. No naked number leaves the sums."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import Enum


class Outcome(Enum):
    """Why a worked value holds a number, or why it doesn't."""

    OK = "ok"
    OUT_OF_RANGE = "an input lies outside the range this formula is meant for"
    MISSING = "an input is not known"
    NOTHING = "there is nothing to do"
    WITHHELD = "the values it rests on are not settled"


@dataclass(frozen=True, slots=True)
class Input:
    """One figure that went in: value None means not known. entry: id of the entry it came from, if any."""

    name: str
    value: Decimal | None
    unit: str
    entry: str | None = None


@dataclass(frozen=True, slots=True)
class Worked:
    """name: the result by name (``removal_volume``). value is None unless outcome is OK.

    formula: in words and symbols, for "show the working". source: key in rulebook/sources.toml.
    why: wording key that says more about an outcome that isn't OK; why_params fill its words.
    """

    name: str
    value: Decimal | None
    unit: str
    inputs: tuple[Input, ...]
    formula: str
    source: str
    outcome: Outcome = Outcome.OK
    why: str = ""
    why_params: tuple[tuple[str, str], ...] = ()
