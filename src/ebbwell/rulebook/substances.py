"""Reads the table of what laboratories report: units, how one is brought to the other, and what is asked about."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from importlib import resources
from typing import Any

from ebbwell.core.errors import InputError, UnitError
from ebbwell.core.text import has_text, say
from ebbwell.rulebook.load import RulebookFault, load_rulebook

FILE = "substances.toml"
ROW = frozenset({"unit", "units", "ask_low", "ask_high", "last_low", "last_high", "source"}) | {
    "call_below",
    "call_above",
    "falls_by_half",
    "swings",
}
"""What a row of the file may hold."""


@dataclass(frozen=True, slots=True)
class Substance:
    """One substance that bloods are tested for.

    unit: the one it is kept in; units: others to what brings them to it. Ranges and lines are in ``unit``; None: no
    such line. swings: it goes up and down tenfold by itself.
    """

    key: str
    unit: str
    units: Mapping[str, Decimal]
    ask_low: Decimal
    ask_high: Decimal
    last_low: Decimal
    last_high: Decimal
    source: str
    call_below: Decimal | None = None
    call_above: Decimal | None = None
    falls_by_half: bool = False
    swings: bool = False

    @property
    def all_units(self) -> tuple[str, ...]:
        """Every unit that a laboratory may give, the kept one first."""
        return (self.unit, *self.units)

    def in_kept(self, value: Decimal, unit: str) -> Decimal:
        """A figure in the kept unit, not rounded. Raises UnitError for a unit that isn't one of this substance."""
        if unit == self.unit:
            return value
        if unit not in self.units:
            raise UnitError(
                "bloods.unit", unit=unit[:30], units=" / ".join(blood_unit(one) for one in self.all_units)
            )
        return value * self.units[unit]

    def in_unit(self, value: Decimal, unit: str) -> Decimal:
        """A figure of the kept unit in another one, not rounded. Raises UnitError as ``in_kept``."""
        return value / self.in_kept(Decimal(1), unit)


def substance_words(key: str) -> str:
    """What a substance is called; the bare key where a newer program wrote one without words here."""
    words = f"bloods.substance.{key}"
    return say(words) if has_text(words) else key


def substance_title(key: str) -> str:
    """The same for the start of a line."""
    words = substance_words(key)
    return words[:1].upper() + words[1:]


def blood_unit(unit: str) -> str:
    """A unit for reading, such as ``mg/dL as urea nitrogen (BUN)``; those without words of their own as they are."""
    words = f"bloods.unit.{unit}"
    return say(words) if has_text(words) else unit


def range_words(low: str, high: str, unit: str) -> str:
    """A range with open ends: ``2.5 to 7.8 mmol/L``, ``at most 1.8 mmol/L``; "" for none."""
    if not low and not high:
        return ""
    if not low or not high:
        side = say("bloods.at_most", high=high) if high else say("bloods.at_least", low=low)
        return f"{side} {blood_unit(unit)}"
    return f"{say('bloods.from_to', low=low, high=high)} {blood_unit(unit)}"


@lru_cache(maxsize=1)
def load_substances() -> Mapping[str, Substance]:
    """The table as shipped, by key, in its order. Raises RulebookFault where the file contradicts itself."""
    return parse_substances((resources.files("ebbwell.rulebook") / FILE).read_text("utf-8"))


def substance(key: str) -> Substance:
    """One row. Raises InputError for a substance that isn't in the table."""
    found = load_substances().get(key)
    if found is None:
        raise InputError("bloods.unknown_substance", name=key[:60])
    return found


def parse_substances(text: str) -> Mapping[str, Substance]:
    """The table from its text. Raises RulebookFault as load_substances does."""
    try:
        rows = tomllib.loads(text)["substance"]
        table = {key: _row(key, row) for key, row in rows.items()}
    except (KeyError, TypeError, ValueError, ArithmeticError) as why:
        raise RulebookFault(f"{FILE}: {why}") from why
    sources = {source.key for source in load_rulebook().sources()}
    for one in table.values():
        if not one.last_low <= one.ask_low < one.ask_high <= one.last_high:
            raise RulebookFault(f"{FILE}: {one.key}: ranges")
        if any(factor <= 0 for factor in one.units.values()) or one.source not in sources:
            raise RulebookFault(f"{FILE}: {one.key}: factor or source")
    return table


def _row(key: str, row: Mapping[str, Any]) -> Substance:
    unknown = row.keys() - ROW
    if unknown:
        raise ValueError(f"{key}: {', '.join(sorted(unknown))}")
    return Substance(
        key=key,
        unit=row["unit"],
        units={unit: Decimal(factor) for unit, factor in row["units"].items()},
        ask_low=Decimal(row["ask_low"]),
        ask_high=Decimal(row["ask_high"]),
        last_low=Decimal(row["last_low"]),
        last_high=Decimal(row["last_high"]),
        source=row["source"],
        call_below=Decimal(row["call_below"]) if "call_below" in row else None,
        call_above=Decimal(row["call_above"]) if "call_above" in row else None,
        falls_by_half=row.get("falls_by_half", False),
        swings=row.get("swings", False),
    )
