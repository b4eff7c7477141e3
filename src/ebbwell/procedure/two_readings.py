"""Two readings that weren't the same: both are kept, and neither is simply read once more until it fits.

The step needs a fresh first and a fresh second reading, or somebody who says which of the two holds, and why.
Source: practice:e (H13).
"""

from __future__ import annotations

from collections.abc import Collection

from ebbwell.journal.envelope import Entry
from ebbwell.journal.kinds.marks import Settled
from ebbwell.journal.kinds.orders import SecondCheck
from ebbwell.state.facts import Fact, Facts

FIRSTS = ("measured", "lot_used", "choice", "tick", "readback")
"""Kinds that a second reading is made of."""


def found_otherwise(treatment: Facts, facts: Collection[Fact]) -> Entry | None:
    """The newest second reading that wasn't the same as one of these first readings; None where there is none.

    One that was taken back counts, and so does one made against a first reading before it was corrected: a slip in
    either is put right by reading both again. One that somebody settled no longer does.
    """
    checks = treatment.worked_out(_differing)
    if not checks:
        return None
    firsts = {version for fact in facts for version in treatment.versions(fact)}
    against = [check for check, of in checks if firsts & set(of)]
    return against[-1] if against else None


def differing_checks(treatment: Facts) -> tuple[Fact, ...]:
    """The second readings that weren't the same as a first reading that still holds, oldest first."""
    return tuple(
        fact
        for fact in treatment.of("second_check")
        if isinstance(fact.body, SecondCheck)
        and not fact.body.agrees
        and any(fact.id == entry.id for entry, _ in treatment.worked_out(_differing))
        and firsts_of(treatment, fact)
    )


def firsts_of(treatment: Facts, check: Fact) -> tuple[str, ...]:
    """Ids of the first readings that a second one was made against and that still hold, as last corrected."""
    of = set(check.body.of) if isinstance(check.body, SecondCheck) else set()
    held = (fact for kind in FIRSTS for fact in treatment.of(kind))
    return tuple(fact.id for fact in held if of & treatment.versions(fact))


def _differing(treatment: Facts) -> tuple[tuple[Entry, tuple[str, ...]], ...]:
    settled = {
        entry_id
        for fact in treatment.of("settled")
        if isinstance(fact.body, Settled)
        for entry_id in fact.body.of
    }
    checks = [entry for entry in treatment.entries.values() if entry.envelope.kind == SecondCheck.KIND]
    return tuple(
        (entry, entry.body.of)
        for entry in sorted(checks, key=lambda entry: entry.id)
        if isinstance(entry.body, SecondCheck) and not entry.body.agrees and entry.id not in settled
    )
