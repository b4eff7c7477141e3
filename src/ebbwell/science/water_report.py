"""A laboratory's chemical report against a list of limits, line by line, in the form each figure is reported in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal, localcontext
from enum import Enum

from ebbwell.core.errors import DomainError
from ebbwell.core.quantity import Quantity
from ebbwell.core.units import MOLAR_MASS, convert, kind_of_unit
from ebbwell.science.formula import CONTEXT, inside, span

SLIP_FACTOR = 20
"""Over this many times the limit, ug typed as mg is offered as another reading. Source: common practice (fluids 1.1)."""

FORMS: Mapping[tuple[str, str], tuple[str, str]] = {
    ("as nitrate", "as nitrogen"): ("nitrate", "nitrate nitrogen"),
}
"""Form reported and form of the limit to the molar masses that lead from one to the other. Source: fluids:1.1."""

RESULT = span("", "0", "1000000")


@dataclass(frozen=True, slots=True)
class WaterLimit:
    """A line of a list: the highest allowed value of an item.

    form: what the figure counts, such as ``total``, ``as nitrogen``. printed: limits that the list prints in other
    units, taken as they stand. jurisdiction: where the list holds. source, mark: as in the rulebook.
    """

    item: str
    most: Decimal
    unit: str
    form: str
    group: str
    jurisdiction: str
    source: str
    mark: str
    printed: Mapping[str, Decimal]


@dataclass(frozen=True, slots=True)
class LabLine:
    """A line of the report. result keeps its "<". form: as printed on the report; empty where it isn't."""

    item: str
    result: Quantity
    form: str = ""


class WaterLevel(Enum):
    """What a line shows. The lists give the highest allowed value: a result at it isn't over it."""

    WITHIN = "at or under the highest allowed value"
    OVER = "over the highest allowed value"
    CANT_TELL = "less than a figure that is itself over the limit"
    MISSING = "not on the report"


@dataclass(frozen=True, slots=True)
class WaterLine:
    """A limit and what the report shows for it, in the limit's unit and form; None where it isn't there.

    other_reading: the same digits as ug/L, where the typed value is so far over that the unit may have slipped.
    It is a question to ask, never a correction.
    """

    limit: WaterLimit
    level: WaterLevel
    result: Quantity | None = None
    other_reading: Quantity | None = None


def strictest(*lists: Sequence[WaterLimit]) -> tuple[WaterLimit, ...]:
    """One list of several: of limits for the same item and form the lowest holds.

    Raises DomainError where two limits of one item differ in form. Source: fluids:W6 (fluids 1.1).
    """
    found: dict[str, WaterLimit] = {}
    for limit in (one for many in lists for one in many):
        held = found.setdefault(limit.item, limit)
        if held.form != limit.form:
            raise DomainError("science.form_differs", item=limit.item, form=limit.form, limit=held.form)
        if _most_in(limit, held.unit) < held.most:
            found[limit.item] = limit
    return tuple(found.values())


def compare_report(limits: Sequence[WaterLimit], report: Iterable[LabLine]) -> tuple[WaterLine, ...]:
    """Each limit with what the report shows for it, in the order of the limits; an item left out is MISSING.

    Results 0 to 1,000,000 in any unit of mass or amount in a litre; the form has to be given where a list's item
    is reported in more than one, such as nitrate. Raises DomainError outside, for an item twice or unknown, for a
    form not given or another than the limit's (free chlorine for total); UnitError for another kind of unit.
    Source: fluids:W1, common practice (fluids 1.1).
    """
    known = {limit.item: limit for limit in limits}
    found: dict[str, LabLine] = {}
    for line in report:
        if line.item not in known:
            raise DomainError("science.item_unknown", item=line.item[:40])
        if line.item in found:
            raise DomainError("science.item_twice", item=line.item)
        found[line.item] = line
    return tuple(
        _judged(limit, found[limit.item]) if limit.item in found else WaterLine(limit, WaterLevel.MISSING)
        for limit in limits
    )


def failing(lines: Iterable[WaterLine]) -> tuple[WaterLine, ...]:
    """The lines that aren't within: over, not to be told, or missing."""
    return tuple(line for line in lines if line.level is not WaterLevel.WITHIN)


def limit_as(limit: WaterLimit, form: str) -> Decimal:
    """The limit in the form a report uses, in the limit's unit: 2 mg/L as nitrogen is 8.85 as nitrate.

    Raises DomainError for a form that doesn't lead to the limit's. Source: arithmetic (fluids 1.1).
    """
    with localcontext(CONTEXT):
        return limit.most / _factor(limit, form)


def _factor(limit: WaterLimit, form: str) -> Decimal:
    if form == limit.form:
        return Decimal(1)
    masses = FORMS.get((form, limit.form))
    if masses is None:
        raise DomainError("science.form_differs", item=limit.item, form=form[:40], limit=limit.form)
    return MOLAR_MASS[masses[1]] / MOLAR_MASS[masses[0]]


def _judged(limit: WaterLimit, line: LabLine) -> WaterLine:
    value, unit, below = line.result.value, line.result.unit, line.result.below
    inside(limit.item, value, RESULT)
    if not line.form and any(wanted == limit.form for _, wanted in FORMS):
        raise DomainError("science.form_needed", item=limit.item, limit=limit.form)
    form = line.form or limit.form
    with localcontext(CONTEXT):
        if unit in limit.printed and form == limit.form:
            shown, most = Quantity(value, unit, below), limit.printed[unit]
        else:
            ours = _in_unit(limit, value, unit, form)
            shown, most = Quantity(ours, limit.unit, below), limit.most
        over = shown.value > most
        slipped = unit == "mg/L" and shown.value > SLIP_FACTOR * most
    level = (WaterLevel.CANT_TELL if below else WaterLevel.OVER) if over else WaterLevel.WITHIN
    return WaterLine(limit, level, shown, Quantity(value, "ug/L", below) if slipped else None)


def _in_unit(limit: WaterLimit, value: Decimal, unit: str, form: str) -> Decimal:
    """In the limit's unit and form; an amount of substance is the same in every form of one item."""
    factor = _factor(limit, form)
    if kind_of_unit(unit) == kind_of_unit(limit.unit):
        return convert(value, unit, limit.unit) * factor
    substance = "nitrate nitrogen" if limit.form == "as nitrogen" else limit.item
    return convert(value, unit, limit.unit, substance)


def _most_in(limit: WaterLimit, unit: str) -> Decimal:
    return convert(limit.most, limit.unit, unit)
