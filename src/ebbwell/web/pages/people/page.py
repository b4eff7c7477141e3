"""Who lives and helps here, what each is signed off for by the unit, and changing either."""

from __future__ import annotations

from dataclasses import dataclass

from starlette.responses import PlainTextResponse, Response

from ebbwell.core.text import say
from ebbwell.deeds import people as deeds
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.house import Person, Skill
from ebbwell.state.facts import Fact
from ebbwell.state.standing import people, signed_off
from ebbwell.web.visit import ALL, Visit, Way

HOUSEHOLD = frozenset({"carer"})
"""Who enters people and their sign-offs."""

FIRST = frozenset({"carer", "bedside"})
"""Who may enter somebody: also nobody named, while no carer is entered."""


@dataclass(frozen=True)
class SignOff:
    """What somebody may do alone. said: the entry; None where it comes with the role alone."""

    skill: str
    may: bool
    said: Fact | None

    @property
    def body(self) -> Skill | None:
        """The sign-off as written."""
        return self.said.body if self.said is not None and isinstance(self.said.body, Skill) else None


def sign_offs(desk: Desk, person: str) -> list[SignOff]:
    """Every skill, in the order of the night, as it stands for one person."""
    out = []
    for skill in deeds.SKILLS:
        said = [
            f
            for f in desk.standing.of("skill")
            if isinstance(f.body, Skill) and f.body.person == person and f.body.skill == skill
        ]
        out.append(SignOff(skill, signed_off(desk.standing, person, skill), said[-1] if said else None))
    return out


def helps(one: Person) -> bool:
    """Whether sign-offs speak about this person."""
    return bool({"carer", "stand_in"} & set(one.roles))


def show(visit: Visit) -> Response:
    """Everyone who is entered."""
    known = people(visit.desk.standing)
    return visit.show(
        "pages/people/page.html",
        known=known,
        offs={person: sign_offs(visit.desk, person) for person, one in known.items() if helps(one)},
        roles=deeds.ROLES,
        may_change=may_change(visit),
    )


def may_change(visit: Visit) -> bool:
    """Whether who is here may enter people: a carer; anybody while there is none."""
    known = people(visit.desk.standing).values()
    return "carer" in visit.roles or not any("carer" in one.roles for one in known)


def enter(visit: Visit) -> Response:
    """Enter somebody."""
    if not may_change(visit):
        return PlainTextResponse(say("web.not_for_you"), 403)
    name = visit.typed.get("name", "")
    done = visit.do(
        deeds.enter_person,
        field="name",
        key=visit.typed.get("key"),
        person=deeds.new_id(name, people(visit.desk.standing)),
        name=name,
        roles=tuple(visit.many.get("roles", ())),
    )
    return show(visit) if done is None else visit.go("/people", kept="people")


def show_one(visit: Visit) -> Response:
    """One person: name, roles, sign-offs."""
    person = visit.path["person"]
    one = people(visit.desk.standing).get(person)
    if one is None:
        return PlainTextResponse(say("web.people.nobody"), 404)
    return visit.show(
        "pages/people/one.html",
        id=person,
        one=one,
        offs=sign_offs(visit.desk, person) if helps(one) else [],
        roles=deeds.ROLES,
        skills=deeds.SKILLS,
        may_change=may_change(visit),
    )


def change(visit: Visit) -> Response:
    """Change a name or roles."""
    person = visit.path["person"]
    if person not in people(visit.desk.standing):
        return PlainTextResponse(say("web.people.nobody"), 404)
    done = visit.do(
        deeds.enter_person,
        field="name",
        key=visit.typed.get("key"),
        person=person,
        name=visit.typed.get("name", ""),
        roles=tuple(visit.many.get("roles", ())),
    )
    return show_one(visit) if done is None else visit.go(f"/people/{person}", kept=f"person-{person}")


def sign(visit: Visit) -> Response:
    """Note what the unit signed somebody off for, or that it took that back."""
    person = visit.path["person"]
    if person not in people(visit.desk.standing):
        return PlainTextResponse(say("web.people.nobody"), 404)
    done = visit.do(
        deeds.sign_off,
        field="skill",
        key=visit.typed.get("key"),
        person=person,
        skill=visit.typed.get("skill", ""),
        signed_by=visit.typed.get("signed_by", ""),
        signed_on=visit.typed.get("signed_on", ""),
        signed_off=visit.typed.get("signed", "yes") == "yes",
    )
    return show_one(visit) if done is None else visit.go(f"/people/{person}", kept=f"signed-{person}")


WAYS = (
    Way("GET", "/people", show, ALL),
    Way("POST", "/people", enter, FIRST),
    Way("GET", "/people/{person}", show_one, ALL),
    Way("POST", "/people/{person}", change, HOUSEHOLD),
    Way("POST", "/people/{person}/signed", sign, HOUSEHOLD),
)
