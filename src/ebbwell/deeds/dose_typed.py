"""A dose as it is typed once it was given: held beside the order, and asked about where the two differ.

Nothing here works out a dose; a typed one is never changed.
"""

from __future__ import annotations

import re
from decimal import Decimal

from ebbwell.core.errors import InputError
from ebbwell.core.numbers import parse_decimal, plain
from ebbwell.deeds.desk import Desk
from ebbwell.rulebook.typed import Question, read_quantity
from ebbwell.state.night_thinner import FIRST_DOSE, READY_DOSE

SPELLINGS = {"iu": "IU", "i.u.": "IU", "units": "units", "unit": "units", "mg": "mg"}
"""How the label of a ready dose gives it. One is never made into another. Source: fluids:3.4."""

_DOSE = re.compile(r"(\d{1,3}(?:\s\d{3})+|\d[\d.,]*)\s*(I\.U\.|IU|units?|mg)(?![\w/])", re.IGNORECASE)
_TYPED = re.compile(r"(\d{1,3}(?:\s\d{3})+|\S*\d)\s*([A-Za-z.]+)(?:\s+anti-xa)?", re.IGNORECASE)


def read_ready_dose(typed: str) -> tuple[str, str]:
    """Number and unit of a ready dose, typed as its label says it: ``4000 IU``.

    Raises InputError without one of the units of a label: millilitres say nothing of how strong it is.
    """
    found = _TYPED.fullmatch(typed.strip())
    unit = SPELLINGS.get(found[2].casefold()) if found is not None else None
    if found is None or unit is None:
        raise InputError("enter.ready_dose", typed=typed.strip())
    return found[1], unit


def ordered_dose(said: str) -> tuple[Decimal, str] | None:
    """Number and unit of the ready dose in an order's words: ``4000 IU at the start``; None where they name none, or
    more than one. Only such an order can be held against what goes in.
    """
    doses = [(_amount(number), SPELLINGS[spelled.casefold()]) for number, spelled in _DOSE.findall(said)]
    if len(doses) != 1 or doses[0][0] is None:
        return None
    return doses[0][0], doses[0][1]


def read_given(desk: Desk, what: str, typed: str) -> Decimal:
    """A typed amount; a first dose of heparin also with its unit. Raises InputError for one that can't be read, and
    UnitError for a first dose in another unit than units.
    """
    return read_quantity(desk.rulebook, FIRST_DOSE, typed)[0] if what == FIRST_DOSE else parse_decimal(typed)


def giver(desk: Desk) -> str:
    """Who gave the order in force; "" for none, and while it waits for a check."""
    order = desk.scene.order
    return "" if order is None or order.waiting else order.body.giver


def dose_question(desk: Desk, what: str, amount: Decimal, unit: str) -> tuple[Question, ...]:
    """What to ask of a dose that isn't the ordered one, both side by side; () where they agree, and where the order in
    force says none that can be compared.

    amount: in ``unit``. Sources: fluids:3.1 (differs by any amount: show both), fluids:3.4 (units are never converted).
    """
    order = desk.scene.order
    if order is None or order.waiting or what not in (FIRST_DOSE, READY_DOSE):
        return ()
    said = order.lines.get(what, "")
    if what == FIRST_DOSE:
        return _first_dose(order.lines, said, amount)
    ordered = ordered_dose(said)
    if ordered in (None, (amount, unit)):
        return ()
    return (Question("ready_dose_apart", 1, (("ordered", said), ("value", f"{plain(amount)} {unit}"))),)


def _first_dose(lines: dict[str, str], said: str, amount: Decimal) -> tuple[Question, ...]:
    ordered, strength = _number(said), _number(lines.get("heparin_strength", ""))
    if ordered is None or amount == ordered:
        return ()
    params = {"ordered": f"{plain(ordered)} units", "value": f"{plain(amount)} units"}
    if strength is not None and amount and amount * strength == ordered:
        params["ml"] = f"{plain(amount)} mL"
        return (Question("dose_in_ml", 1, tuple(sorted(params.items()))),)
    return (Question("dose_apart", 1, tuple(sorted(params.items()))),)


def _number(text: str) -> Decimal | None:
    """The number that a line begins with."""
    return _amount(text.split(" ")[0])


def _amount(text: str) -> Decimal | None:
    try:
        return parse_decimal(text)
    except InputError:
        return None
