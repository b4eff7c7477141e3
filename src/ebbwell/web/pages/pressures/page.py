"""Pressures of past nights at the same blood flow, and the forms of what the household says about them. No verdict."""

from __future__ import annotations

from functools import lru_cache

from markupsafe import Markup
from starlette.responses import Response

from ebbwell.deeds import pressures
from ebbwell.draw.chart import svg_of
from ebbwell.draw.marks import Chart
from ebbwell.draw.palette import PALETTES
from ebbwell.journal.kinds.pressures import FORMS, FlowShort, MembraneForm
from ebbwell.papers.pressure_past import past_pressures
from ebbwell.papers.spoken import error_words
from ebbwell.state.membrane import form_held, short_now
from ebbwell.web.pages.sheet.page import SIZES
from ebbwell.web.visit import ALL, HOME, Trouble, Visit, Way

READS = {"form": pressures.read_form, "short": pressures.read_short}
DEEDS = {"form": pressures.set_form, "short": pressures.set_short}
"""Name in the address to what reads the form and what keeps it."""


def show(visit: Visit) -> Response:
    """Charts, table and own levels."""
    found = past_pressures(visit.desk)
    drawn = [
        (chart.title, [(kind, _drawn(chart, visit.look, kind, place)) for kind in SIZES])
        for place, chart in enumerate(found.charts)
    ]
    return visit.show(
        "pages/pressures/page.html",
        found=found,
        drawn=drawn,
        may_act=bool(visit.roles & HOME),
        saved=visit.query.get("saved", "") if visit.query.get("saved", "") in READS else "",
    )


@lru_cache(maxsize=32)
def _drawn(chart: Chart, look: str, kind: str, place: int) -> Markup:
    """A chart for one kind of screen. The nights behind it seldom change from one look to the next."""
    sizes = {**SIZES[kind], "name": f"{SIZES[kind]['name']}{place}"}
    return Markup(svg_of(chart, PALETTES[look], **sizes))


def show_form(visit: Visit) -> Response:
    """One of the two forms; what stands on record stands in it, and what was typed comes back."""
    name = _name(visit)
    return visit.show(
        f"pages/pressures/{name}.html",
        name=name,
        values=visit.typed or _held(visit, name),
        forms=FORMS,
        may_act=bool(visit.roles & HOME),
    )


def _name(visit: Visit) -> str:
    """Which of the forms an address is of."""
    return visit.at.partition("?")[0].rpartition("/")[2]


def _held(visit: Visit, name: str) -> dict[str, str]:
    standing = visit.desk.standing
    if name == "short":
        short = short_now(standing)
        return {} if short is None else {n: getattr(short, n) for n in FlowShort.__struct_fields__}
    fact = form_held(standing)
    body = fact.body if fact is not None else None
    return {n: getattr(body, n) for n in body.__struct_fields__} if isinstance(body, MembraneForm) else {}


def keep(visit: Visit) -> Response:
    """Keep a form; each field that can't be read is named, and nothing is kept by half."""
    name = _name(visit)
    typed = {field: words for field, words in visit.typed.items() if field != "key"}
    _, read = READS[name](visit.desk, typed)
    visit.troubles += [Trouble(error_words(why), field) for field, why in read.wrong.items()]
    if visit.troubles:
        return show_form(visit)
    done = visit.do(DEEDS[name], field="form", key=visit.typed.get("key"), typed=typed)
    if done is None:
        return show_form(visit)
    return visit.go(f"/pressures?saved={name}", kept=f"pressures-{name}")


WAYS = (
    Way("GET", "/pressures", show, ALL),
    *(Way("GET", f"/pressures/{name}", show_form, ALL) for name in READS),
    *(Way("POST", f"/pressures/{name}", keep, HOME) for name in READS),
)
