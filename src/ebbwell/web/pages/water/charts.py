"""The last nights drawn: chlorine after tank 1, what the membrane let through, and what it held back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from markupsafe import Markup

from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.water_plant import present_limit
from ebbwell.deeds.water_sums import NightValue, rejections, values
from ebbwell.draw.chart import svg_of
from ebbwell.draw.marks import Chart, Level, Line, Mark
from ebbwell.draw.palette import Palette
from ebbwell.draw.table import Table, table_of

SIZES: dict[str, dict[str, Any]] = {
    "on-wide": {"name": "wide", "width": 640, "height": 200, "size": 13},
    "on-narrow": {"name": "narrow", "width": 300, "height": 200, "size": 14},
}
"""For a wide and for a narrow screen, as on the sheet."""

APART = timedelta(days=7)
"""Nights further apart aren't joined: nobody tested in between. Own choice."""

LEAST = 2
"""Nights that make a chart."""


@dataclass(frozen=True)
class Drawn:
    """A chart for each size of screen, and its numbers as a table."""

    svgs: tuple[tuple[str, Markup], ...]
    table: Table


def drawn(desk: Desk, palette: Palette) -> dict[str, tuple[Drawn, ...]]:
    """Part of the page to its charts; one with too few nights has none."""
    found: dict[str, tuple[Drawn, ...]] = {}
    tests = values(desk, "total_chlorine@tank1")
    limit = Level(say("web.water.chart_limit"), present_limit(desk, "chlorine"))
    found["chlorine"] = _one(desk, palette, "chlorine", "mg/L", tests, (limit,))
    rows = rejections(desk)
    found["rejection"] = (
        *_one(desk, palette, "product", "uS/cm", tuple(product for _, product, _ in rows), ()),
        *_one(
            desk,
            palette,
            "rejection",
            "%",
            tuple(
                NightValue(product.night, product.at, share.quantize(Decimal("0.01"), ROUND_HALF_UP))
                for _, product, share in rows
            ),
            (),
        ),
    )
    return found


def _one(
    desk: Desk,
    palette: Palette,
    name: str,
    unit: str,
    row: tuple[NightValue, ...],
    levels: tuple[Level, ...],
) -> tuple[Drawn, ...]:
    if len(row) < LEAST:
        return ()
    line = Line(say(f"web.water.line_{name}"), tuple((one.at, one.value) for one in row), join_within=APART)
    marks: tuple[Mark, ...] = (line, *levels)
    chart = Chart(
        say(f"web.water.chart_{name}", count=len(row)), unit, row[0].at, row[-1].at, desk.now.zone, marks
    )
    svgs = tuple(
        (shown, Markup(svg_of(chart, palette, **{**size, "name": f"{name}-{size['name']}"})))
        for shown, size in SIZES.items()
    )
    return (Drawn(svgs, table_of(chart)),)
