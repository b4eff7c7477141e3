"""Reads the tables of usual line pressures and of needles. They are shown beside a reading; nothing judges by them."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from importlib import resources
from typing import Any

from ebbwell.rulebook.load import RulebookFault, load_rulebook
from ebbwell.rulebook.model import SOURCE_KINDS

FILE = "pressure_tables.toml"
OWNER = "clinic"
"""Whose figures these are: the unit's own limits on the prescription go before all of them."""

Span = tuple[Decimal, Decimal]
"""From and to, both in it."""


@dataclass(frozen=True, slots=True)
class PressureRow:
    """Usual pressures [mmHg] of an access at a blood flow [mL/min]. flow: None where the row is for every flow.

    most: the spans are how far the pressure may go, not where it usually lies.
    """

    access: str
    flow: Span | None
    arterial: Span
    venous: Span
    source: str
    mark: str
    most: bool = False

    def of(self, line: str) -> Span:
        """The span of ``arterial`` or ``venous``."""
        return self.arterial if line == "arterial" else self.venous


@dataclass(frozen=True, slots=True)
class Gauge:
    """A needle. outer [mm]; flow: usual blood flow [mL/min], from 0 where the table gives only the highest.

    open: the table prints "or more" after the highest flow. more: further sources that say it.
    """

    gauge: str
    outer: Decimal
    flow: Span
    open: bool
    source: str
    mark: str
    more: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class MeasuredRow:
    """A venous pressure [mmHg] that a study read at a blood flow [mL/min] through a needle."""

    gauge: str
    flow: Decimal
    venous: Decimal
    source: str
    mark: str


@dataclass(frozen=True, slots=True)
class PressureTables:
    """All of them as shipped."""

    pressures: tuple[PressureRow, ...]
    gauges: Mapping[str, Gauge]
    measured: tuple[MeasuredRow, ...]

    def usual(self, line: str, *, access: str, blood_flow_ml_min: Decimal) -> Span | None:
        """The usual pressure of ``arterial`` or ``venous`` [mmHg] at this flow; None where no row is for it.

        At the end of two rows it is the wider of both. Source: fluids:5.1.
        """
        found = [
            row.of(line)
            for row in self.pressures
            if row.access == access
            and row.flow is not None
            and not row.most
            and row.flow[0] <= blood_flow_ml_min <= row.flow[1]
        ]
        return (min(low for low, _ in found), max(high for _, high in found)) if found else None

    def furthest(self, line: str, *, access: str) -> Span | None:
        """How far the pressure goes at most [mmHg], where the table gives that alone. Source: fluids:5.1."""
        return next((row.of(line) for row in self.pressures if row.access == access and row.most), None)

    def ceiling(self, gauge: str) -> Decimal | None:
        """The highest usual blood flow through a needle [mL/min]; None for a needle that isn't in the table.

        Where the table prints "or more", the next wider needle's highest flow holds: a narrower one lets no more
        through. Source: fluids:5.2.
        """
        held = self.gauges.get(gauge)
        if held is None:
            return None
        wider = [one for one in self.gauges.values() if one.outer > held.outer]
        if held.open and wider:
            return min(wider, key=lambda one: one.outer).flow[1]
        return held.flow[1]


@lru_cache(maxsize=1)
def load_pressure_tables() -> PressureTables:
    """The tables as shipped. Raises RulebookFault where the file contradicts itself or the list of sources."""
    return parse_pressure_tables((resources.files("ebbwell.rulebook") / FILE).read_text("utf-8"))


def parse_pressure_tables(text: str) -> PressureTables:
    """The tables from their text. Raises RulebookFault as load_pressure_tables does."""
    try:
        data = tomllib.loads(text, parse_float=Decimal)
        tables = PressureTables(
            pressures=(
                *(_pressure(row) for row in data["pressure"]),
                *(_pressure(row, most=True) for row in data["ceiling"]),
            ),
            gauges={name: _gauge(name, row) for name, row in data["gauge"].items()},
            measured=tuple(_measured(row) for row in data["measured"]),
        )
        problems = _faults(tables)
    except (KeyError, TypeError, ValueError, ArithmeticError) as why:
        raise RulebookFault(f"{FILE}: {why}") from why
    if problems:
        raise RulebookFault("; ".join(problems))
    return tables


def _span(ends: list[Any]) -> Span:
    low, high = (Decimal(end) for end in ends)
    return low, high


def _pressure(row: dict[str, Any], *, most: bool = False) -> PressureRow:
    given = dict(row)
    flow = given.pop("flow", None)
    arterial, venous = _span(given.pop("arterial")), _span(given.pop("venous"))
    return PressureRow(
        flow=None if flow is None else _span(flow), arterial=arterial, venous=venous, most=most, **given
    )


def _gauge(name: str, row: dict[str, Any]) -> Gauge:
    given = {"open": False, **row, "outer": Decimal(row["outer"]), "flow": _span(row["flow"])}
    return Gauge(gauge=name, **{**given, "more": tuple(row.get("more", ()))})


def _measured(row: dict[str, Any]) -> MeasuredRow:
    return MeasuredRow(**{**row, "flow": Decimal(row["flow"]), "venous": Decimal(row["venous"])})


def _faults(tables: PressureTables) -> list[str]:
    book = load_rulebook()
    keys = {source.key for source in book.sources()}
    founded = [
        *((row, (row.source,), row.mark) for row in tables.pressures),
        *((row, (row.source, *row.more), row.mark) for row in tables.gauges.values()),
        *((row, (row.source,), row.mark) for row in tables.measured),
    ]
    out = [
        f"{row}: source or mark"
        for row, named, mark in founded
        if not keys.issuperset(named) or mark not in SOURCE_KINDS
    ]
    for pressure in tables.pressures:
        if pressure.access not in book.line("access").options:
            out.append(f"{pressure}: access")
        if pressure.flow is not None and not 0 < pressure.flow[0] < pressure.flow[1]:
            out.append(f"{pressure}: flow")
        if not pressure.arterial[0] < pressure.arterial[1] <= 0 <= pressure.venous[0] < pressure.venous[1]:
            out.append(f"{pressure}: pressure")
    if set(tables.gauges) != set(book.line("needle_gauge").options):
        out.append("gauges are not those of the prescription")
    out += [
        f"{gauge}: width or flow"
        for gauge in tables.gauges.values()
        if gauge.outer <= 0 or not 0 <= gauge.flow[0] < gauge.flow[1]
    ]
    out += [
        f"{one}: gauge or value"
        for one in tables.measured
        if one.gauge not in tables.gauges or min(one.flow, one.venous) <= 0
    ]
    return out
