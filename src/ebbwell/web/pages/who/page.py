"""Who is at this screen: a name to pick, kept in the browser."""

from __future__ import annotations

from starlette.responses import Response

from ebbwell.state.standing import people
from ebbwell.web.pages.look.page import own_page
from ebbwell.web.visit import ALL, BEDSIDE, Visit, Way


def show(visit: Visit) -> Response:
    """The names."""
    back = own_page(visit.query.get("back", "/"))
    return visit.show("pages/who/page.html", known=people(visit.desk.standing), back=back)


def pick(visit: Visit) -> Response:
    """Note who it is. A name that isn't entered counts as nobody in particular."""
    chosen = visit.typed.get("who", BEDSIDE)
    known = people(visit.desk.standing)
    answer = visit.go(own_page(visit.typed.get("back", "/")))
    answer.set_cookie(
        "who", chosen if chosen in known else BEDSIDE, max_age=86400, httponly=True, samesite="strict"
    )
    return answer


WAYS = (Way("GET", "/who", show, ALL), Way("POST", "/who", pick, ALL))
