"""Rows of the table of entries: from an entry, to an entry, and read in portions."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import msgspec

from ebbwell.journal.envelope import Entry, decode_envelope
from ebbwell.journal.errors import StoreDamaged
from ebbwell.journal.store.schema import SELECT

PORTION = 500
"""Entries read at a time, so that no cursor stays open while they are used."""

Fetch = Callable[[str, tuple[object, ...]], list[tuple[Any, ...]]]


def row_of(entry: Entry) -> tuple[object, ...]:
    """The values to insert, in the order of schema.COLUMNS."""
    envelope = entry.envelope
    return (
        *(entry.row, envelope.id, envelope.kind, envelope.treatment, envelope.at.isoformat()),
        *(entry.writer, entry.seq, entry.envelope_bytes, entry.salt, entry.body_bytes),
        *(entry.digest, entry.prev, entry.hash),
    )


def entry_of(row: tuple[Any, ...], path: Path) -> Entry:
    """The entry in a row, not proven yet. Raises StoreDamaged for a row that ``row_of`` wouldn't give."""
    number, _, _, _, _, writer, seq, data, salt, body, digest, prev, hash_ = row
    try:
        entry = Entry(decode_envelope(data), data, body, salt, digest, writer, seq, prev, hash_, number)
        agrees = row_of(entry) == row
    except (msgspec.MsgspecError, TypeError, ValueError) as why:
        raise StoreDamaged("store.entry_damaged", path=path, row=number) from why
    blobs = (data, digest, prev, hash_)
    loose = (salt, body)
    if (
        not agrees
        or not all(isinstance(blob, bytes) for blob in blobs)
        or not all(blob is None or isinstance(blob, bytes) for blob in loose)
        or not (isinstance(writer, str) and isinstance(seq, int))
    ):
        raise StoreDamaged("store.entry_damaged", path=path, row=number)
    return entry


def proven_entry(row: tuple[Any, ...], path: Path) -> Entry:
    """The entry in a row, proven by its hash. Raises StoreDamaged."""
    entry = entry_of(row, path)
    if not entry.proven() or (entry.body_bytes is None) != (entry.salt is None):
        raise StoreDamaged("store.entry_damaged", path=path, row=entry.row)
    return entry


def read_rows(fetch: Fetch, path: Path, row: int) -> Iterator[tuple[Any, ...]]:
    """Rows after a row, a portion at a time, as they are. Raises StoreDamaged where they don't rise."""
    while rows := fetch(f"{SELECT} WHERE row > ? ORDER BY row LIMIT {PORTION}", (row,)):
        for values in rows:
            if not isinstance(values[0], int) or values[0] <= row:
                raise StoreDamaged("store.entry_damaged", path=path, row=row)
            row = values[0]
            yield values


def read_after(fetch: Fetch, path: Path, row: int) -> Iterator[Entry]:
    """Entries after a row, proven, a portion at a time. Raises StoreDamaged."""
    for values in read_rows(fetch, path, row):
        yield proven_entry(values, path)
