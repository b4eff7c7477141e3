"""Reads the lists of limits for dialysis water and fluid; the comparing is done in ``science``."""

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
from ebbwell.core.units import parse_unit
from ebbwell.rulebook.load import RulebookFault, load_rulebook
from ebbwell.rulebook.model import SOURCE_KINDS
from ebbwell.science.microbes import MicrobeLimit
from ebbwell.science.water_report import WaterLimit

FILE = "water_lists.toml"
OWNER = "clinic"
"""Whose limits these are: the clinic may set any of them lower, from 0 up to the list's own figure."""


OWN_ITEM = "own."
"""What stands before the name of an item that no list has."""


def item_words(item: str) -> str:
    """What an item of a list is called; one that the clinic added by its own name."""
    key = f"water_item.{item}"
    return say(key) if has_text(key) else item.removeprefix(OWN_ITEM).replace("_", " ")


@dataclass(frozen=True, slots=True)
class MicrobeLine:
    """A limit for microbes or endotoxin. what: ``microbe`` or ``endotoxin``; fluid: such as ``water_standard``."""

    what: str
    fluid: str
    jurisdiction: str
    limit: MicrobeLimit
    source: str
    mark: str


@dataclass(frozen=True, slots=True)
class WaterLists:
    """All lists as shipped. jurisdictions: name to what the list is."""

    jurisdictions: Mapping[str, str]
    chemicals: tuple[WaterLimit, ...]
    microbes: tuple[MicrobeLine, ...]

    def chemical_list(self, jurisdiction: str) -> tuple[WaterLimit, ...]:
        """The chemical limits that hold in a place. Raises InputError for one without such a list."""
        found = tuple(one for one in self.chemicals if one.jurisdiction == jurisdiction)
        if not found:
            raise InputError("water_list.unknown", name=jurisdiction[:60])
        return found

    def microbe_line(self, what: str, fluid: str, jurisdiction: str) -> MicrobeLine:
        """The limit for ``microbe`` or ``endotoxin`` in a fluid. Raises InputError where the list has none."""
        for line in self.microbes:
            if (line.what, line.fluid, line.jurisdiction) == (what, fluid, jurisdiction):
                return line
        raise InputError("water_list.unknown", name=f"{jurisdiction}, {what}, {fluid}"[:60])


@lru_cache(maxsize=1)
def load_water_lists() -> WaterLists:
    """The lists as shipped. Raises RulebookFault where the file contradicts itself or the list of sources."""
    text = (resources.files("ebbwell.rulebook") / FILE).read_text("utf-8")
    return parse_water_lists(text)


def parse_water_lists(text: str) -> WaterLists:
    """The lists from their text. Raises RulebookFault as load_water_lists does."""
    try:
        data = tomllib.loads(text, parse_float=Decimal)
        lists = WaterLists(
            jurisdictions=data["jurisdiction"],
            chemicals=tuple(
                _chemical(item, where, row)
                for where, rows in data["chemical"].items()
                for item, row in rows.items()
            ),
            microbes=tuple(
                _microbe(what, fluid, where, row)
                for what in ("microbe", "endotoxin")
                for where, rows in data[what].items()
                for fluid, row in rows.items()
            ),
        )
        problems = _faults(lists)
    except (KeyError, TypeError, ValueError, ArithmeticError, UnitError) as why:
        raise RulebookFault(f"{FILE}: {why}") from why
    if problems:
        raise RulebookFault("; ".join(problems))
    return lists


def _chemical(item: str, where: str, row: dict[str, Any]) -> WaterLimit:
    given = {**row, "most": Decimal(row["most"])}
    printed = {unit: Decimal(most) for unit, most in given.pop("printed", {}).items()}
    return WaterLimit(item=item, jurisdiction=where, printed=printed, **given)


def _microbe(what: str, fluid: str, where: str, row: dict[str, Any]) -> MicrobeLine:
    given = dict(row)
    action = given.pop("action", None)
    limit = MicrobeLimit(
        Decimal(given.pop("below")), given.pop("unit"), None if action is None else Decimal(action)
    )
    return MicrobeLine(what, fluid, where, limit, **given)


def _faults(lists: WaterLists) -> list[str]:
    keys = {source.key for source in load_rulebook().sources()}
    out = []
    named = [(one.item, one.jurisdiction, one.source, one.mark) for one in lists.chemicals]
    named += [(f"{one.what} {one.fluid}", one.jurisdiction, one.source, one.mark) for one in lists.microbes]
    for name, jurisdiction, source, mark in named:
        if jurisdiction not in lists.jurisdictions:
            out.append(f"{name}: no such place {jurisdiction}")
        if source not in keys or mark not in SOURCE_KINDS:
            out.append(f"{name}: source or mark")
    for chemical in lists.chemicals:
        values = (chemical.most, *chemical.printed.values())
        units = (chemical.unit, *chemical.printed)
        if min(values) <= 0 or not chemical.form or any(parse_unit(unit) != unit for unit in units):
            out.append(f"{chemical.item}: value, unit or form")
    for line in lists.microbes:
        action = line.limit.action
        if line.limit.below <= 0 or (action is not None and not 0 < action < line.limit.below):
            out.append(f"{line.what} {line.fluid}: value or action level")
        if parse_unit(line.limit.unit) != line.limit.unit:
            out.append(f"{line.what} {line.fluid}: unit")
    return out
