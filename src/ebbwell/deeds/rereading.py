"""The deed of a second reading: what another person, or a fresh look at the object, found."""

from __future__ import annotations

from collections.abc import Mapping

from ebbwell.core.clock import elapsed
from ebbwell.core.errors import InputError
from ebbwell.core.findings import Finding, Grade
from ebbwell.core.numbers import plain
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.turn import LOOK_AGAIN, need_open
from ebbwell.journal.kinds.marks import Choice, LotUsed, Measured
from ebbwell.journal.kinds.orders import SecondCheck
from ebbwell.procedure.evidence import same_value
from ebbwell.procedure.two_readings import FIRSTS
from ebbwell.rulebook.typed import read_quantity
from ebbwell.state.facts import Fact
from ebbwell.state.standing import people


def second_check(desk: Desk, *, step: str, how: str, values: Mapping[str, str], photo: str = "") -> None:
    """The second reading of a step: what the other person, or a fresh look at the object, found.

    values: for each piece of evidence its name to what is read now, the first reading hidden. A reading that
    differs is kept; the hold stays shut until both are read afresh, or somebody settles which one holds.
    Refuses a step without a first reading, a "second person" who is the first, a second look within 20 seconds, a
    scan for what has no code, and a photo where the step doesn't take one.
    """
    opened = need_open(desk, step, second=True)
    firsts = first_readings(desk, step)
    if not firsts:
        desk.refuse("refuse.no_first", step=step)
    if how == "person":
        if desk.by not in people(desk.standing) or any(fact.by == desk.by for fact in firsts):
            desk.refuse("refuse.same_person")
    elif how == "reread":
        if any(elapsed(f.entry.envelope.recorded_at, desk.now.at) < LOOK_AGAIN for f in firsts):
            desk.refuse("refuse.too_soon", seconds=int(LOOK_AGAIN.total_seconds()))
    elif how == "photo" and opened.second == "person_or_photo":
        if not photo.strip():
            raise InputError("enter.photo")
    elif how != "scan" or opened.second != "scan":
        raise InputError("enter.how", how=how)
    seen = {}
    differing = []
    for fact in firsts:
        name, first = said(fact)
        again = values.get(name, "").strip()
        if (
            isinstance(fact.body, Measured)
            and again
            and again not in desk.rulebook.quantity(fact.body.quantity).words
        ):
            value, below, _ = read_quantity(desk.rulebook, fact.body.quantity, again, None)
            again = ("<" if below else "") + plain(value)
        seen[name] = again
        alike = (
            same_value(again, first)
            if isinstance(fact.body, Measured)
            else again.casefold() == first.casefold()
        )
        if not alike:
            differing.append(name)
    if photo:
        seen["photo"] = photo.strip()
    desk.add(
        SecondCheck(of=tuple(f.id for f in firsts), how=how, values=seen, agrees=not differing, step=step)
    )
    if differing:
        desk.findings.append(
            Finding("second_check_differs", Grade.STOP, (("lines", ", ".join(differing)),), ("practice:e",))
        )


def first_readings(desk: Desk, step: str) -> tuple[Fact, ...]:
    """The facts of a step that a second reading is compared with."""
    view = desk.views[step]
    facts = (desk.treatment.fact(entry_id) for entry_id in view.by)
    return tuple(fact for fact in facts if fact is not None and fact.kind in FIRSTS)


def said(fact: Fact) -> tuple[str, str]:
    """The name a second reading goes by, and what the first one said."""
    body = fact.body
    if isinstance(body, Measured):
        name = f"{body.quantity}@{body.place}" if body.place else body.quantity
        return name, ("<" if body.below else "") + body.value
    if isinstance(body, LotUsed):
        return body.item, body.code
    if isinstance(body, Choice):
        return body.name, body.option
    return fact.kind, "yes"
