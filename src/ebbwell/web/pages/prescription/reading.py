"""Tonight's prescription, read line by line from the paper before a pack is opened (S2)."""

from __future__ import annotations

from starlette.responses import Response

from ebbwell.deeds import orders
from ebbwell.papers.words import step_words
from ebbwell.web.pages.prescription import lines
from ebbwell.web.visit import HOME, Visit, Way

STEP = orders.READ_STEP


def show(visit: Visit) -> Response:
    """Every line with its unit. The number of the paper is not on the page: it is read off the paper in hand."""
    desk = visit.desk
    order = desk.scene.order
    view = desk.views.get(STEP) if desk.treatment_id is not None else None
    book = desk.rulebook
    return visit.show(
        "pages/prescription/read.html",
        order=order,
        view=view,
        first=[step_words(desk.procedure, step) for step in view.waits_for] if view is not None else [],
        groups=[]
        if order is None or order.waiting
        else [
            (group, [(line, lines.shown(book, line, order.lines[line])) for line in ids])
            for group, ids in lines.grouped(order.lines)
        ],
        typed=visit.typed.get("version_read", ""),
    )


def take(visit: Visit) -> Response:
    """Keep that it was read, with the number on the paper."""
    if lines.left_empty(visit, "version_read", "web.prescription.need_paper_number"):
        return show(visit)
    done = visit.do(
        orders.read_back,
        field="version_read",
        key=visit.typed.get("key"),
        version_read=visit.typed["version_read"],
    )
    return show(visit) if done is None else visit.go("/setup", kept="read")


WAYS = (Way("GET", "/prescription/read", show, HOME), Way("POST", "/prescription/read", take, HOME))
