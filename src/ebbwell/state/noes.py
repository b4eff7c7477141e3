"""Every "not tonight" among some facts, with each taking back of it; it stays on record whatever came of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from ebbwell.journal.envelope import Entry
from ebbwell.journal.kinds.bedside import NotTonight
from ebbwell.journal.kinds.marks import Withdrawn
from ebbwell.state.facts import Facts


@dataclass(frozen=True)
class No:
    """entry: that said it first; at: when, as corrected last while it stands. first: as it was said; body: as it holds.

    backs: the entries that took it back, also where it had been corrected, in the order of writing.
    """

    entry: Entry
    at: datetime
    first: NotTonight
    body: NotTonight
    backs: tuple[Entry, ...]


def noes(facts: Facts) -> tuple[No, ...]:
    """Each of them, in the order of writing; looked through once until one more entry comes."""
    return facts.worked_out(_noes)


def _noes(facts: Facts) -> tuple[No, ...]:
    said = [(entry, entry.body) for entry in facts if isinstance(entry.body, NotTonight)]
    if not said:
        return ()
    held = {fact.first.id: fact for fact in facts.of(NotTonight.KIND)}
    backs: dict[str, list[Entry]] = {}
    for entry in facts:
        of = facts.fact(entry.body.of) if isinstance(entry.body, Withdrawn) else None
        if of is not None and of.kind == NotTonight.KIND:
            backs.setdefault(of.first.id, []).append(entry)
    found = []
    for entry, first in said:
        fact = held.get(entry.id)
        at = fact.at if fact is not None else entry.envelope.at
        body = fact.body if fact is not None and isinstance(fact.body, NotTonight) else first
        found.append(No(entry, at, first, body, tuple(backs.get(entry.id, ()))))
    return tuple(found)
