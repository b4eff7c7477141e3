"""The deed of setting a limit to another figure."""

from __future__ import annotations

from decimal import Decimal

from ebbwell.core.errors import InputError
from ebbwell.core.numbers import plain
from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.house import HEARD, LimitChanged
from ebbwell.rulebook.model import Limit, LimitRefused, Rulebook
from ebbwell.rulebook.own_units import both, limit_apart, limit_substance, read_limit
from ebbwell.state.facts import differ
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

    typed: the figure, in the household's unit or with another one. again: the same, typed a second time. reason: why.
    allowed_by, how: who of the unit allowed it, and one of ``HEARD``; asked for where the clinic owns the limit.
    Refuses a limit that nobody moves and a figure outside its bounds (LimitRefused), a unit of another kind
    (UnitError), two figures that differ, the figure that holds already, no reason, and for the clinic's limits no name
    or way.
    Source: design sections 5 and 6, practice hazard H67.
    """
    book = (desk.present or (desk.procedure, desk.rulebook))[1]
    held = book.limit(limit)
    value = read_limit(book, held, typed, PLACES)
    _inside(book, held, value)
    if read_limit(book, held, again, PLACES) != value:
        raise InputError("enter.limit_again", first=typed.strip(), second=again.strip())
    label = say(f"limit.{limit}")
    older = changes_of(desk.standing, limit)
    disagree = differ(older)
    if value == held.value and not disagree:
        raise InputError("enter.limit_same", label=label, value=_shown(book, held, value))
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


def _inside(book: Rulebook, limit: Limit, value: Decimal) -> None:
    """Raise LimitRefused for a figure that the limit can't have, its bounds in the household's unit."""
    try:
        book.with_limits({limit.id: value})
    except LimitRefused as why:
        if why.key != "limit.outside_bounds":
            raise
        ends = {"lowest": _shown(book, limit, limit.lowest), "highest": _shown(book, limit, limit.highest)}
        raise LimitRefused(why.key, label=say(f"limit.{limit.id}"), **ends) from why


def _shown(book: Rulebook, limit: Limit, value: Decimal) -> str:
    substance, apart = limit_substance(book, limit.id), limit_apart(book, limit.id)
    return both(book.units, value, limit.unit, substance, apart=apart)


def disagreeing(desk: Desk) -> tuple[str, ...]:
    """Limits that were set to two figures apart; the stricter one holds until one is set anew."""
    book = (desk.present or (desk.procedure, desk.rulebook))[1]
    set_to = own_values(desk.standing, book)
    return tuple(id for id in sorted(set_to) if differ(changes_of(desk.standing, id)))
