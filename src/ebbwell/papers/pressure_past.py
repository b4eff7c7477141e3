"""Pressures of past nights for the clinic: a chart, a table, own levels at one blood flow. Figures only, no verdict."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from typing import Final

from ebbwell.core.numbers import plain
from ebbwell.core.text import say
from ebbwell.core.worked import Input
from ebbwell.deeds.desk import Desk
from ebbwell.draw.marks import Chart, Level, Line, Mark, Role
from ebbwell.papers.words import day
from ebbwell.science import catalogue
from ebbwell.science.own_past import LIKE_FLOW_ML_MIN, PressureAtFlow, own_pressure
from ebbwell.state.own_past import latest
from ebbwell.state.pressure_past import NightPressures, night_pressures

NIGHTS: Final = 40
"""Nights that are shown. Own choice: about three months of every other night."""

ROLES: Final[dict[str, Role]] = {"arterial_pressure": "arterial", "venous_pressure": "venous"}
JOINED_WITHIN: Final = timedelta(days=15)
"""Nights further apart aren't joined. Own choice."""


@dataclass(frozen=True)
class PastPressures:
    """chart: None without two nights. rows: a night each, newest first, in the order of columns. own: sentences on the
    person's own level at the ordered flow.
    """

    chart: Chart | None
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    own: tuple[str, ...]


def past_pressures(desk: Desk) -> PastPressures:
    """Everything the page of pressures shows."""
    nights = night_pressures(latest(desk.past, before=desk.now.at, nights=NIGHTS))
    flow = _ordered(desk, "blood_flow")
    columns = ("night", "flow", "venous", "arterial", "across", "coefficient", "bleeding")
    return PastPressures(
        _chart(desk, nights, flow),
        tuple(say(f"pressures.column.{name}") for name in columns),
        tuple(_row(one) for one in nights),
        tuple(_own(nights, flow)),
    )


def _ordered(desk: Desk, line: str) -> Decimal | None:
    order = desk.scene.order
    text = order.lines.get(line, "") if order is not None else ""
    return Decimal(text) if text else None


def _like(nights: Sequence[NightPressures], flow: Decimal | None) -> list[NightPressures]:
    """Nights at the ordered flow, oldest first; all of them where none is ordered."""
    ordered = list(reversed(nights))
    if flow is None:
        return ordered
    return [n for n in ordered if abs(n.values.get("blood_flow", flow) - flow) <= LIKE_FLOW_ML_MIN]


def _chart(desk: Desk, nights: Sequence[NightPressures], flow: Decimal | None) -> Chart | None:
    like = _like(nights, flow)
    if len(like) < 2:
        return None
    marks: list[Mark] = [
        Line(say(f"pdf.end.{role}"), tuple((n.at, n.values.get(name)) for n in like), role, JOINED_WITHIN)
        for name, role in ROLES.items()
        if any(name in n.values for n in like)
    ]
    for line in ("venous_limit", "arterial_limit"):
        limit = _ordered(desk, line)
        if limit is not None:
            marks.append(Level(say("pdf.end.limit"), limit))
    return Chart(say("pressures.chart"), "mmHg", like[0].at, like[-1].at, desk.now.zone, tuple(marks))


def _row(one: NightPressures) -> tuple[str, ...]:
    def figure(name: str, unit: str) -> str:
        value = one.values.get(name)
        return f"{plain(value)} {unit}" if value is not None else say("pressures.not_read")

    sites = (f"{say(f'place.{site}')} {plain(minutes)}" for site, minutes in one.bleeding.items())
    return (
        day(one.night),
        figure("blood_flow", "mL/min"),
        figure("venous_pressure", "mmHg"),
        figure("arterial_pressure", "mmHg"),
        f"{plain(one.transmembrane)} mmHg" if one.transmembrane is not None else say("pressures.not_read"),
        _coefficient(one),
        ", ".join(sites) or say("pressures.not_read"),
    )


def _coefficient(one: NightPressures) -> str:
    """Removal so far, evened out, for each mmHg across the membrane; in words where there is no figure."""
    if one.transmembrane is None or one.removed_l is None or not one.removed_min:
        return say("pressures.not_read")
    rate = one.removed_l * 60_000 / one.removed_min
    worked = catalogue.work(
        "membrane_coefficient",
        {
            "rate_ml_h": Input("rate_ml_h", rate, "mL/h"),
            "transmembrane_mmhg": Input("transmembrane_mmhg", one.transmembrane, "mmHg"),
        },
    )
    return catalogue.shown(worked) if worked.value is not None else say("pressures.near_zero")


def _own(nights: Sequence[NightPressures], flow: Decimal | None) -> list[str]:
    if flow is None:
        return [say("pressures.no_flow")]
    out = []
    for name in ROLES:
        past = [
            PressureAtFlow(n.values[name], n.values["blood_flow"])
            for n in reversed(nights)
            if name in n.values and "blood_flow" in n.values
        ]
        level = own_pressure(past, blood_flow_ml_min=flow)
        out.append(
            say("pressures.own_too_few", what=say(f"quantity.{name}"), flow=plain(flow))
            if level is None
            else say(
                "pressures.own",
                what=say(f"quantity.{name}"),
                value=plain(level.value),
                nights=level.nights,
                flow=plain(flow),
            )
        )
    return out
