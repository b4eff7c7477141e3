"""Stop now. Notes the time in one tap, from any state, by anyone; typing comes later. Never refused."""

from __future__ import annotations

from starlette.responses import Response

from ebbwell.core.errors import EbbwellError
from ebbwell.core.ids import check_id
from ebbwell.core.text import say
from ebbwell.deeds.night import runs_on, stop_now
from ebbwell.state.night import Phase, first_blood
from ebbwell.web.pages.reading.later import made_at
from ebbwell.web.visit import ALL, HOME, Visit, Way


def show(visit: Visit) -> Response:
    """What was noted, and what is read out on the phone. Nothing to type here."""
    held = [*visit.desk.treatment.of("stop"), *visit.desk.standing.of("stop")]
    ran = first_blood(visit.desk.treatment) is not None
    return visit.show(
        "pages/stop/page.html",
        noted=max((f.at for f in held), default=None),
        ran=ran,
        may_run_on=ran and visit.desk.phase is Phase.STOPPING and bool(visit.roles & HOME),
    )


def take(visit: Visit) -> Response:
    """Note it. Where the record can't take it the page says so, with what to do first on it all the same."""
    person = visit.person
    said_by = "person" if person is not None and "dialysis" in person.roles else "carer"
    done = visit.do(
        stop_now,
        key=_key(visit.typed.get("key", "")),
        said_by=said_by,
        at=made_at(visit),
        made_under=visit.typed.get("made_under", ""),
    )
    return visit.go("/stop") if done is not None else show(visit)


def take_runs_on(visit: Visit) -> Response:
    """Blood runs on: the stop stays a note, and the night's readings are due again."""
    words = say("web.stop.runs_on_words")
    done = visit.do(runs_on, key=_key(visit.typed.get("key", "")), words=words)
    return visit.go("/night") if done is not None else show(visit)


def _key(typed: str) -> str | None:
    """A form's key, or none: a stop isn't refused for a key that is none."""
    try:
        return check_id(typed)
    except EbbwellError:
        return None


WAYS = (
    Way("GET", "/stop", show, ALL),
    Way("POST", "/stop", take, ALL),
    Way("POST", "/stop/runs-on", take_runs_on, HOME),
)
