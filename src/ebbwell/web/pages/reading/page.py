"""A reading: the household's fields in its order, one Save; what isn't measured with its reason."""

from __future__ import annotations

from datetime import datetime

from starlette.responses import Response

from ebbwell.core.errors import EbbwellError
from ebbwell.deeds.readings_due import due_readings
from ebbwell.papers.spoken import error_words
from ebbwell.state.night import Phase
from ebbwell.web.pages.reading.later import made_at
from ebbwell.web.pages.reading.rows import BODY_ROWS, WHY, Row
from ebbwell.web.times import past_time
from ebbwell.web.visit import ALL, HOME, Trouble, Visit, Way

OFF = (Phase.OFF, Phase.SAFE)


def show(visit: Visit) -> Response:
    """The empty form. Measured values are never filled in."""
    return _page(visit)


def _page(visit: Visit) -> Response:
    due = [r for r in due_readings(visit.desk) if not r.given]
    picked = visit.typed.get("when", visit.query.get("when", ""))
    names = list(dict.fromkeys([*([picked] if picked else []), *(r.name for r in due)]))
    return visit.show(
        "pages/reading/page.html",
        reading=Row(visit, picked),
        body=picked in BODY_ROWS,
        back=_back(visit, picked),
        whens=names,
        picked=picked,
        reasons=WHY,
        typed=visit.typed,
        draft=f"reading-{picked or 'row'}",
    )


def take(visit: Visit) -> Response:
    """Keep the row, ask about odd values, or say what can't be read. What a screen held back is kept without asking."""
    when = visit.typed.get("when", "")
    row, words = Row(visit, when), visit.typed.get("words", "").strip()
    if visit.typed.get("queued"):
        under = visit.typed.get("made_under", "")
        kept = row.keep_late(at=made_at(visit), words=words, made_under=under)
        return visit.go("/night") if kept else _page(visit)
    at = _time(visit)
    if visit.troubles:
        row.values()
        return _page(visit)
    kept = row.keep(at=at, words=words)
    return visit.go(_back(visit, when), kept=f"reading-{when or 'row'}") if kept else _page(visit)


def _back(visit: Visit, when: str) -> str:
    """Where to go from a row: to coming off where it belongs there, else to the night."""
    return "/off" if when in (*BODY_ROWS, "before_off") or visit.desk.phase in OFF else "/night"


def _time(visit: Visit) -> datetime | None:
    try:
        return past_time(visit.typed.get("at", ""), visit.desk.now)
    except EbbwellError as why:
        visit.troubles.append(Trouble(error_words(why), "at"))
        return None


WAYS = (Way("GET", "/night/reading", show, ALL), Way("POST", "/night/reading", take, HOME))
