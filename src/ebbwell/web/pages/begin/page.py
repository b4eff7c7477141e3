"""The first run: what this is and isn't, who at the unit agreed, the home, its people. One thing at a time."""

from __future__ import annotations

from collections.abc import Callable

from starlette.responses import Response

from ebbwell.core.clock import ZonedClock
from ebbwell.deeds import people as deeds
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.orders import advise
from ebbwell.state.calls import advice_of
from ebbwell.state.standing import household, people
from ebbwell.web.visit import ALL, HOME, Visit, Way

PARTS = ("unit", "home", "person", "carer", "prescription")
"""What the first run asks for, in its order."""

NO_ZONE = "UTC"
"""The zone of a record that doesn't know its home's yet."""


def done_parts(desk: Desk) -> frozenset[str]:
    """What the record holds already."""
    roles = {role for one in people(desk.standing).values() for role in one.roles}
    held = {
        "unit": bool(advice_of(desk.standing)),
        "home": household(desk.standing) is not None,
        "person": "dialysis" in roles,
        "carer": "carer" in roles,
        "prescription": desk.scene.order is not None,
    }
    return frozenset(part for part, there in held.items() if there)


def show(visit: Visit) -> Response:
    """What this is and isn't; then the first thing that the record doesn't hold yet."""
    done = done_parts(visit.desk)
    later = visit.query.get("unit") == "later" or "home" in done
    asked = next((p for p in PARTS if p not in done and not (p == "unit" and later)), "")
    zone = visit.desk.now.zone
    return visit.show(
        "pages/begin/page.html",
        parts=PARTS,
        done=done,
        asked=visit.typed.get("part", asked) if visit.troubles else asked,
        zone="" if zone == NO_ZONE else zone,
        known=people(visit.desk.standing),
        may_act=bool(visit.roles & HOME),
    )


def take(visit: Visit) -> Response:
    """Keep one answer and come back for the next."""
    part = visit.typed.get("part", "")
    take_part = TAKES.get(part)
    if take_part is None:
        return show(visit)
    if part in done_parts(visit.desk):
        return visit.go("/begin")
    return take_part(visit)


def _unit(visit: Visit) -> Response:
    done = visit.do(
        advise,
        field="who",
        key=visit.typed.get("key"),
        who=visit.typed.get("who", ""),
        words=visit.typed.get("words", ""),
    )
    return show(visit) if done is None else visit.go("/begin", kept="begin-unit")


def _found(visit: Visit) -> bool:
    zone = visit.typed.get("zone", "").strip()
    held = household(visit.desk.standing)
    done = visit.do(
        deeds.found_household,
        field="name",
        key=visit.typed.get("key"),
        name=visit.typed.get("name", ""),
        zone=zone,
        invented=held is not None and held.invented,
        carbon_tanks=1 if visit.typed.get("tanks") == "1" else 2,
    )
    if done is not None:
        visit.house.clock = ZonedClock(visit.house.clock, zone)
    return done is not None


def _home(visit: Visit) -> Response:
    return visit.go("/begin", kept="begin-home") if _found(visit) else show(visit)


def show_home(visit: Visit) -> Response:
    """The home as it is entered, to change its name, its zone or its carbon tanks."""
    return visit.show("pages/begin/home.html", may_change="carer" in visit.roles)


def change_home(visit: Visit) -> Response:
    """Keep the change."""
    return visit.go("/home", kept="home") if _found(visit) else show_home(visit)


def _enter(visit: Visit, role: str) -> tuple[str, bool]:
    name = visit.typed.get("name", "")
    person = deeds.new_id(name, people(visit.desk.standing))
    done = visit.do(
        deeds.enter_person,
        field="name",
        key=visit.typed.get("key"),
        person=person,
        name=name,
        roles=(role,),
    )
    return person, done is not None


def _person(visit: Visit) -> Response:
    return visit.go("/begin", kept="begin-person") if _enter(visit, "dialysis")[1] else show(visit)


def _carer(visit: Visit) -> Response:
    person, kept = _enter(visit, "carer")
    if not kept:
        return show(visit)
    answer = visit.go("/begin", kept="begin-carer")
    answer.set_cookie("who", person, max_age=86400, httponly=True, samesite="strict")
    return answer


TAKES: dict[str, Callable[[Visit], Response]] = {
    "unit": _unit,
    "home": _home,
    "person": _person,
    "carer": _carer,
}

WAYS = (
    Way("GET", "/begin", show, ALL),
    Way("POST", "/begin", take, HOME),
    Way("GET", "/home", show_home, ALL),
    Way("POST", "/home", change_home, frozenset({"carer"})),
)
