"""A reading: the household's fields in its order, one Save; what isn't measured with its reason."""

from __future__ import annotations

from datetime import datetime

from starlette.responses import Response

from ebbwell.core.errors import EbbwellError
from ebbwell.deeds.readings_due import NAME, due_readings, nearest_reading, open_names
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
    picked = visit.typed["when"] if "when" in visit.typed else _asked_for(visit)
    names = list(dict.fromkeys([*([picked] if picked else []), *open_names(visit.desk, visit.desk.now.at)]))
    return visit.show(
        "pages/reading/page.html",
        reading=Row(visit, picked),
        body=picked in BODY_ROWS,
        back=_back(visit, picked),
        whens=names,
        picked=picked,
        reasons=WHY,
        typed=visit.typed,
        draft=_draft(picked),
    )


def _asked_for(visit: Visit) -> str:
    """The reading that is picked to begin with: the one that a link asked for, else the one that it is time for.

    A link to one that is long to come was for another time, so it doesn't pick.
    """
    named, now = visit.query.get("when", ""), visit.desk.now.at
    to_come = {r.name: r.due for r in due_readings(visit.desk) if r.due is not None and r.due > now}
    if NAME.fullmatch(named) and named not in to_come:
        return named
    return nearest_reading(visit.desk, now)


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
    if not kept:
        return _page(visit)
    back, key = _back(visit, when), visit.typed.get("key", "").lower()
    return visit.go(f"{back}?told={key}" if back == "/night" and key else back, kept=_draft(when))


def _draft(when: str) -> str:
    """Name of the form's draft: the same whichever reading is picked in it."""
    return f"reading-{when}" if when in BODY_ROWS else "reading-row"


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
