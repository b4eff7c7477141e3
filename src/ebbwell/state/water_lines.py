"""The lists of chemical limits as they hold here: as shipped, with the lines that the clinic made stricter or added."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal

from ebbwell.core.errors import EbbwellError
from ebbwell.core.units import convert
from ebbwell.journal.kinds.water import WaterLineSet
from ebbwell.rulebook.water_lists import load_water_lists
from ebbwell.science.water_report import WaterLimit
from ebbwell.state.facts import Fact, Facts
from ebbwell.state.night_fluid import decimal_of

ADDED = "own"
"""Group of a line that the clinic added. Its form is that of the same item on another list."""

SOURCE = ("fluids:1.1", "common practice")
"""Source and mark of an added line's way of being held against a report; whose figure it is stands in its entry."""


def own_lines(standing: Facts, place: str, item: str) -> tuple[tuple[Fact, WaterLineSet], ...]:
    """Every entry that sets this line of a list, oldest first; more than one where two were made apart."""
    return tuple(
        (fact, fact.body)
        for fact in standing.of("water_line_set")
        if isinstance(fact.body, WaterLineSet) and (fact.body.list, fact.body.item) == (place, item)
    )


def list_now(standing: Facts, place: str) -> tuple[WaterLimit, ...]:
    """The chemical limits of a place as they hold now. Raises InputError for a place without such a list.

    Of two figures for one line the stricter holds, and never one over the list's own. A figure that can't be read, such
    as one of a newer program, is left out.
    """
    held = standing.worked_out(_lists)
    return held[place] if place in held else load_water_lists().chemical_list(place)


def _lists(standing: Facts) -> Mapping[str, tuple[WaterLimit, ...]]:
    bodies = [f.body for f in standing.of("water_line_set") if isinstance(f.body, WaterLineSet)]
    lists = load_water_lists()
    places = {one.jurisdiction for one in lists.chemicals} & {body.list for body in bodies}
    return {place: _own(place, [body for body in bodies if body.list == place]) for place in places}


def _own(place: str, bodies: list[WaterLineSet]) -> tuple[WaterLimit, ...]:
    shipped = load_water_lists().chemical_list(place)
    known = {limit.item for limit in shipped}
    added: dict[str, WaterLimit] = {}
    for body in bodies:
        most = _figure(body.most)
        if body.item in known or most is None:
            continue
        limit = WaterLimit(body.item, most, body.unit, form_of(body.item), ADDED, place, *SOURCE, {})
        held = added.get(body.item)
        if held is None or (_in(body, held.unit) or held.most) < held.most:
            added[body.item] = limit
    return (*(_stricter(limit, bodies) for limit in shipped), *added.values())


def _stricter(limit: WaterLimit, bodies: list[WaterLineSet]) -> WaterLimit:
    figures = [
        value for body in bodies if body.item == limit.item and (value := _in(body, limit.unit)) is not None
    ]
    most = min([limit.most, *figures])
    return limit if most == limit.most else replace(limit, most=most, printed={})


def _in(body: WaterLineSet, unit: str) -> Decimal | None:
    value = _figure(body.most)
    try:
        return None if value is None else convert(value, body.unit, unit)
    except EbbwellError:
        return None


def _figure(text: str) -> Decimal | None:
    value = decimal_of(text)
    return value if value is not None and value > 0 else None


def form_of(item: str) -> str:
    """What a figure of this item counts, as the first list that has it says; ``total`` where none has it."""
    return next((one.form for one in load_water_lists().chemicals if one.item == item), "total")
