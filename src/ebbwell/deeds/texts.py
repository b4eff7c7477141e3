"""Deeds about the household's own texts and ways: first actions, what is read out on the phone, fields of a reading."""

from __future__ import annotations

from datetime import date
from zoneinfo import ZoneInfo

from ebbwell.core.errors import InputError
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.house import SITUATIONS, EmergencyDetails, FieldOrder, FirstAction
from ebbwell.state.texts import texts_for


def write_first_action(
    desk: Desk, *, situation: str, words: str, signed_by: str, signed_on: str, valid_until: str = ""
) -> None:
    """Enter what the unit wants done first in a situation, in its own words, in the place of the text before.

    Refuses a situation that isn't one of ``SITUATIONS``, words that nobody signed, a date of signing that is none or
    still to come, and a last day before it. After the last day (YYYY-MM-DD, home zone) the words are void.
    """
    if situation not in SITUATIONS:
        raise InputError("enter.option", question="situation", options=", ".join(SITUATIONS))
    if not words.strip():
        raise InputError("enter.words")
    if not signed_by.strip():
        raise InputError("enter.signed_by")
    day = _day(signed_on, "enter.signed_on")
    if day > desk.now.at.astimezone(ZoneInfo(desk.now.zone)).date():
        raise InputError("enter.signed_on", typed=signed_on)
    if valid_until and _day(valid_until, "enter.valid_until") < day:
        raise InputError("enter.valid_until", typed=valid_until)
    older = texts_for(desk.standing, situation)
    desk.add(
        FirstAction(
            situation=situation,
            words=words.strip(),
            signed_by=signed_by.strip(),
            signed_on=signed_on,
            valid_until=valid_until,
        ),
        replaces=tuple(fact.id for fact in older),
        reason="written anew" if older else None,
        standing=True,
    )


def _day(typed: str, key: str) -> date:
    try:
        return date.fromisoformat(typed)
    except ValueError as why:
        raise InputError(key, typed=typed) from why


def enter_emergency_details(
    desk: Desk,
    *,
    number: str,
    address: str,
    how_to_find: str = "",
    unit_number: str = "",
    unit_hours: str = "",
    unit_other: str = "",
) -> None:
    """Enter the number to call, the address to read out, how to find the door, and the unit's numbers, in the place of
    those before.

    Nothing is filled in by the program. Refuses a number without a digit, and no address.
    """
    for one in (number, *(n for n in (unit_number, unit_other) if n.strip())):
        if not any(char.isdigit() for char in one):
            raise InputError("enter.phone_number", typed=one)
    if not address.strip():
        raise InputError("enter.address")
    older = desk.standing.of("emergency_details")
    desk.add(
        EmergencyDetails(
            number=number.strip(),
            address=address.strip(),
            how_to_find=how_to_find.strip(),
            unit_number=unit_number.strip(),
            unit_hours=unit_hours.strip(),
            unit_other=unit_other.strip(),
        ),
        replaces=tuple(fact.id for fact in older),
        reason="written anew" if older else None,
        standing=True,
    )


def order_fields(desk: Desk, *, fields: tuple[str, ...]) -> None:
    """Set which fields of a reading this household types, and in which order. What is left out isn't asked for.

    Refuses no fields, a name that no quantity has, and one named twice.
    """
    known = {quantity.id for quantity in desk.rulebook.quantities()}
    strange = [name for name in fields if name not in known]
    if strange or not fields or len(set(fields)) < len(fields):
        raise InputError("enter.fields", fields=", ".join(strange))
    older = desk.standing.of("field_order")
    desk.add(
        FieldOrder(fields=fields),
        replaces=tuple(fact.id for fact in older),
        reason="set anew" if older else None,
        standing=True,
    )
