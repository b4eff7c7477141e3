"""Pressures of past nights at the same blood flow, and what a slipped needle would cost. Figures, no verdict."""

from __future__ import annotations

from markupsafe import Markup
from starlette.responses import Response

from ebbwell.draw.chart import svg_of
from ebbwell.draw.palette import PALETTES
from ebbwell.papers.pressure_past import past_pressures
from ebbwell.web.pages.sheet.page import SIZES
from ebbwell.web.visit import ALL, Visit, Way


def show(visit: Visit) -> Response:
    """Chart, table and own levels."""
    found = past_pressures(visit.desk)
    palette = PALETTES[visit.look]
    drawn = (
        []
        if found.chart is None
        else [(c, Markup(svg_of(found.chart, palette, **sizes))) for c, sizes in SIZES.items()]
    )
    return visit.show("pages/pressures/page.html", found=found, drawn=drawn)


WAYS = (Way("GET", "/pressures", show, ALL),)
