"""The sheet of one treatment as a page of the ledger, and as paper. Exceptions first; each entry can be put right."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.responses import PlainTextResponse, Response
from starlette.types import Receive, Scope, Send

from ebbwell.core.findings import Grade, say_grade
from ebbwell.core.text import say
from ebbwell.deeds.comeoff import close
from ebbwell.deeds.desk import Desk
from ebbwell.draw.chart import svg_of
from ebbwell.draw.palette import PALETTES
from ebbwell.draw.table import table_of
from ebbwell.papers.describe import describe
from ebbwell.papers.home_clock import sheet_clock
from ebbwell.papers.sheet import Sheet, build_sheet
from ebbwell.papers.sheet_chart import pressure_chart
from ebbwell.papers.sheet_pdf import PAPERS, sheet_pdf
from ebbwell.papers.words import slot_words, step_words
from ebbwell.procedure.holds import unpassed
from ebbwell.state.night import Phase
from ebbwell.web.visit import ALL, HOME, Visit, Way

TIMED = frozenset({"exceptions", "events"})
"""Parts whose rows may begin with a clock time, which goes into the margin."""

LAST = "record"
"""The part that is for whoever proves the record; it stands behind one tap."""


SIZES: dict[str, dict[str, Any]] = {
    "on-wide": {"name": "wide", "width": 640, "height": 240, "size": 13},
    "on-narrow": {"name": "narrow", "width": 300, "height": 230, "size": 14},
}
"""The chart for a wide and for a narrow screen: the class that shows it there, and how it is drawn."""


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
    palette = PALETTES[visit.look]
    drawn = (
        [] if chart is None else [(c, Markup(svg_of(chart, palette, **sizes))) for c, sizes in SIZES.items()]
    )
    return visit.show(
        "pages/sheet/page.html",
        sheet=sheet,
        parts=[(s, [margin_and_words(row, timed=s.id in TIMED) for row in s.rows]) for s in sheet.sections],
        stops=tuple(say_grade(Grade.STOP, connected=ran) for ran in (True, False)),
        last=LAST,
        drawn=drawn,
        as_table=table_of(chart) if chart is not None else None,
        undrawn=undrawn,
        entries=_entries(sheet, desk),
        unsettled=_unsettled(desk),
        treatment=visit.path["treatment"],
        noted=_noted(visit, desk, sheet),
        left=_left(desk) if still_open(visit, desk) else None,
        papers=tuple(PAPERS),
    )


@dataclass(frozen=True)
class Noted:
    """A note that was put on the sheet just now, as it stands among the events."""

    margin: str
    words: str


def _noted(visit: Visit, desk: Desk, sheet: Sheet) -> Noted | None:
    """The newest note, on the page that follows putting it there; None on any other."""
    notes = desk.treatment.of("annotation") if visit.query.get("kept") == "note" else ()
    events = sheet.section("events")
    if not notes or events is None:
        return None
    newest = describe(max(notes, key=lambda fact: fact.entry.envelope.recorded_at).body)
    rows = [row for row in events.rows if newest in row]
    return Noted(*margin_and_words(rows[-1], timed=True)) if rows else None


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
            "at": sheet_clock(desk, datetime.fromisoformat(fact["at"])),
            "says": str(fact["says"]),
        }
        for fact in rows
    ]


def still_open(visit: Visit, desk: Desk) -> bool:
    """Whether this sheet waits to be closed while another night was opened already."""
    return desk.phase in (Phase.OFF, Phase.SAFE) and desk.treatment_id != visit.desk.treatment_id


def _left(desk: Desk) -> list[tuple[str, str]]:
    """Steps that the sheet still needs: id and words."""
    return [
        (view.step.id, step_words(desk.procedure, view.step.id)) for view in unpassed(desk.views, "close")
    ]


def close_it(visit: Visit) -> Response:
    """Close the sheet of an earlier night; what stayed open gets its reason."""
    treatment = visit.path["treatment"]
    if treatment not in visit.desk.past:
        return PlainTextResponse(say("web.sheet.none"), 404)
    because = {
        name.removeprefix("why."): typed for name, typed in visit.typed.items() if name.startswith("why.")
    }
    done = visit.do(close, field="close", key=visit.typed.get("key"), treatment=treatment, because=because)
    return show(visit) if done is None else visit.go(f"/sheet/{treatment}", kept=f"close-{treatment}")


def _unsettled(desk: Desk) -> list[tuple[str, str]]:
    """What two entries disagree about, and the id of one of them."""
    return [
        (slot_words(".".join(filter(None, slot[1:])) or slot[0]), held[0].id)
        for slot, held in desk.treatment.disagreements().items()
    ]


class Paper(Response):
    """The sheet as PDF, set while it is sent: in a thread of its own, so that nobody waits for it at the house."""

    def __init__(self, sheet: Sheet, size: str) -> None:
        super().__init__()
        self._sheet = sheet
        self._size = size

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Set it and send it."""
        made = await run_in_threadpool(sheet_pdf, self._sheet, paper=self._size)
        name = f"sheet-{self._sheet.data['night']}.pdf"
        headers = {"content-disposition": f'inline; filename="{name}"'}
        await Response(made, media_type="application/pdf", headers=headers)(scope, receive, send)


def paper(visit: Visit) -> Response:
    """The sheet as PDF, on A4 or Letter."""
    found = _sheet(visit)
    size = visit.query.get("paper", "a4")
    if found is None or size not in PAPERS:
        return PlainTextResponse(say("web.sheet.none" if found is None else "web.sheet.paper"), 404)
    return Paper(found[1], size)


WAYS = (
    Way("GET", "/sheet/{treatment}.pdf", paper, ALL),
    Way("GET", "/sheet/{treatment}", show, ALL),
    Way("POST", "/sheet/{treatment}/close", close_it, HOME),
)
