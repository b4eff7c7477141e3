"""Entries for the tests of the record: an invented household, times told, ids seeded."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

from ebbwell.core.ids import Ids, SeededIds
from ebbwell.journal.envelope import Entry, Envelope
from ebbwell.journal.kinds import Body, kind_of, must_understand
from ebbwell.journal.kinds.house import Erased
from ebbwell.journal.kinds.marks import Tick
from ebbwell.journal.store.base import Draft, Store
from ebbwell.journal.store.memory import MemoryStore
from ebbwell.journal.store.sqlite import open_store

START = datetime(2026, 3, 2, 19, 30, tzinfo=UTC)
HOUSEHOLD = "018f0000-0000-7000-8000-000000000001"
PASSPHRASE = "blue kettle, 7 stairs"

Made = Callable[[Path, Ids], Store]


def memory(path: Path, ids: Ids) -> Store:
    """A store in memory."""
    return MemoryStore(ids)


def plain(path: Path, ids: Ids) -> Store:
    """A store on disk."""
    return open_store(path / "record.db", ids)


def locked(path: Path, ids: Ids) -> Store:
    """A store on disk behind a passphrase."""
    return open_store(path / "record.db", ids, passphrase=PASSPHRASE)


def draft(
    ids: Ids, body: Body | None = None, *, id: str = "", treatment: str | None = "T1", minute: int = 0
) -> Draft:
    """A draft; a tick of S1 unless a body is given."""
    body = Tick(step="S1", note=f"minute {minute}") if body is None else body
    kind, version = kind_of(body)
    at = START + timedelta(minutes=minute)
    envelope = Envelope(
        id=id or ids.new(),
        kind=kind,
        version=version,
        household=HOUSEHOLD,
        treatment=treatment,
        at=at,
        zone="Europe/Dublin",
        offset=0,
        recorded_at=at,
        boot="boot-1",
        mono=minute * 60_000,
        by="p1",
        must_understand=must_understand(body),
    )
    return Draft(envelope, body)


def fill(store: Store, ids: Ids, count: int, **named: str | None) -> list[Entry]:
    """Append that many entries, each in a transaction of its own."""
    out = []
    for minute in range(count):
        with store.write() as tx:
            out.append(tx.append(draft(ids, minute=minute, **named)))  # type: ignore[arg-type]
    return out


def erasing(ids: Ids, of: str) -> Draft:
    """The entry that records an erasure."""
    return draft(ids, Erased(of=of, ground="asked by the person", authority="p1"), treatment=None)


def everything(store: Store) -> list[Entry]:
    """All entries, by arrival."""
    return list(store.after(0))


@contextmanager
def opened(store: Store) -> Iterator[Store]:
    """The store, closed at the end."""
    try:
        yield store
    finally:
        store.close()


def seeded(seed: int = 1) -> SeededIds:
    """Ids for tests."""
    return SeededIds(seed)
