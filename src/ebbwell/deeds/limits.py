"""The deed of setting a limit to another figure."""

from __future__ import annotations

from decimal import Decimal

from ebbwell.core.errors import InputError
from ebbwell.core.numbers import parse_decimal, plain
from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.house import HEARD, LimitChanged
from ebbwell.rulebook.model import Limit
from ebbwell.rulebook.own_units import both
from ebbwell.state.limits import changes_of, own_values

PLACES = 3
"""Decimals a limit is typed with at most: the finest one is in hundredths. Source: rulebook/limits.toml."""


def change_limit(
    desk: Desk,
    *,
    limit: str,
    typed: str,
    again: str,
    reason: str,
    allowed_by: str = "",
    how: str = "",
) -> None:
    """Set a limit to another figure, for nights opened from here on; a stricter one holds for tonight at once.

    typed: the figure, with or without the limit's unit. again: the same, typed a second time. reason: why.
    allowed_by, how: who of the unit allowed it, and one of ``HEARD``; asked for where the clinic owns the limit.
    Refuses a limit that nobody moves and a figure outside its bounds (LimitRefused), two figures that differ, the
    figure that holds already, no reason, and for the clinic's limits no name or way.
    Source: design sections 5 and 6, practice hazard H67.
    """
    book = (desk.present or (desk.procedure, desk.rulebook))[1]
    held = book.limit(limit)
    value = _read(held, typed)
    book.with_limits({limit: value})
    if _read(held, again) != value:
        raise InputError("enter.limit_again", first=typed.strip(), second=again.strip())
    label = say(f"limit.{limit}")
    older = changes_of(desk.standing, limit)
    disagree = len({fact.says for fact in older}) > 1
    if value == held.value and not disagree:
        raise InputError("enter.limit_same", label=label, value=both(book.units, value, held.unit))
    if not reason.strip():
        raise InputError("enter.limit_reason")
    clinic = held.owner == "clinic"
    if clinic and not allowed_by.strip():
        raise InputError("enter.limit_allowed_by")
    if clinic and how not in HEARD:
        raise InputError("enter.limit_how")
    desk.add(
        LimitChanged(
            limit=limit,
            value=plain(value),
            unit=held.unit,
            reason=reason.strip(),
            allowed_by=allowed_by.strip(),
            how=how if clinic or allowed_by.strip() else "",
        ),
        replaces=tuple(fact.id for fact in older),
        reason="set anew" if older else None,
        standing=True,
    )


def _read(limit: Limit, typed: str) -> Decimal:
    number = typed.strip().removesuffix(limit.unit).strip()
    return parse_decimal(number, places=PLACES)


def disagreeing(desk: Desk) -> tuple[str, ...]:
    """Limits that were set to two figures apart; the stricter one holds until one is set anew."""
    book = (desk.present or (desk.procedure, desk.rulebook))[1]
    set_to = own_values(desk.standing, book)
    return tuple(
        id for id in sorted(set_to) if len({fact.says for fact in changes_of(desk.standing, id)}) > 1
    )
