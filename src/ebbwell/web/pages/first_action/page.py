"""One situation: the unit's own words, who signed them and when. Nothing to choose, nothing to type."""

from __future__ import annotations

from starlette.responses import PlainTextResponse, Response

from ebbwell.core.text import say
from ebbwell.journal.kinds.house import SITUATIONS
from ebbwell.papers.first_actions import first_action_lines, signed_situations
from ebbwell.web.visit import ALL, Visit, Way


def show(visit: Visit) -> Response:
    """The page of a situation; without signed words no more than stop, clamp, call."""
    situation = visit.path["situation"]
    if situation not in SITUATIONS:
        return PlainTextResponse(say("web.first.stop_clamp_call"), 404)
    desk = visit.desk
    signed = situation in signed_situations(desk.standing, desk.now)
    lines = first_action_lines(desk.standing, situation, desk.now)
    return visit.show(
        "pages/first_action/page.html",
        situation=situation,
        signed=signed,
        lines=lines[1:],
    )


WAYS = (Way("GET", "/first-action/{situation}", show, ALL),)
