"""Deeds about the record itself: correct, settle, withdraw. Nothing is ever taken out of sight."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

import msgspec

from ebbwell.core.errors import InputError
from ebbwell.core.findings import Finding, Grade
from ebbwell.core.numbers import plain
from ebbwell.deeds.desk import Desk, ask_first
from ebbwell.deeds.setup import expected_value
from ebbwell.journal.kinds.marks import Corrected, Measured, Settled, Withdrawn
from ebbwell.journal.kinds.night import Connected, Reading
from ebbwell.rulebook.typed import check_typed, read_quantity
from ebbwell.state.facts import Fact, Facts, changed
from ebbwell.state.own_past import recent


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
    asked about in the same way. Refuses an entry that isn't there or was already replaced, a field it hasn't, and an
    empty reason.
    """
    facts, fact = _find(desk, of)
    if not reason.strip():
        raise InputError("enter.reason")
    if not changes:
        raise InputError("enter.changes")
    plain_changes, asked = _read_changes(desk, fact, changes, sure)
    try:
        changed(fact.body, plain_changes)
        if "at" in plain_changes:
            datetime.fromisoformat(plain_changes["at"])
    except (msgspec.ValidationError, ValueError) as why:
        raise InputError("enter.field", fields=", ".join(sorted(changes))) from why
    known = set(msgspec.structs.asdict(fact.body)) | {"at"}
    strange = sorted(name for name in plain_changes if name.partition(".")[0] not in known)
    if strange:
        raise InputError("enter.field", fields=", ".join(strange))
    _after_connect(desk, of)
    del asked
    desk.add(
        Corrected(of=of, changes=plain_changes),
        replaces=(of,),
        reason=reason.strip(),
        standing=facts is desk.standing,
    )


def _read_changes(
    desk: Desk, fact: Fact, changes: Mapping[str, str], sure: tuple[str, ...]
) -> tuple[dict[str, str], tuple[str, ...]]:
    out = dict(changes)
    questions: list[Any] = []
    body = fact.body
    if (
        isinstance(body, Measured)
        and "value" in out
        and out["value"] not in desk.rulebook.quantity(body.quantity).words
    ):
        value, below, _ = read_quantity(desk.rulebook, body.quantity, out["value"], None)
        name = f"{body.quantity}@{body.place}" if body.place else body.quantity
        own = recent(desk.past, name, before=desk.now.at)
        expected = expected_value(desk, body.quantity)
        questions += check_typed(desk.rulebook, body.quantity, value, own=own, expected=expected)
        out["value"] = plain(value)
        if below != body.below:
            out["below"] = "true" if below else "false"
    if isinstance(body, Reading):
        for name, typed in changes.items():
            head, _, quantity = name.partition(".")
            if head == "values" and quantity:
                value, _, _ = read_quantity(desk.rulebook, quantity, typed, None)
                own = recent(desk.past, quantity, before=desk.now.at)
                questions += check_typed(desk.rulebook, quantity, value, own=own)
                out[name] = plain(value)
    return out, ask_first(tuple(questions), sure)


def withdraw(desk: Desk, *, of: str, reason: str) -> None:
    """Take an entry back: it was not so. Before connecting this reopens what it met; after, it is a finding.

    Refuses an entry that isn't there or was already replaced, the entry that opened the night, what says that blood
    ran or that the person came off (correct its time instead), and an empty reason.
    """
    facts, fact = _find(desk, of)
    if not reason.strip():
        raise InputError("enter.reason")
    if fact.kind in ("pinned", "connected", "already_running", "came_off", "stop", "closed"):
        desk.refuse("refuse.cannot_withdraw")
    _after_connect(desk, of)
    desk.add(Withdrawn(of=of), replaces=(of,), reason=reason.strip(), standing=facts is desk.standing)


def settle(desk: Desk, *, of: tuple[str, ...], holds: str, reason: str) -> None:
    """End a disagreement: name every entry that stands in it, and the one that holds.

    Refuses entries that don't disagree, one left out, and an empty reason. To settle by measuring again, record the
    new value ``instead_of`` both.
    """
    if not reason.strip():
        raise InputError("enter.reason")
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
