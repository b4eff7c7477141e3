"""Figures as the reader has them: in the units the household chose, with a mark between thousands.

Here alone a kept figure is changed for a page or a paper. What is judged and what is kept stay as they are. Who reads
is chosen once around a page (``core.reader``). Rates for each kg, machine settings in mL, and what the meter's own
reference temperature is stay in their unit. Source: practice:a0, practice hazards H6.
"""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Final

from ebbwell.core.numbers import plain
from ebbwell.core.reader import reader
from ebbwell.core.thousands import thousands
from ebbwell.rulebook.own_units import both as both_units
from ebbwell.rulebook.own_units import changed_exactly, places_of, read_in, rounded

_KEPT: Final = re.compile(r"(-?[0-9]+(?:\.[0-9]+)?) (\S+)")


def unit_here(unit: str, substance: str = "") -> str:
    """The unit that the reader has a kept one in."""
    return read_in(reader().units, unit, substance)


def number_here(
    value: Decimal, unit: str, substance: str = "", *, places: int | None = None, apart: bool = False
) -> str:
    """The number alone, in the reader's unit; as it is where that is the kept one.

    places: decimals of the number in the other unit; as an instrument shows it unless told. apart: of a difference.
    """
    to = unit_here(unit, substance)
    if to == unit:
        return plain(value)
    digits = places_of(to) if places is None else places
    return plain(rounded(changed_exactly(value, unit, to, substance, apart=apart), digits))


def own(
    value: Decimal, unit: str, substance: str = "", *, places: int | None = None, apart: bool = False
) -> str:
    """A figure in the reader's unit alone: ``142.2 lb``. On a paper for the clinic the kept one stands before it."""
    if reader().kept_first:
        return both(value, unit, substance, places=places, apart=apart)
    number = number_here(value, unit, substance, places=places, apart=apart)
    return thousands(f"{number} {unit_here(unit, substance)}".rstrip())


def both(
    value: Decimal, unit: str, substance: str = "", *, places: int | None = None, apart: bool = False
) -> str:
    """A figure of the order or one read off, in the reader's unit with the kept one beside it: ``142.2 lb (64.5 kg)``.

    So two who read the order and the page aloud to each other have one number in common.
    """
    return thousands(both_units(reader().units, value, unit, substance, places=places, apart=apart))


def own_text(text: str, substance: str = "") -> str:
    """A figure kept as text, such as ``64.5 kg``, as ``own``; anything else with a mark between thousands."""
    found = _KEPT.fullmatch(text)
    return own(Decimal(found[1]), found[2], substance) if found is not None else thousands(text)


def both_text(text: str, substance: str = "", *, apart: bool = False) -> str:
    """A figure kept as text as ``both``; anything else with a mark between thousands."""
    found = _KEPT.fullmatch(text)
    return both(Decimal(found[1]), found[2], substance, apart=apart) if found is not None else thousands(text)
