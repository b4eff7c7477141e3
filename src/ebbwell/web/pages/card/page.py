"""The card of first actions: printed, it works when no screen does. It says until when it counts.

Source: practice:H34, H58, H74.
"""

from __future__ import annotations

from datetime import date
from zoneinfo import ZoneInfo

from starlette.responses import Response

from ebbwell.papers.first_actions import signed_situations
from ebbwell.state.texts import first_action
from ebbwell.web.visit import ALL, Visit, Way


def show(visit: Visit) -> Response:
    """What is done first, what is read out, and the unit's signed words with the day on which the card is void."""
    desk = visit.desk
    now = desk.now
    return visit.show(
        "pages/card/page.html",
        printed=now.at.astimezone(ZoneInfo(now.zone)).date().isoformat(),
        last_day=last_day(visit),
        signed=signed_situations(desk.standing, now),
    )


def last_day(visit: Visit) -> str:
    """The first day that ends any of the card's words; "" where none has a last day."""
    desk = visit.desk
    texts = (first_action(desk.standing, s, desk.now) for s in signed_situations(desk.standing, desk.now))
    days = [date.fromisoformat(text.valid_until) for text in texts if text is not None and text.valid_until]
    return min(days).isoformat() if days else ""


WAYS = (Way("GET", "/card", show, ALL),)
