"""Deeds about the record itself: correct, settle, withdraw. Nothing is ever taken out of sight."""

from __future__ import annotations

from collections.abc import Mapping

import msgspec

from ebbwell.core.errors import InputError
from ebbwell.core.findings import Finding, Grade
from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.mend import read_changes
from ebbwell.deeds.person import on_dialysis
from ebbwell.journal.kinds.house import HandedOver
from ebbwell.journal.kinds.marks import Corrected, Settled, Withdrawn
from ebbwell.journal.kinds.night import Connected
from ebbwell.journal.kinds.water import WaterLineSet
from ebbwell.procedure.two_readings import differing_checks, firsts_of
from ebbwell.rulebook.load import load_rulebook
from ebbwell.rulebook.water_lists import item_words
from ebbwell.state.facts import Fact, Facts, changed
from ebbwell.state.limits import loosens
from ebbwell.state.night import first_blood

STAYS = frozenset(
    {"pinned", "connected", "already_running", "came_off", "stop", "closed", "not_tonight", "blood_by_hand"}
)
"""Kinds that say what happened and can't be taken back; their time can be corrected.

"Not tonight" is taken back by the person alone (``person.tonight_after_all``)."""


RAN = frozenset({"connected", "already_running"})
"""Kinds that say that blood ran: never taken back, so that no slip makes a running night look like one that isn't.

One written by mistake is put right forwards: its words say so, the night is ended, and another one is opened."""


def _find(desk: Desk, entry_id: str) -> tuple[Facts, Fact]:
    for facts in (desk.treatment, desk.standing):
        if entry_id in facts.entries:
            fact = facts.fact(entry_id)
            if fact is None:
                desk.refuse("refuse.cannot_read", entry=entry_id)
            if entry_id in facts.replaced:
                newer = ", ".join(sorted(facts.replaced[entry_id]))
                desk.refuse("refuse.replaced", entry=entry_id, newer=newer)
            return facts, fact
    desk.refuse("refuse.no_entry", entry=entry_id)


def correct(
    desk: Desk, *, of: str, changes: Mapping[str, str], reason: str, sure: tuple[str, ...] = ()
) -> None:
    """Put a slip right: name the entry and the fields that were wrong. The first value stays on the sheet.

    changes: field to what is right, as typed; ``value`` and the values of a reading are read like a fresh value and
    asked about in the same way. ``at`` is its time. Refuses an entry that isn't there or was already replaced, a field
    that it hasn't or that a correction can't change (``mend.FIELDS``), and an empty reason.
    """
    facts, fact = _find(desk, of)
    if not reason.strip():
        raise InputError("enter.reason")
    if not changes:
        raise InputError("enter.changes")
    plain_changes = read_changes(desk, fact, changes, sure)
    try:
        changed(fact.body, plain_changes)
    except (msgspec.ValidationError, ValueError, TypeError) as why:
        raise InputError("enter.field", fields=", ".join(sorted(changes))) from why
    _after_connect(desk, of)
    if fact.kind == "connected" and "at" in plain_changes:
        desk.findings.append(
            Finding("changed_after_connect", Grade.STOP, (("steps", "S32"),), ("design",), (of,))
        )
    desk.add(
        Corrected(of=of, changes=plain_changes),
        replaces=(of,),
        reason=reason.strip(),
        standing=facts is desk.standing,
    )


def withdraw(desk: Desk, *, of: str, reason: str) -> None:
    """Take an entry back: it was not so. Before connecting this reopens what it met; after, it is a finding.

    Refuses an entry that isn't there or was already replaced, the entry that opened the night, what says that blood
    ran or that the person came off (correct its time instead), a hand-over that took place, and an empty reason. A
    stop can be taken back only before blood has run, and one said by the person on dialysis only by them.
    """
    facts, fact = _find(desk, of)
    if not reason.strip():
        raise InputError("enter.reason")
    before_blood = fact.kind == "stop" and facts is desk.treatment and first_blood(desk.treatment) is None
    if before_blood and getattr(fact.body, "said_by", "") == "person" and not on_dialysis(desk):
        desk.refuse("refuse.only_the_person")
    if (fact.kind in STAYS and not before_blood) or (
        isinstance(fact.body, HandedOver) and fact.body.stage != "offered"
    ):
        desk.refuse("refuse.blood_stays" if fact.kind in RAN else "refuse.cannot_withdraw")
    looser = loosens(desk.standing, load_rulebook(), of) if facts is desk.standing else ""
    if looser:
        desk.refuse("refuse.limit_looser", limit=say(f"limit.{looser}"))
    if isinstance(fact.body, WaterLineSet) and fact.body.most:
        desk.refuse("refuse.limit_looser", limit=item_words(fact.body.item))
    _after_connect(desk, of)
    desk.add(Withdrawn(of=of), replaces=(of,), reason=reason.strip(), standing=facts is desk.standing)


def settle(desk: Desk, *, of: tuple[str, ...], holds: str, reason: str) -> None:
    """End a disagreement: name every entry that stands in it, and the one that holds.

    Two values for one thing, or a first reading and the second one that wasn't the same. Where the first one holds, it
    still needs a second reading; where the second one does, the first is taken away and read again.
    Refuses entries that don't disagree, one left out, and an empty reason. To settle by measuring again, record the
    new value ``instead_of`` both.
    """
    if not reason.strip():
        raise InputError("enter.reason")
    check = next((fact for fact in differing_checks(desk.treatment) if fact.id in of), None)
    if check is not None and set(of) == {check.id, *firsts_of(desk.treatment, check)} and holds in of:
        gone = tuple(i for i in of if i != check.id) if holds == check.id else (check.id,)
        desk.add(Settled(of=of, holds=holds), replaces=gone, reason=reason.strip())
        return
    for facts in (desk.treatment, desk.standing):
        for held in facts.disagreements().values():
            if {fact.id for fact in held} == set(of) and holds in of:
                desk.add(
                    Settled(of=of, holds=holds),
                    replaces=tuple(i for i in of if i != holds),
                    reason=reason.strip(),
                    standing=facts is desk.standing,
                )
                return
    desk.refuse("refuse.nothing_to_settle")


def _after_connect(desk: Desk, entry_id: str) -> None:
    for fact in desk.treatment.of("connected"):
        if isinstance(fact.body, Connected):
            steps = sorted(step for step, ids in fact.body.satisfied.items() if entry_id in ids)
            if steps:
                desk.findings.append(
                    Finding(
                        "changed_after_connect",
                        Grade.STOP,
                        (("steps", ", ".join(steps)),),
                        ("design",),
                        (entry_id,),
                    )
                )
