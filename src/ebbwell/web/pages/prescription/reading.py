"""Tonight's prescription, read line by line from the paper before a pack is opened (S2)."""

from __future__ import annotations

from starlette.responses import Response

from ebbwell.core.text import say
from ebbwell.deeds import orders
from ebbwell.papers.words import day, step_words
from ebbwell.state.standing import Order
from ebbwell.web.pages.prescription import lines
from ebbwell.web.visit import HOME, Visit, Way

STEP = orders.READ_STEP


def show(visit: Visit) -> Response:
    """Whose it is, from whom and from when, and every line with its unit.

    The number of the paper is not on the page before it was typed: it is read off the paper in hand, so that an older
    paper is found out. Source: practice:b (S2: right person, version, date), practice:H2.
    """
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
            (
                group,
                [
                    (line, lines.shown(book, line, order.lines[line]), lines.changed_by(visit, order, line))
                    for line in ids
                ],
            )
            for group, ids in lines.grouped(order.lines)
        ],
        head=_head(visit, order, read=view is not None and view.passed) if order is not None else [],
        typed=visit.typed.get("version_read", ""),
    )


def _head(visit: Visit, order: Order, *, read: bool) -> list[tuple[str, str]]:
    """What stands at the top of the paper: label and value."""
    body = order.body
    number = body.number if read else say("web.prescription.number_hidden")
    return [
        (say("web.prescription.head.whose"), lines.whose(visit)),
        (say("web.prescription.head.number"), number),
        (say("web.prescription.head.valid_from"), day(body.valid_from)),
        (say("web.prescription.head.giver"), body.giver),
    ]


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
    return show(visit) if done is None else visit.go(f"/setup?saved={STEP}", kept="read")


WAYS = (Way("GET", "/prescription/read", show, HOME), Way("POST", "/prescription/read", take, HOME))
