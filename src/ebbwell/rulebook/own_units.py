"""The units that a household reads and types: which one a bare number stands in, and values shown in it.

What is stored and judged stays in the rulebook's own unit. A value is changed once, where it is typed, and once where
it is shown.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal, localcontext
from functools import lru_cache

from ebbwell.core.errors import UnitError
from ebbwell.core.numbers import NUMBER_PART, parse_decimal, plain, plain_digits
from ebbwell.core.reader import reader
from ebbwell.core.units import CONTEXT, convert, parse_unit
from ebbwell.rulebook.model import Limit, LineDef, QuantityDef, Rulebook

CHOICES: Mapping[str, tuple[str, ...]] = {
    "weight": ("kg", "lb"),
    "temperature": ("C", "F"),
    "glucose": ("mmol/L", "mg/dL"),
}
"""What a household can choose a unit for, and the units; the first one is the rulebook's own. Source: practice:a0."""

PLACES: Mapping[str, int] = {"kg": 1, "lb": 1, "C": 1, "F": 1, "mmol/L": 1, "mg/dL": 0}
"""Decimals that an instrument in this unit shows. Source: practice:a0 (kg, C, mmol/L, mg/dL); others common practice."""

OF_A_DAY = "/day"
"""Behind the unit of what is gained in a day; the number changes as the weight does."""

_SPLIT = re.compile(rf"({NUMBER_PART})\s*([^0-9\s].*)?", re.DOTALL)

MOST_PLACES = 6
"""Decimals that a figure is shown with at most."""

ROOM = 3
"""Decimals more than the field's that a changed value may keep, so that the typed number comes back from it."""


@lru_cache(maxsize=16)
def in_units(book: Rulebook, chosen: tuple[tuple[str, str], ...]) -> Rulebook:
    """The same rulebook, text and digest, for one that chose units: pairs of a name in ``CHOICES`` and a unit."""
    return replace(book, units=chosen) if chosen != book.units else book


def choice_of(item: QuantityDef | LineDef) -> str:
    """Under which choice a field falls; "" for one whose unit is the same in every household."""
    if isinstance(item, QuantityDef) and item.substance == "glucose":
        return "glucose"
    units = set(item.units)
    if item.unit == "kg" and "lb" in units:
        return "weight"
    return "temperature" if item.unit == "C" and "F" in units else ""


def typed_unit(book: Rulebook, item: QuantityDef | LineDef) -> str:
    """The unit that a bare number of a field is read in; "" where it is refused without one."""
    chosen = dict(book.units).get(choice_of(item), "")
    if chosen:
        return chosen
    return "" if isinstance(item, QuantityDef) and item.unit_needed else item.unit


def field_unit(book: Rulebook, name: str) -> str:
    """What stands beside the field of a quantity or a line: the unit of a bare number, or those to pick from.

    "" for a name that the rulebook doesn't know.
    """
    item = item_of(book, name)
    if item is None:
        return ""
    return typed_unit(book, item) or " / ".join(item.units)


def item_of(book: Rulebook, name: str) -> QuantityDef | LineDef | None:
    """The quantity of a name, else the line; None for neither."""
    items: dict[str, QuantityDef | LineDef] = {line.id: line for line in book.lines()}
    items |= {quantity.id: quantity for quantity in book.quantities()}
    return items.get(name)


def changed_to(value: Decimal, unit: str, to: str, places: int, substance: str | None = None) -> Decimal:
    """A typed value in another unit, to ``places`` decimals, or as many more as bring the typed number back from it.

    142.3 lb to one decimal would be 64.5 kg, which is 142.2 lb: so it is kept as 64.55 kg.
    Raises UnitError as ``convert`` does.
    """
    exact = convert(value, unit, to, substance)
    exponent = value.as_tuple().exponent
    digits = max(0, -exponent) if isinstance(exponent, int) else 0
    for more in range(ROOM):
        short = rounded(exact, places + more)
        if rounded(convert(short, to, unit, substance), digits) == value:
            return short
    return rounded(exact, places + ROOM)


def rounded(value: Decimal, places: int) -> Decimal:
    """To so many decimals, halves up."""
    with localcontext(CONTEXT):
        return value.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)


def in_own(book: Rulebook, item: QuantityDef | LineDef, value: Decimal) -> tuple[Decimal, str]:
    """A stored value as this household reads it, and its unit: as it is where no other unit was chosen."""
    unit = typed_unit(book, item) or item.unit
    if unit == item.unit:
        return value, unit
    substance = item.substance if isinstance(item, QuantityDef) else ""
    return rounded(convert(value, item.unit, unit, substance or None), PLACES[unit]), unit


def said(book: Rulebook, item: QuantityDef | LineDef, value: Decimal) -> str:
    """A stored value with its unit, in the household's unit first: ``142.2 lb (64.5 kg)``, or ``64.5 kg`` alone."""
    substance = item.substance if isinstance(item, QuantityDef) else ""
    return both(book.units, value, item.unit, substance)


def said_apart(book: Rulebook, item: QuantityDef | LineDef, apart: Decimal) -> str:
    """How far two values lie from each other, as ``said``: a difference of 0.5 C is 0.9 F."""
    substance = item.substance if isinstance(item, QuantityDef) else ""
    return both(book.units, apart, item.unit, substance, apart=True)


Units = tuple[tuple[str, str], ...]
"""Pairs of a name in ``CHOICES`` and a unit, as a household chose them."""


def read_in(units: Units, unit: str, substance: str = "") -> str:
    """The unit in which a kept one is read: ``lb`` for ``kg`` and ``lb/day`` for ``kg/day`` where lb was chosen.

    substance: what an amount in a litre is of; only glucose has a choice. A unit without a choice is read as it is.
    """
    day = OF_A_DAY if unit.endswith(OF_A_DAY) else ""
    kept = unit.removesuffix(OF_A_DAY)
    for name, symbols in CHOICES.items():
        if kept == symbols[0] and (name != "glucose" or substance == "glucose"):
            return f"{dict(units).get(name, '') or kept}{day}"
    return unit


def changed_exactly(
    value: Decimal, unit: str, to: str, substance: str = "", *, apart: bool = False
) -> Decimal:
    """A kept value in the unit it is read in, not rounded. apart: a difference, so that 0.5 C is 0.9 F."""
    old, new = unit.removesuffix(OF_A_DAY), to.removesuffix(OF_A_DAY)
    there = convert(value, old, new, substance or None)
    if apart and new == "F":
        with localcontext(CONTEXT):
            return there - convert(Decimal(0), old, new)
    return there


def kept_from(
    value: Decimal, unit: str, to: str, places: int, substance: str = "", *, apart: bool = False
) -> Decimal:
    """A typed value in the unit it is kept in, as ``changed_to``. apart: a difference, so that 0.9 F is 0.5 C.

    Raises UnitError as ``convert`` does.
    """
    if not apart or {unit, to} != {"C", "F"}:
        return changed_to(value, unit, to, places, substance or None)
    with localcontext(CONTEXT):
        exact = convert(value, unit, to) - convert(Decimal(0), unit, to)
    return rounded(exact, places + ROOM).normalize()


def limit_apart(book: Rulebook, limit: str) -> bool:
    """Whether a limit says how far two values may lie from each other, rather than where one of them lies."""
    return any(limit in rule.limit and rule.other for rule in book.rules())


def limit_substance(book: Rulebook, limit: str) -> str:
    """What an amount in a litre is of, by the quantities that a limit is for; "" where that says nothing."""
    known = {quantity.id: quantity.substance for quantity in book.quantities()}
    facts = (rule.fact.partition("@")[0] for rule in book.rules() if limit in rule.limit)
    return next((known[fact] for fact in facts if known.get(fact)), "")


def limit_unit(book: Rulebook, limit: Limit) -> str:
    """The unit that a bare figure of a limit is typed in: the household's own, where it chose one."""
    return read_in(book.units, limit.unit, limit_substance(book, limit.id))


def read_limit(book: Rulebook, limit: Limit, typed: str, places: int) -> Decimal:
    """A typed figure of a limit in the limit's unit; a bare number stands in the household's.

    places: decimals that it is typed with at most. Raises InputError for what is no number, and UnitError for a unit
    that isn't known or is of another kind. Source: practice:a0.
    """
    number, named = split_unit(typed)
    if limit.unit and typed.strip().endswith(limit.unit):
        number, named = typed.strip().removesuffix(limit.unit).strip(), limit.unit
    value = parse_decimal(number, places=places)
    unit = named or limit_unit(book, limit)
    if unit == limit.unit:
        return value
    day = OF_A_DAY if limit.unit.endswith(OF_A_DAY) else ""
    if day and not unit.endswith(day):
        raise UnitError("unit.other_kind", unit=unit, to=limit_unit(book, limit))
    symbol, kept = parse_unit(unit.removesuffix(day)), limit.unit.removesuffix(day)
    shown = PLACES.get(kept, places)
    substance = limit_substance(book, limit.id)
    try:
        return kept_from(value, symbol, kept, shown, substance, apart=limit_apart(book, limit.id))
    except UnitError as why:
        raise UnitError("unit.other_kind", unit=unit, to=limit_unit(book, limit)) from why


def places_of(unit: str) -> int:
    """Decimals that a value of a chosen unit is shown with."""
    return PLACES[unit.removesuffix(OF_A_DAY)]


def places_apart(values: Collection[Decimal], places: int) -> int:
    """``places``, or as many more as keep values that differ from showing the same figure; at most 6.

    So what lies over a limit is never shown at it. Source: design rule (practice hazards H6).
    """
    unlike = len(set(values))
    for more in range(places, MOST_PLACES):
        if len({rounded(value, more) for value in values}) == unlike:
            return more
    return MOST_PLACES


def both(
    units: Units,
    value: Decimal,
    unit: str,
    substance: str = "",
    *,
    apart: bool = False,
    places: int | None = None,
) -> str:
    """A kept value with its unit, and as it is read where another unit was chosen: ``142.2 lb (64.5 kg)``.

    A reader with the kept figure first has ``64.5 kg = 142.2 lb``. places: decimals of the figure in the other unit.
    """
    kept = f"{plain(value)} {unit}".rstrip()
    to = read_in(units, unit, substance)
    if to == unit:
        return kept
    digits = places_of(to) if places is None else places
    shown = f"{plain(rounded(changed_exactly(value, unit, to, substance, apart=apart), digits))} {to}"
    return f"{kept} = {shown}" if reader().kept_first else f"{shown} ({kept})"


def split_unit(typed: str) -> tuple[str, str]:
    """A typed text as its number and its unit; the text itself and "" where it isn't so made."""
    parts = _SPLIT.fullmatch(plain_digits(typed).strip()) if len(typed) <= 80 else None
    return (parts[1].strip(), (parts[2] or "").strip()) if parts else (typed, "")


def entered(rulebook: Rulebook, name: str, typed: str, unit: str | None = None) -> str:
    """What was typed with the unit it was read in, where that isn't the one it is kept in: ``142.2 lb``; "" else.

    name: of a quantity, or of a line; only where a household can choose the unit.
    """
    item = item_of(rulebook, name)
    if item is None or not choice_of(item):
        return ""
    number, typed_with = split_unit(typed)
    symbol = parse_unit(typed_with or unit or typed_unit(rulebook, item) or item.unit)
    return "" if symbol == item.unit else f"{number} {symbol}"
