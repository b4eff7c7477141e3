"""The sheet of one treatment as a page of the ledger, and as paper. Exceptions first; each entry can be put right."""

from __future__ import annotations

from datetime import datetime

from markupsafe import Markup
from starlette.responses import PlainTextResponse, Response

from ebbwell.core.errors import InputError
from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk
from ebbwell.draw.chart import svg_of
from ebbwell.draw.palette import PALETTES
from ebbwell.draw.table import table_of
from ebbwell.papers.sheet import Sheet, build_sheet
from ebbwell.papers.sheet_chart import pressure_chart
from ebbwell.papers.sheet_pdf import PAPERS, sheet_pdf
from ebbwell.papers.words import clock, slot_words
from ebbwell.web.visit import ALL, Visit, Way

TIMED = frozenset({"exceptions", "events"})
"""Parts whose rows may begin with a clock time, which goes into the margin."""

LAST = "record"
"""The part that is for whoever proves the record; it stands behind one tap."""


def _sheet(visit: Visit) -> tuple[Desk, Sheet] | None:
    treatment = visit.path["treatment"]
    if treatment not in visit.desk.past:
        return None
    desk = visit.house.look(by=visit.who, treatment=treatment)
    return desk, build_sheet(desk, visit.house.store.heads())


def show(visit: Visit) -> Response:
    """The sheet as it stands; also of a night that still runs."""
    found = _sheet(visit)
    if found is None:
        return PlainTextResponse(say("web.sheet.none"), 404)
    desk, sheet = found
    chart, undrawn = pressure_chart(sheet)
    drawn = Markup(svg_of(chart, PALETTES[visit.look], name="pressures")) if chart is not None else None
    return visit.show(
        "pages/sheet/page.html",
        sheet=sheet,
        parts=[(s, [margin_and_words(row, timed=s.id in TIMED) for row in s.rows]) for s in sheet.sections],
        last=LAST,
        drawn=drawn,
        as_table=table_of(chart) if chart is not None else None,
        undrawn=undrawn,
        entries=_entries(sheet, desk),
        unsettled=_unsettled(desk),
        treatment=visit.path["treatment"],
        papers=tuple(PAPERS),
    )


def margin_and_words(row: str, *, timed: bool) -> tuple[str, str]:
    """A row with the clock time that begins it, for the margin; "" where none does."""
    head, _, rest = row.partition(" ")
    is_time = len(head) == 5 and head[2] == ":" and (head[:2] + head[3:]).isdecimal()
    return (head, rest) if timed and is_time and rest else ("", row)


def _entries(sheet: Sheet, desk: Desk) -> list[dict[str, str]]:
    """Every entry that holds, in the order of its time. id, at, says."""
    rows = sorted(sheet.data["facts"], key=lambda fact: str(fact["at"]))
    return [
        {
            "id": str(fact["id"]),
            "at": clock(datetime.fromisoformat(fact["at"]), desk.now.zone),
            "says": str(fact["says"]),
        }
        for fact in rows
    ]


def _unsettled(desk: Desk) -> list[tuple[str, str]]:
    """What two entries disagree about, and the id of one of them."""
    return [
        (slot_words(".".join(filter(None, slot[1:])) or slot[0]), held[0].id)
        for slot, held in desk.treatment.disagreements().items()
    ]


def paper(visit: Visit) -> Response:
    """The sheet as PDF, on A4 or Letter."""
    found = _sheet(visit)
    if found is None:
        return PlainTextResponse(say("web.sheet.none"), 404)
    _, sheet = found
    size = visit.query.get("paper", "a4")
    try:
        made = sheet_pdf(sheet, paper=size)
    except InputError:
        return PlainTextResponse(say("web.sheet.paper"), 404)
    name = f"sheet-{sheet.data['night']}.pdf"
    return Response(
        made, media_type="application/pdf", headers={"content-disposition": f'inline; filename="{name}"'}
    )


WAYS = (
    Way("GET", "/sheet/{treatment}.pdf", paper, ALL),
    Way("GET", "/sheet/{treatment}", show, ALL),
)
