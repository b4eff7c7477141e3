"""The tables of usual pressures and of needles, row by row with their source, for the page of limits."""

from __future__ import annotations

from dataclasses import dataclass

from ebbwell.core.numbers import plain
from ebbwell.core.text import say
from ebbwell.papers.usual_pressures import ends
from ebbwell.rulebook.load import load_rulebook
from ebbwell.rulebook.pressure_tables import Gauge, MeasuredRow, PressureRow, load_pressure_tables


@dataclass(frozen=True)
class UsualRow:
    """One row. values: its figures in words with units. source: how well it is founded, and where it stands."""

    label: str
    values: tuple[str, ...]
    source: str


def usual_rows() -> list[UsualRow]:
    """Every row of the tables as shipped, in the order of the file; none is left out."""
    tables = load_pressure_tables()
    return [
        *(_pressure(row) for row in tables.pressures),
        *(_gauge(one) for one in tables.gauges.values()),
        *(_measured(one) for one in tables.measured),
    ]


def _pressure(row: PressureRow) -> UsualRow:
    access = say(f"option.access.{row.access}")
    flow = say("usual.flow", flow=ends(row.flow, "mL/min")) if row.flow is not None else say("usual.any_flow")
    most = "_most" if row.most else ""
    return UsualRow(
        f"{access}, {flow}",
        (
            say(f"usual.arterial{most}", value=ends(row.arterial[::-1], "mmHg")),
            say(f"usual.venous{most}", value=ends(row.venous, "mmHg")),
        ),
        _source(row.mark, row.source),
    )


def _gauge(one: Gauge) -> UsualRow:
    if one.flow[0] == 0:
        flow = say("usual.up_to", flow=f"{plain(one.flow[1])} mL/min")
    else:
        flow = say("usual.or_more" if one.open else "usual.flow", flow=ends(one.flow, "mL/min"))
    return UsualRow(
        say("usual.needle", gauge=one.gauge, outer=plain(one.outer)),
        (flow,),
        _source(one.mark, one.source, *one.more),
    )


def _measured(one: MeasuredRow) -> UsualRow:
    return UsualRow(
        say("usual.measured", gauge=one.gauge, flow=plain(one.flow)),
        (say("usual.venous", value=f"{plain(one.venous)} mmHg"),),
        _source(one.mark, one.source),
    )


def _source(mark: str, *keys: str) -> str:
    book = load_rulebook()
    kind = say(f"web.work.kind.{mark.replace(' ', '_')}")
    return "; ".join(f"{kind}: {book.source(key).title} ({key})" for key in keys)
