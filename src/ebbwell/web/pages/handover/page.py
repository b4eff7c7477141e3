"""Handing the night over in six lines, taking it on, and taking it over on this computer."""

from __future__ import annotations

from starlette.responses import Response

from ebbwell.deeds import people as deeds
from ebbwell.state.night import Phase, carer_in_charge
from ebbwell.state.standing import people
from ebbwell.web.pages.tonight.next_thing import offered_to
from ebbwell.web.visit import ALL, HOME, Visit, Way

LINES = 6
"""Person, access, plan, done, open, worry. Source: practice:T53."""

ENDED = (Phase.NONE, Phase.CLOSED, Phase.CALLED_OFF)


def show(visit: Visit) -> Response:
    """Who has the night, the offer that waits, and the six lines of a new one."""
    desk = visit.desk
    known = people(desk.standing)
    helpers = {
        person: one
        for person, one in known.items()
        if person != visit.who and {"carer", "stand_in"} & set(one.roles)
    }
    held = desk.scene.holder if desk.treatment_id is not None else None
    return visit.show(
        "pages/handover/page.html",
        night=desk.phase not in ENDED,
        names={person: one.name for person, one in known.items()},
        in_charge=carer_in_charge(desk.treatment) if desk.treatment_id is not None else None,
        helpers=helpers,
        offer=offered_to(desk) if desk.treatment_id is not None else None,
        here=held is not None and held[0] == desk.writer,
        lines=range(1, LINES + 1),
        may_act=bool(visit.roles & HOME),
    )


def offer(visit: Visit) -> Response:
    """Offer the night to somebody."""
    done = visit.do(
        deeds.offer_hand_over,
        field="to",
        key=visit.typed.get("key"),
        to_person=visit.typed.get("to", ""),
        six_lines=tuple(visit.typed.get(f"six_{n}", "").strip() for n in range(1, LINES + 1)),
    )
    return show(visit) if done is None else visit.go("/hand-over", kept="hand-over")


def accept(visit: Visit) -> Response:
    """Take the night on."""
    done = visit.do(
        deeds.accept_hand_over, field="accept", key=visit.typed.get("key"), offer=visit.typed.get("offer", "")
    )
    return show(visit) if done is None else visit.go("/hand-over")


def take_over(visit: Visit) -> Response:
    """Make this computer the one that holds the night."""
    done = visit.do(
        deeds.take_over_here, field="words", key=visit.typed.get("key"), words=visit.typed.get("words", "")
    )
    return show(visit) if done is None else visit.go("/hand-over", kept="take-over")


WAYS = (
    Way("GET", "/hand-over", show, ALL),
    Way("POST", "/hand-over", offer, HOME),
    Way("POST", "/hand-over/accept", accept, HOME),
    Way("POST", "/hand-over/here", take_over, HOME),
)
