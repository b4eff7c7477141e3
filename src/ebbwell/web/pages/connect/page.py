"""Connecting: each thing that keeps it shut with its place, and when nothing does, the button and its time."""

from __future__ import annotations

from starlette.responses import Response

from ebbwell.core.errors import InputError
from ebbwell.core.text import say
from ebbwell.deeds.connect import connect
from ebbwell.procedure.holds import Status
from ebbwell.state.night import Phase, first_blood
from ebbwell.web.once import KEPT, once, refuse, sent
from ebbwell.web.pages.setup.screen import bars, told
from ebbwell.web.times import past_time
from ebbwell.web.visit import ALL, HOME, Trouble, Visit, Way


def show(visit: Visit) -> Response:
    """The page; on a night that runs, the night page instead."""
    if first_blood(visit.desk.treatment) is not None:
        return visit.go("/night")
    if visit.desk.phase in (Phase.NONE, Phase.CLOSED, Phase.CALLED_OFF):
        return visit.go("/")
    return _page(visit)


def _page(visit: Visit) -> Response:
    desk = visit.desk
    met = [v for v in desk.views.values() if v.step.gate == "connect" and v.status is not Status.NOT_NEEDED]
    saved = tuple(part for part in visit.query.get("saved", "").split(".") if part)
    return visit.show("pages/connect/page.html", bars=bars(desk), checked=len(met), told=told(desk, saved))


def take(visit: Visit) -> Response:
    """Record first blood, through the gate."""
    if sent(visit, "night") != (visit.desk.treatment_id or "") or not visit.desk.treatment_id:
        visit.troubles.append(Trouble(say("web.setup.other_night"), "connect"))
        return _page(visit)
    try:
        at = past_time(sent(visit, "at"), visit.desk.now)
    except InputError as why:
        refuse(visit, "connect", why)
        return _page(visit)
    if once(visit, connect, field="connect", at=at) == KEPT:
        return visit.go("/night")
    return _page(visit)


WAYS = (Way("GET", "/connect", show, ALL), Way("POST", "/connect", take, HOME))
