"""Tonight: the one next thing, what is still open, what waits, and how the night is meant to run."""

from __future__ import annotations

from starlette.responses import Response

from ebbwell.web.visit import ALL, Visit, Way


def show(visit: Visit) -> Response:
    """The page. Writes nothing."""
    return visit.show("pages/tonight/page.html")


WAYS = (Way("GET", "/", show, ALL),)
