"""One line changed, by phone or on a paper; and the paper that comes after a phone order."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from starlette.responses import Response

from ebbwell.core.text import say
from ebbwell.deeds import orders
from ebbwell.papers.words import clock, day
from ebbwell.state.alone import GOES_ON, NEXT_WITHIN
from ebbwell.web.pages.prescription import lines
from ebbwell.web.pages.prescription.transcribe import ask
from ebbwell.web.visit import HOME, Trouble, Visit, Way

BY = ("phone", "paper")
"""How the change came: by phone, so that the paper is still to come, or on a paper in hand."""

LASTS = ("tonight", "on")
"""How long it holds: for one night alone, or from now on."""

BACK = "setup"
"""Where somebody came from who goes on with the set-up afterwards."""


def show(visit: Visit) -> Response:
    """Which line; then, with a line picked, its form."""
    order = visit.desk.scene.order
    line = visit.typed.get("line", "") or visit.query.get("line", "")
    book = visit.desk.rulebook
    ids = [each.id for each in book.lines()]
    if order is None or line not in ids:
        return visit.show(
            "pages/prescription/which.html", order=order, groups=lines.grouped(ids), back=came_from(visit)
        )
    now = order.lines.get(line, "")
    return visit.show(
        "pages/prescription/amend.html",
        order=order,
        line=line,
        in_force=lines.shown(book, line, now) if now else "",
        value=lines.field_of(book, book.line(line), visit.typed.get("value", ""), name="value", must=True),
        again=lines.field_of(
            book, book.line(line), visit.typed.get("read_back", ""), name="read_back", must=True
        ),
        giver=visit.typed.get("giver", ""),
        by=visit.typed.get("by", ""),
        lasts=visit.typed.get("lasts", ""),
        night=_night(visit),
        back=came_from(visit),
    )


def came_from(visit: Visit) -> str:
    """``setup`` for somebody who goes back to the set-up afterwards."""
    return BACK if BACK in (visit.typed.get("back"), visit.query.get("back")) else ""


def _night(visit: Visit) -> str:
    """Which night "tonight" is, in words: the one that goes on, else the next one opened in time."""
    desk = visit.desk
    summary = desk.past.get(desk.treatment_id or "") if desk.phase in GOES_ON else None
    if summary is not None:
        return say("web.prescription.lasts_open", day=day(summary.night))
    until = desk.now.at + NEXT_WITHIN
    local = until.astimezone(ZoneInfo(desk.now.zone)).date().isoformat()
    return say("web.prescription.lasts_next", day=day(local), at=clock(until, desk.now.zone))


def take(visit: Visit) -> Response:
    """Keep the changed line; it is in force after its second check."""
    line = visit.typed.get("line", "")
    if line not in {each.id for each in visit.desk.rulebook.lines()}:
        return show(visit)
    if visit.typed.get("by", "") not in BY:
        visit.troubles.append(Trouble(say("web.prescription.need_by"), "by"))
    if visit.typed.get("lasts", "") not in LASTS:
        visit.troubles.append(Trouble(say("web.prescription.need_lasts"), "lasts"))
    lines.left_empty(visit, "giver", "enter.giver")
    read = lines.read_typed(visit, [line], must=lambda _: True, names=lambda _: "value")
    lines.read_typed(visit, [line], must=lambda _: True, names=lambda _: "read_back")
    if not visit.troubles:
        ask(visit, read, field="value")
    if visit.troubles:
        return show(visit)
    done = visit.do(
        orders.amend_line,
        field="read_back",
        key=visit.typed.get("key"),
        line=line,
        value=visit.typed["value"],
        giver=visit.typed["giver"],
        read_back=visit.typed["read_back"],
        written_awaited=visit.typed["by"] == "phone",
        tonight_only=visit.typed["lasts"] == "tonight",
    )
    if done is None:
        return show(visit)
    back = f"?back={BACK}" if came_from(visit) else ""
    return visit.go(f"/prescription/check/{done.entries[0]}{back}", kept=f"amend-{line}")


def show_written(visit: Visit) -> Response:
    """The form for the paper that has come; what was heard is not shown."""
    order = visit.desk.scene.order
    line = visit.typed.get("line", "") or visit.query.get("line", "")
    if order is None or line not in order.unconfirmed:
        return visit.show("pages/prescription/nothing.html", status=404 if not visit.troubles else 0)
    return visit.show(
        "pages/prescription/written.html",
        line=line,
        value=lines.field_of(
            visit.desk.rulebook,
            visit.desk.rulebook.line(line),
            visit.typed.get("value", ""),
            name="value",
            must=True,
        ),
        giver=visit.typed.get("giver", ""),
    )


def take_written(visit: Visit) -> Response:
    """Keep that the paper says the same."""
    line = visit.typed.get("line", "")
    order = visit.desk.scene.order
    if order is None or line not in order.unconfirmed:
        return show_written(visit)
    lines.left_empty(visit, "giver", "enter.giver")
    lines.read_typed(visit, [line], must=lambda _: True, names=lambda _: "value")
    if visit.troubles:
        return show_written(visit)
    done = visit.do(
        orders.confirm_written,
        field="value",
        key=visit.typed.get("key"),
        line=line,
        value=visit.typed["value"],
        giver=visit.typed["giver"],
    )
    return show_written(visit) if done is None else visit.go("/prescription", kept=f"written-{line}")


WAYS = (
    Way("GET", "/prescription/amend", show, HOME),
    Way("POST", "/prescription/amend", take, HOME),
    Way("GET", "/prescription/written", show_written, HOME),
    Way("POST", "/prescription/written", take_written, HOME),
)
