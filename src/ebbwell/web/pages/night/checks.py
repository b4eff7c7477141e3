"""A check that was open when blood was found running, looked at or written down now. Nothing waits for it."""

from __future__ import annotations

from starlette.responses import Response

from ebbwell.core.errors import InputError
from ebbwell.papers.spoken import error_words
from ebbwell.state.night import first_blood
from ebbwell.web.pages.off.steps import keep_steps, open_steps
from ebbwell.web.visit import ALL, HOME, Trouble, Visit, Way


def show(visit: Visit) -> Response:
    """The fields of one step."""
    return _page(visit)


def _page(visit: Visit) -> Response:
    desk, step = visit.desk, visit.path.get("step", "")
    if step not in desk.procedure.ids:
        visit.troubles.append(Trouble(error_words(InputError("enter.step", step=step[:20]))))
    if step not in desk.procedure.ids or first_blood(desk.treatment) is None:
        return visit.show("pages/night/nothing.html")
    found = [on for on in open_steps(desk, {desk.procedure.step(step).stage}) if on.id == step]
    return visit.show("pages/night/check.html", step=step, fields=found[0].fields if found else ())


def take(visit: Visit) -> Response:
    """Keep what was filled in."""
    desk, step = visit.desk, visit.path.get("step", "")
    if step in desk.procedure.ids and first_blood(desk.treatment) is not None:
        keep_steps(visit, {desk.procedure.step(step).stage})
        if not visit.troubles:
            return visit.go("/night", kept=f"check-{step}")
    return _page(visit)


WAYS = (Way("GET", "/night/check/{step}", show, ALL), Way("POST", "/night/check/{step}", take, HOME))
