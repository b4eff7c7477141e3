"""The deed of setting a line of a list of chemical limits: stricter than the list, or one that the list lacks."""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal

from ebbwell.core.errors import EbbwellError, InputError
from ebbwell.core.numbers import parse_limit, plain, refuse_two_numbers
from ebbwell.core.units import convert, in_water, parse_unit
from ebbwell.deeds.desk import Desk, ask_first
from ebbwell.deeds.water_typed import Form, split, why_words
from ebbwell.journal.kinds.house import HEARD
from ebbwell.journal.kinds.water import WaterLineSet
from ebbwell.rulebook.water_lists import OWN_ITEM, item_words, load_water_lists
from ebbwell.science.water_report import WaterLimit
from ebbwell.state.water import chemical_lists, today
from ebbwell.state.water_lines import list_now, own_lines

LINE_UNITS = ("mg/L", "ug/L")
"""Units of a line."""

ANOTHER = "another"
"""Picked for an item that no list has; it is then named."""

PLACES = 6
"""Decimals a figure is typed with at most; the finest on a list has four. Source: rulebook/water_lists.toml."""

MOST = Decimal(10000)
"""A figure over this [mg/L] is no limit of dialysis water: the highest on a list is 100. Own choice."""


def items(desk: Desk) -> tuple[str, ...]:
    """Every item that a list has, as shipped or by the clinic, in the lists' order."""
    shipped = [limit.item for limit in load_water_lists().chemicals]
    own = [limit.item for place in chemical_lists() for limit in list_now(desk.standing, place)]
    return tuple(dict.fromkeys([*shipped, *own]))


def read_line(desk: Desk, typed: Mapping[str, str]) -> tuple[WaterLineSet, Form]:
    """A line as typed, with what is wrong in it.

    typed: ``list``, ``item`` (one of ``items`` or ``another``, then ``name``), ``take_off`` (``yes`` for an added line
    that is to go), ``unit``, ``most`` and ``again`` (the figure, twice), ``stands_in``, ``allowed_by``, ``how``.
    """
    form = Form(typed, today(desk.now))
    place = form.pick("list", chemical_lists())
    item = _item(desk, form)
    held = {limit.item: limit for limit in list_now(desk.standing, place)} if place else {}
    shipped = {limit.item for limit in load_water_lists().chemical_list(place)} if place else set()
    gone = form.pick("take_off", ("yes", "no"), needed=False) == "yes"
    if gone and (item in shipped or item not in held):
        form.wrong["take_off"] = InputError("water.line_not_added", label=form.label("take_off"))
    unit = "" if gone else form.pick("unit", LINE_UNITS)
    most = None if gone else _twice(form, unit)
    body = WaterLineSet(
        list=place,
        item=item,
        most="" if most is None else plain(most),
        unit=unit,
        stands_in=form.text("stands_in", needed=True),
        allowed_by=form.text("allowed_by", needed=True),
        how=form.pick("how", HEARD),
    )
    if most is not None and place and item:
        _against(form, body, most, held.get(item), item in shipped)
    return body, form


def _item(desk: Desk, form: Form) -> str:
    """The item that was picked; one that was named goes by a list's own name where a list has it."""
    item = form.pick("item", (*items(desk), ANOTHER))
    if item != ANOTHER:
        return item
    name = form.text("name", needed=True)
    named = " ".join(re.sub(r"[^\w-]+", " ", name).split())
    if name and not named:
        form.wrong["name"] = InputError("water.words_needed", label=form.label("name"))
    same = next((one for one in items(desk) if item_words(one).casefold() == named.casefold()), "")
    return same or (f"{OWN_ITEM}{named.replace(' ', '_')}" if named else "")


def _twice(form: Form, unit: str) -> Decimal | None:
    first, second = (_figure(form, name, unit) for name in ("most", "again"))
    if first is not None and second is not None and first != second:
        form.wrong["again"] = InputError(
            "enter.limit_again", first=form.typed["most"].strip(), second=form.typed["again"].strip()
        )
    return first if "again" not in form.wrong else None


def _figure(form: Form, name: str, unit: str) -> Decimal | None:
    typed = form.typed.get(name, "").strip()
    if not typed:
        form.wrong[name] = InputError("water.number_needed", label=form.label(name), unit=unit or "mg/L")
        return None
    number, behind = split(typed)
    behind = in_water(behind)
    try:
        refuse_two_numbers(typed)
        value, below = parse_limit(number, places=PLACES)
        if below:
            raise InputError("water.no_less_than")
        if behind and unit:
            value = convert(value, parse_unit(behind), unit)
        if not unit:
            return None
        if not 0 < convert(value, unit, "mg/L") <= MOST:
            raise InputError("water.under_nothing")
    except EbbwellError as why:
        form.wrong[name] = InputError("water.wrong", label=form.label(name), why=why_words(why))
        return None
    return value.normalize()


def _against(form: Form, body: WaterLineSet, most: Decimal, held: WaterLimit | None, shipped: bool) -> None:
    """Note a figure over the list's own, and one that holds already."""
    if held is None:
        return
    label = form.label("most")
    value = convert(most, body.unit, held.unit)
    if shipped:
        ours = next(one for one in load_water_lists().chemical_list(body.list) if one.item == body.item)
        if value > ours.most:
            limit = f"{plain(ours.most)} {ours.unit}"
            form.wrong["most"] = InputError("water.line_over", label=label, limit=limit)
            return
    if value == held.most:
        form.wrong["most"] = InputError(
            "water.line_same", label=label, limit=f"{plain(held.most)} {held.unit}"
        )
    elif value > held.most:
        form.ask("water_line_looser", limit=f"{plain(held.most)} {held.unit}")


def set_water_line(desk: Desk, *, typed: Mapping[str, str], sure: tuple[str, ...] = ()) -> None:
    """Set a line of a list of limits: stricter than the list, or one that it lacks; fields as ``read_line`` names them.

    It is the clinic's own figure: every change names where it stands and who allowed it; a looser one is asked about.
    Refuses what can't be read, naming the field, two figures that differ, a figure over the list's own, the one that
    holds already, and taking off a line that the list has as shipped.
    Source: fluids 1.1 (the clinic may set each lower), practice hazard H67.
    """
    body, form = read_line(desk, typed)
    form.done()
    ask_first(tuple(form.questions), sure)
    older = own_lines(desk.standing, body.list, body.item)
    desk.add(
        body,
        replaces=tuple(fact.id for fact, _ in older),
        reason="set anew" if older else None,
        standing=True,
    )
