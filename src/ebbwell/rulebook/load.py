"""Reads the rulebook's data files, checks them, and gives them one canonical text with a digest."""

from __future__ import annotations

import hashlib
import json
import tomllib
from collections.abc import Mapping
from decimal import Decimal
from functools import lru_cache
from importlib import resources
from typing import Any, TypeVar

import msgspec

from ebbwell.core.numbers import plain
from ebbwell.rulebook.model import (
    GRADES,
    KINDS,
    OWNERS,
    SOURCE_KINDS,
    FactDef,
    Limit,
    LineDef,
    QuantityDef,
    Rule,
    Rulebook,
    Source,
)

FILES = ("sources.toml", "quantities.toml", "limits.toml")

S = TypeVar("S", bound=msgspec.Struct)


class RulebookFault(ValueError):
    """The data files contradict themselves: a fault of the program, found when it starts."""


@lru_cache(maxsize=1)
def load_rulebook() -> Rulebook:
    """The rulebook as shipped. Raises RulebookFault when its files contradict themselves."""
    data: dict[str, Any] = {}
    folder = resources.files("ebbwell.rulebook")
    for name in FILES:
        data.update(tomllib.loads((folder / name).read_text("utf-8"), parse_float=Decimal))
    return parse_rulebook(json.dumps(_canonical(data), ensure_ascii=False, indent=0))


@lru_cache(maxsize=8)
def parse_rulebook(text: str) -> Rulebook:
    """The rulebook from its canonical text, as a treatment pins it.

    Raises RulebookFault for text that isn't a whole rulebook.
    """
    try:
        data = json.loads(text)
        book = Rulebook(
            text=text,
            digest=hashlib.sha256(text.encode()).hexdigest(),
            _sources=_table(data["source"], Source),
            _quantities=_table(data["quantity"], QuantityDef),
            _lines=_table(data["line"], LineDef),
            _facts=_table(data["fact"], FactDef),
            _limits=_table(data["limit"], Limit),
            _rules=_table(data["rule"], Rule),
        )
    except (KeyError, TypeError, ValueError, msgspec.ValidationError) as why:
        raise RulebookFault(f"not a rulebook: {why}") from why
    problems = faults(book)
    if problems:
        raise RulebookFault("; ".join(problems))
    return book


def with_values(book: Rulebook, changes: Mapping[str, Decimal]) -> Rulebook:
    """The same rulebook with other values of limits. Bounds are checked by Rulebook.with_limits."""
    data = json.loads(book.text)
    for id, value in changes.items():
        data["limit"][id]["value"] = plain(value)
    return parse_rulebook(json.dumps(data, ensure_ascii=False, indent=0))


def _canonical(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _canonical(part) for key, part in value.items()}
    if isinstance(value, list):
        return [_canonical(part) for part in value]
    return plain(value) if isinstance(value, Decimal) else value


def _table(rows: Mapping[str, Any], kind: type[S]) -> dict[str, S]:
    name = "key" if kind is Source else "id"
    return {key: msgspec.convert({**row, name: key}, kind) for key, row in rows.items()}


def faults(book: Rulebook) -> list[str]:
    """What contradicts itself in a rulebook; empty for a sound one."""
    keys = {source.key for source in book.sources()}
    out = [f"source {s.key}: kind {s.kind}" for s in book.sources() if s.kind not in SOURCE_KINDS]
    named = [(item.id, item.source) for item in book.quantities()]
    named += [(item.id, item.source) for item in book.lines()]
    named += [(item.id, item.source) for item in book.limits()]
    out += [f"{id}: no source {source}" for id, source in named if source not in keys]
    for quantity in book.quantities():
        out += _range_faults(quantity)
    for limit in book.limits():
        if not limit.lowest <= limit.value <= limit.highest:
            out.append(f"limit {limit.id}: value outside its own bounds")
        if limit.owner not in OWNERS or limit.tighten not in ("up", "down") or limit.mark not in SOURCE_KINDS:
            out.append(f"limit {limit.id}: owner, direction or mark")
        if limit.owner == "fixed" and limit.lowest != limit.highest:
            out.append(f"limit {limit.id}: fixed, yet has room to move")
    limits = {limit.id for limit in book.limits()}
    rules = {rule.id: rule for rule in book.rules()}
    for rule in rules.values():
        out += _rule_faults(rule, keys, limits, rules)
    return out


def _range_faults(quantity: QuantityDef) -> list[str]:
    ends = [quantity.never_below, quantity.last_low, quantity.ask_low]
    ends += [quantity.ask_high, quantity.last_high, quantity.never_above]
    known = [end for end in ends if end is not None]
    out = [] if known == sorted(known) else [f"quantity {quantity.id}: ranges cross"]
    if quantity.unit not in quantity.units:
        out.append(f"quantity {quantity.id}: own unit can't be typed")
    return out


def _rule_faults(rule: Rule, keys: set[str], limits: set[str], rules: Mapping[str, Rule]) -> list[str]:
    out = []
    count, compares = KINDS.get(rule.kind, (-1, False))
    if rule.grade not in GRADES or len(rule.limit) != count or bool(rule.other) != compares:
        out.append(f"rule {rule.id}: grade, kind, limits or other fact")
    if not rule.sources or not keys.issuperset(rule.sources) or not limits.issuperset(rule.limit):
        out.append(f"rule {rule.id}: unknown source or limit")
    for name in rule.yields_to:
        stronger = rules.get(name)
        weaker = {"stop": ("care", "note"), "care": ("note",)}.get(rule.grade, ())
        if stronger is None or stronger.grade in weaker:
            out.append(f"rule {rule.id}: yields to {name}, which is missing or weaker")
    return out
