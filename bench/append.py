"""Appending one entry, beside a bare committed insert of the same bytes at equal durability."""

from __future__ import annotations

import statistics
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path

from sqlcipher3 import dbapi2 as sqlite

from ebbwell.core.ids import SystemIds
from ebbwell.journal.envelope import Envelope, encode_envelope
from ebbwell.journal.kinds.base import encode_body
from ebbwell.journal.kinds.marks import Tick
from ebbwell.journal.store.base import Draft
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


def append(turns: int = TURNS) -> dict[str, object]:
    """Median ms of an append (lock, seal, insert, commit, head file synced) and of a bare committed insert.

    The two take turns on the same disk, so that a busy machine slows both alike.
    """
    ids = SystemIds()
    drafts = [_draft(ids) for _ in range(turns)]
    ours, bare = [], []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        store = open_store(folder / "record.db", ids)
        db = sqlite.connect(str(folder / "bare.db"), isolation_level=None)
        db.execute("pragma journal_mode=wal")
        db.execute("pragma synchronous=full")
        db.execute("CREATE TABLE entry (row INTEGER PRIMARY KEY, id TEXT UNIQUE, envelope BLOB, body BLOB)")
        for draft in drafts:
            data, body = encode_envelope(draft.envelope), encode_body(draft.body)
            start = time.perf_counter()
            db.execute("INSERT INTO entry VALUES (NULL, ?, ?, ?)", (draft.envelope.id, data, body))
            middle = time.perf_counter()
            with store.write() as tx:
                tx.append(draft)
            bare.append(middle - start)
            ours.append(time.perf_counter() - middle)
        db.close()
        store.close()
    mine, other = statistics.median(ours) * 1000, statistics.median(bare) * 1000
    return {
        "name": "journal.append",
        "ours": round(mine, 3),
        "other": round(other, 3),
        "unit": "ms",
        "ratio": round(mine / other, 2),
        "goal": f"at most {RATIO} times a bare committed insert, or {ADDED_MS} ms more",
        "holds": mine <= RATIO * other or mine - other <= ADDED_MS,
        "note": f"median of {turns}; both with write-ahead log and synchronous=full; ours with the head file synced",
    }
