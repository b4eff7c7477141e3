"""If a needle slips out: the arithmetic of the loss at tonight's flow, and why no pressure can be relied on."""

from __future__ import annotations

from starlette.responses import Response

from ebbwell.papers.needle_out import needle_out
from ebbwell.web.visit import ALL, Visit, Way


def show(visit: Visit) -> Response:
    """The page. It says nothing about the needle of tonight, and writes nothing."""
    return visit.show("pages/needle/page.html", found=needle_out(visit.desk))


WAYS = (Way("GET", "/needle", show, ALL),)
