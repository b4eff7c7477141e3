"""Deeds about people and place: the household, its people, sign-off, hand-over, taking a treatment over."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Container
from datetime import date

from ebbwell.core.clock import zone_info
from ebbwell.core.errors import InputError
from ebbwell.core.findings import Finding, Grade
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.house import HandedOver, Household, Person, Skill
from ebbwell.state.night import Phase
from ebbwell.state.standing import household, people

ROLES = ("dialysis", "carer", "stand_in", "clinic")
SKILLS = ("set_up", "needle", "connect", "watch", "come_off")


def found_household(
    desk: Desk, *, name: str, zone: str, invented: bool = False, carbon_tanks: int = 2
) -> None:
    """Enter the home. Refuses an empty name and a zone this computer doesn't know.

    Refuses fewer carbon tanks while a night is being set up: a tank that is there tonight is tested tonight (H1).
    """
    if not name.strip():
        raise InputError("enter.household_name")
    held = household(desk.standing)
    if desk.phase is Phase.SETTING_UP and held is not None and carbon_tanks < held.carbon_tanks:
        desk.refuse("refuse.tanks_tonight")
    before = desk.standing.of("household")
    desk.add(
        Household(name=name.strip(), zone=zone_info(zone).key, invented=invented, carbon_tanks=carbon_tanks),
        replaces=tuple(f.id for f in before),
        standing=True,
    )


def enter_person(desk: Desk, *, person: str, name: str, roles: tuple[str, ...]) -> None:
    """Enter someone of the household. Refuses an empty name and a role that isn't one."""
    if not name.strip() or not person.strip():
        raise InputError("enter.person_name")
    if not roles or any(role not in ROLES for role in roles):
        raise InputError("enter.option", question="roles", options=", ".join(ROLES))
    before = [f for f in desk.standing.of("person") if getattr(f.body, "person", "") == person]
    desk.add(
        Person(person=person, name=name.strip(), roles=roles),
        replaces=tuple(f.id for f in before),
        standing=True,
    )


def sign_off(
    desk: Desk, *, person: str, skill: str, signed_by: str, signed_on: str, signed_off: bool = True
) -> None:
    """Note what someone is signed off for, by whom and when; or that it was taken back.

    Refuses someone not entered, a skill that isn't one, and a missing name or date.
    """
    if person not in people(desk.standing):
        desk.refuse("refuse.no_person", person=person)
    if skill not in SKILLS:
        raise InputError("enter.option", question="skill", options=", ".join(SKILLS))
    if not signed_by.strip():
        raise InputError("enter.signed_by")
    try:
        date.fromisoformat(signed_on)
    except ValueError as why:
        raise InputError("enter.signed_on", typed=signed_on) from why
    desk.add(
        Skill(
            person=person,
            skill=skill,
            signed_off=signed_off,
            signed_by=signed_by.strip(),
            signed_on=signed_on,
        ),
        standing=True,
    )


def offer_hand_over(desk: Desk, *, to_person: str, six_lines: tuple[str, ...]) -> None:
    """Offer the night to another carer, in six lines: person, access, plan, done, open, worry.

    The giver still holds it until the other accepts. Refuses without a night, and someone who isn't entered.
    """
    if desk.treatment_id is None:
        desk.refuse("refuse.no_night")
    if to_person not in people(desk.standing) or to_person == desk.by:
        desk.refuse("refuse.no_person", person=to_person)
    desk.add(HandedOver(stage="offered", to_person=to_person, six_lines=six_lines))
    desk.findings.append(Finding("hand_over_waits", Grade.CARE, (("person", to_person),), ("practice:e",)))


def accept_hand_over(desk: Desk, *, offer: str) -> None:
    """Take the night on: only the person it was offered to can.

    Refuses everyone else, and an offer that was taken back or already taken up.
    """
    fact = next((f for f in desk.treatment.of("handed_over") if f.id == offer), None)
    if fact is None or not isinstance(fact.body, HandedOver) or fact.body.stage != "offered":
        desk.refuse("refuse.no_offer")
    if any(getattr(f.body, "offer", "") == offer for f in desk.treatment.of("handed_over")):
        desk.refuse("refuse.no_offer")
    if fact.body.to_person != desk.by:
        desk.refuse("refuse.not_offered_to_you")
    desk.add(HandedOver(stage="accepted", to_person=desk.by, offer=offer))


def take_over_here(desk: Desk, *, words: str) -> None:
    """Make this store the one that holds the treatment. Every hold point reopens.

    Refuses without a treatment, when this store holds it already, and without a reason.
    """
    if desk.treatment_id is None:
        desk.refuse("refuse.no_night")
    if desk.scene.holder is not None and desk.scene.holder[0] == desk.writer:
        desk.refuse("refuse.holder_already")
    if not words.strip():
        raise InputError("enter.reason")
    older = tuple(f.id for f in desk.treatment.of("handed_over") if getattr(f.body, "stage", "") == "store")
    desk.add(HandedOver(stage="store", six_lines=(words.strip(),)), replaces=older)


def new_id(name: str, taken: Container[str]) -> str:
    """A short id for a person, from the name where that has letters; never one that is taken."""
    folded = unicodedata.normalize("NFKD", name.casefold())
    plain = re.sub(r"[^a-z0-9]+", "_", folded.encode("ascii", "ignore").decode()).strip("_")
    stem = plain.split("_")[0] or "person"
    found, count = stem, 1
    while found in taken or found == "bedside":
        count += 1
        found = f"{stem}{count}"
    return found
