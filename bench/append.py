"""Appending one entry, beside a bare committed insert of a row of the same size at equal durability."""

from __future__ import annotations

import tempfile
from datetime import UTC, datetime
from pathlib import Path

from bench.bare import BareTable
from bench.rows import Row, in_turns, middle, row, spread
from ebbwell.core.ids import SystemIds
from ebbwell.journal.envelope import Envelope
from ebbwell.journal.kinds.marks import Tick
from ebbwell.journal.store.base import Draft, Store
from ebbwell.journal.store.sqlite import open_store

TURNS = 600
RATIO, ADDED_MS = 2.5, 0.5


def _draft(ids: SystemIds) -> Draft:
    at = datetime(2026, 3, 2, 19, 30, tzinfo=UTC)
    envelope = Envelope(
        id=ids.new(),
        kind="tick",
        version=1,
        household="bench",
        treatment="bench",
        at=at,
        zone="Europe/Dublin",
        offset=0,
        recorded_at=at,
        boot="bench",
        mono=1,
        by="bench",
    )
    return Draft(envelope, Tick(step="S1", note="a tick of the usual length"))


def _append(store: Store, draft: Draft) -> None:
    with store.write() as tx:
        tx.append(draft)


def run(small: bool) -> list[Row]:
    """One row: an append (lock, seal, insert, commit, head file synced), and a bare committed insert."""
    turns = 30 if small else TURNS
    ids = SystemIds()
    drafts = iter([_draft(ids) for _ in range(turns + 1)])
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        store = open_store(folder / "record.db", ids)
        _append(store, next(drafts))
        bare = BareTable(folder / "bare.db", like=folder / "record.db")
        ours, other = in_turns(turns, lambda: _append(store, next(drafts)), bare.insert)
        bare.close()
        store.close()
    mine, its = middle(ours), middle(other)
    goal = f"{RATIO:g} times, or {ADDED_MS:g} ms more"
    holds = mine <= max(RATIO * its, its + ADDED_MS)
    note = f"with the head file; ours {spread(ours)}; bare {spread(other)}"
    return [row("journal.append", mine, its, goal, holds, note)]
