"""Reminders: the real sound is played and heard before they are on. They listen to nothing and call nobody."""

from __future__ import annotations

from urllib.parse import quote

from starlette.responses import Response

from ebbwell.core.errors import InputError
from ebbwell.deeds.reminders import reminders_off, reminders_on
from ebbwell.papers.spoken import error_words
from ebbwell.state.reminders import REMINDED_IN, reminders
from ebbwell.web.live import DEVICE
from ebbwell.web.render import reminders_due
from ebbwell.web.visit import ALL, HOME, Trouble, Visit, Way


def show(visit: Visit) -> Response:
    """What is on, what it can do and can't, and the step that turns it on."""
    desk = visit.desk
    return visit.show(
        "pages/reminders/page.html",
        can=desk.phase in REMINDED_IN,
        devices=reminders(desk.treatment),
        times=reminders_due(desk),
        typed=visit.typed,
    )


def take_on(visit: Visit) -> Response:
    """Turn them on at this screen, once somebody says that the sound was heard."""
    device = visit.typed.get("device", "").strip()
    heard = visit.typed.get("heard", "")
    if heard not in ("yes", "no"):
        visit.troubles.append(Trouble(error_words(InputError("web.reminders.pick_heard")), "heard"))
        return show(visit)
    done = visit.do(
        reminders_on,
        field="heard" if heard == "no" else "device",
        key=visit.typed.get("key"),
        heard=heard == "yes",
        wake_lock=visit.typed.get("wake_lock") == "yes",
        device=device,
    )
    if done is None:
        return show(visit)
    answer = visit.go("/reminders", kept="reminders")
    answer.set_cookie(DEVICE, quote(device), max_age=86400, httponly=True, samesite="strict")
    return answer


def take_off(visit: Visit) -> Response:
    """Turn them off at a screen."""
    done = visit.do(reminders_off, key=visit.typed.get("key"), device=visit.typed.get("device", ""))
    return visit.go("/reminders") if done is not None else show(visit)


WAYS = (
    Way("GET", "/reminders", show, ALL),
    Way("POST", "/reminders", take_on, HOME),
    Way("POST", "/reminders/off", take_off, HOME),
)
