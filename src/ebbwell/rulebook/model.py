"""What the rulebook is made of: sources, quantities, lines of a prescription, limits, rules."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import cached_property
from typing import TypeVar

import msgspec

from ebbwell.core.errors import InputError
from ebbwell.core.numbers import plain
from ebbwell.core.text import say

T = TypeVar("T")

SOURCE_KINDS = ("published", "weak", "common practice", "from memory", "arithmetic", "design")
"""How well a figure is founded. weak: second-hand or a teaching page."""

OWNERS = ("clinic", "household", "fixed")

GRADES = ("stop", "care", "note")

KINDS: Mapping[str, tuple[int, bool]] = {
    "above": (1, False),
    "at_or_above": (1, False),
    "below": (1, False),
    "at_or_below": (1, False),
    "outside": (2, False),
    "above_other": (0, True),
    "below_other": (0, True),
    "at_or_above_other": (0, True),
    "at_or_below_other": (0, True),
    "differs": (1, True),
    "at_least_apart": (1, True),
    "differs_percent": (1, True),
    "rises_percent": (1, True),
    "falls": (1, True),
    "falls_more": (1, True),
    "factor": (1, True),
    "times": (1, True),
    "not_equal": (0, True),
    "word": (0, False),
    "not_word": (0, False),
    "not_word_nor_under": (1, False),
    "is_true": (0, False),
    "is_false": (0, False),
    "missing": (0, False),
    "last_range": (0, False),
}
"""Kind of rule to the number of limits it takes and whether it compares with another fact.

``falls``: at least the limit under the other; ``falls_more``: more than it. ``factor``: the larger over the
smaller is at least the limit; ``times``: this over the other is. ``not_word_nor_under``: a word that isn't among
the words, or a number over the limit.
"""


class LimitRefused(InputError):
    """A limit may not be set to this value: outside its bounds, or nobody may move it."""

    exit_code = 16


class Source(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Where a figure comes from. kind: one of SOURCE_KINDS."""

    title: str
    kind: str
    where: str
    key: str = ""


class Near(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """How far a quantity may lie from another field before it is asked, in its unit or in percent.

    above_a_day: for each day since the other was taken (``days_since_last`` among the others).
    """

    other: str
    below: Decimal | None = None
    above: Decimal | None = None
    below_percent: Decimal | None = None
    above_percent: Decimal | None = None
    above_a_day: Decimal | None = None


class QuantityDef(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A field that takes a figure. The meaning of each item stands at the top of quantities.toml."""

    unit: str
    places: int
    step: Decimal
    units: tuple[str, ...]
    source: str
    id: str = ""
    ask_low: Decimal | None = None
    ask_high: Decimal | None = None
    last_low: Decimal | None = None
    last_high: Decimal | None = None
    never_below: Decimal | None = None
    never_above: Decimal | None = None
    at: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    sign: str = ""
    below: bool = False
    unit_needed: bool = False
    blind: bool = False
    substance: str = ""
    slips: tuple[Decimal, ...] = (Decimal(10), Decimal("0.1"))
    own_below: Decimal | None = None
    own_above: Decimal | None = None
    own_percent: Decimal | None = None
    own_factor: Decimal | None = None
    own_least: int = 3
    expected_within: Decimal | None = None
    expected_percent: Decimal | None = None
    near: tuple[Near, ...] = ()
    more_than: str = ""
    less_than: str = ""
    gap: Decimal = Decimal(0)
    swaps_with: str = ""
    fahrenheit_low: Decimal | None = None
    fahrenheit_high: Decimal | None = None


class LineDef(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A line of the prescription.

    loosens: the direction that carries more risk (``up``, ``down``, ``any``, ``none``). required_if,
    required_unless: ``line=word``; with the second it is needed where that line is another word, or isn't there.
    form ``parts``: a dilution, written ``1 + 34`` or ``35``; ``shares``: per cents of a whole, ``30 25 25 20``.
    """

    kind: str
    source: str
    id: str = ""
    unit: str = ""
    units: tuple[str, ...] = ()
    places: int = 0
    low: Decimal | None = None
    high: Decimal | None = None
    options: tuple[str, ...] = ()
    required: bool = False
    required_if: str = ""
    required_unless: str = ""
    loosens: str = "any"
    sign: str = ""
    form: str = ""

    def needed(self, lines: Mapping[str, str]) -> bool:
        """Whether a prescription with these lines has to have this one."""
        name, _, word = self.required_if.partition("=")
        other, _, spared = self.required_unless.partition("=")
        if other:
            return lines.get(other) != spared
        return self.required or (bool(name) and lines.get(name) == word)

    def possible(self, lines: Mapping[str, str]) -> bool:
        """Whether a prescription with these lines can have this one at all: no acid where the fluid comes in bags."""
        return not (self.required_if or self.required_unless) or self.needed(lines)

    def looser(self, old: str, new: str) -> bool:
        """Whether going from one value to the other is in the direction that carries more risk."""
        if old == new or self.loosens == "none":
            return False
        if self.loosens == "any" or self.kind != "number":
            return True
        rise = Decimal(new) - Decimal(old)
        return rise > 0 if self.loosens == "up" else rise < 0


class Limit(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A figure that rules judge by. tighten: the stricter direction, ``down`` or ``up``."""

    value: Decimal
    unit: str
    owner: str
    lowest: Decimal
    highest: Decimal
    tighten: str
    source: str
    mark: str
    id: str = ""

    def looser(self, value: Decimal) -> bool:
        """Whether another value would be less strict than this one."""
        return value > self.value if self.tighten == "down" else value < self.value


class FactDef(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A fact that is neither a quantity nor a line of the prescription."""

    unit: str = ""
    words: tuple[str, ...] = ()
    yes_no: bool = False
    id: str = ""


class Rule(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """How facts become a finding. ``next`` is the wording key ``next.<next>`` of what to do."""

    grade: str
    kind: str
    fact: str
    sources: tuple[str, ...]
    next: str
    id: str = ""
    other: str = ""
    limit: tuple[str, ...] = ()
    at: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    unless: tuple[str, ...] = ()
    yields_to: tuple[str, ...] = ()
    hazards: tuple[str, ...] = ()

    def keys(self) -> tuple[tuple[str, str], ...]:
        """Pairs of fact and other fact that the rule judges, one for each place."""
        return tuple((_filled(self.fact, at), _filled(self.other, at)) for at in self.at or ("",))


def _filled(template: str, at: str) -> str:
    return template.replace("{at}", at).rstrip("@")


@dataclass(frozen=True)
class Rulebook:
    """All limits, rules and sources of one version. digest: SHA-256 of text, the canonical form.

    base: digest of the rulebook that this one was made from by setting limits; "" for one as it was read. units: those
    that the household chose to type and read in (``own_units``); they change neither text nor digest.
    """

    text: str
    digest: str
    _sources: Mapping[str, Source] = field(repr=False, compare=False)
    _quantities: Mapping[str, QuantityDef] = field(repr=False, compare=False)
    _lines: Mapping[str, LineDef] = field(repr=False, compare=False)
    _facts: Mapping[str, FactDef] = field(repr=False, compare=False)
    _limits: Mapping[str, Limit] = field(repr=False, compare=False)
    _rules: Mapping[str, Rule] = field(repr=False, compare=False)
    base: str = ""
    units: tuple[tuple[str, str], ...] = ()

    @cached_property
    def pairs(self) -> Mapping[str, tuple[tuple[str, str], ...]]:
        """Rule id to the pairs of facts that it judges."""
        return {id: rule.keys() for id, rule in self._rules.items()}

    @cached_property
    def judges(self) -> Mapping[str, tuple[str, ...]]:
        """Key of a fact to the ids of the rules that judge it, in the rulebook's order."""
        found: dict[str, list[str]] = {}
        for id, pairs in self.pairs.items():
            for key in dict.fromkeys(key for key, _ in pairs):
                found.setdefault(key, []).append(id)
        return {key: tuple(ids) for key, ids in found.items()}

    @cached_property
    def order(self) -> Mapping[str, int]:
        """Rule id to its place in the rulebook."""
        return {id: place for place, id in enumerate(self._rules)}

    def source(self, key: str) -> Source:
        """The source by its key, such as ``fluids:W1``. Raises InputError for an unknown one."""
        return _found(self._sources, key, "source.unknown")

    def sources(self) -> tuple[Source, ...]:
        """All sources."""
        return tuple(self._sources.values())

    def quantity(self, id: str) -> QuantityDef:
        """The quantity by its id, such as ``total_chlorine``. Raises InputError for an unknown one."""
        return _found(self._quantities, id, "quantity.unknown")

    def quantities(self) -> tuple[QuantityDef, ...]:
        """All quantities."""
        return tuple(self._quantities.values())

    def line(self, id: str) -> LineDef:
        """The line of a prescription by its id. Raises InputError for an unknown one."""
        return _found(self._lines, id, "line.unknown")

    def lines(self) -> tuple[LineDef, ...]:
        """All lines of a prescription, in the order of the paper."""
        return tuple(self._lines.values())

    def limit(self, id: str) -> Limit:
        """The limit by its id. Raises InputError for an unknown one."""
        return _found(self._limits, id, "limit.unknown")

    def limits(self) -> tuple[Limit, ...]:
        """All limits."""
        return tuple(self._limits.values())

    def rule(self, id: str) -> Rule:
        """The rule by its id. Raises InputError for an unknown one."""
        return _found(self._rules, id, "rule.unknown")

    def rules(self) -> tuple[Rule, ...]:
        """All rules."""
        return tuple(self._rules.values())

    def facts(self) -> tuple[FactDef, ...]:
        """Facts that are neither a quantity nor a line of the prescription."""
        return tuple(self._facts.values())

    def unit_of(self, key: str) -> str | None:
        """The unit of a fact by its key (``total_chlorine@tank1``); None where it has none."""
        base, _, where = key.partition("@")
        line = self._lines.get(base)
        if where in ("prescribed", "label") and line is not None:
            return line.unit or None
        if base in self._quantities:
            return self._quantities[base].unit
        if line is not None:
            return line.unit or None
        fact = self._facts.get(base)
        return fact.unit or None if fact is not None else None

    def quantity_of(self, key: str) -> QuantityDef | None:
        """The quantity that a fact's key speaks of, if it is one."""
        base, _, where = key.partition("@")
        return None if where == "prescribed" else self._quantities.get(base)

    def with_limits(self, changes: Mapping[str, Decimal]) -> Rulebook:
        """The same rulebook with some limits set to other values.

        Raises LimitRefused where a limit is fixed or the value lies outside its bounds.
        """
        from ebbwell.rulebook.load import with_values

        for id, value in changes.items():
            limit = self.limit(id)
            label = say(f"limit.{id}")
            if limit.owner == "fixed":
                raise LimitRefused("limit.fixed", label=label, value=f"{plain(limit.value)} {limit.unit}")
            if not value.is_finite() or not limit.lowest <= value <= limit.highest:
                raise LimitRefused(
                    "limit.outside_bounds",
                    label=label,
                    lowest=f"{plain(limit.lowest)} {limit.unit}",
                    highest=f"{plain(limit.highest)} {limit.unit}",
                )
        return replace(with_values(self, changes), base=self.base or self.digest)


def _found(table: Mapping[str, T], id: str, key: str) -> T:
    value = table.get(id)
    if value is None:
        raise InputError(key, name=id[:60])
    return value
