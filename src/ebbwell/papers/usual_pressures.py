"""What the tables say beside a line pressure: the unit's own limit first, then the usual range. Words, no verdict."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from ebbwell.core.numbers import plain
from ebbwell.core.text import say
from ebbwell.procedure.evidence import number_in
from ebbwell.rulebook.pressure_tables import Span, load_pressure_tables

LINES = {"arterial_pressure": "arterial", "venous_pressure": "venous"}
"""Quantity to the line of the table, and to the line of the order ``<line>_limit``."""


def ends(span: Span, unit: str) -> str:
    """Both ends of a span in words with their unit."""
    return say("usual.span", low=plain(span[0]), high=plain(span[1]), unit=unit)


def beside_pressure(quantity: str, lines: Mapping[str, str], flow: Decimal | None) -> tuple[str, ...]:
    """What stands beside a reading of ``arterial_pressure`` or ``venous_pressure``; () for another quantity.

    lines: of the order in force. flow: the blood flow [mL/min] that was read with it, else the ordered one; None where
    neither is known. Source: fluids:5.1, fluids:5.2 (the unit's limits first).
    """
    line = LINES.get(quantity)
    if line is None:
        return ()
    limit = number_in(lines.get(f"{line}_limit", ""))
    own = (
        say("usual.unit_limit", value=f"{plain(limit)} mmHg") if limit is not None else say("usual.no_limit")
    )
    return own, _usual(line, lines, flow)


def _usual(line: str, lines: Mapping[str, str], flow: Decimal | None) -> str:
    access = lines.get("access", "")
    if not access:
        return say("usual.no_access")
    tables = load_pressure_tables()
    most = tables.furthest(line, access=access)
    if most is not None:
        span = most[::-1] if line == "arterial" else most
        return say("usual.beside_most", access=say(f"option.access.{access}"), value=ends(span, "mmHg"))
    if flow is None:
        return say("usual.no_flow")
    what = say(f"option.access.{access}")
    found = tables.usual(line, access=access, blood_flow_ml_min=flow)
    if found is None:
        return say("usual.no_row", access=what, flow=plain(flow))
    span = found[::-1] if line == "arterial" else found
    return say("usual.beside", access=what, flow=plain(flow), value=ends(span, "mmHg"))
