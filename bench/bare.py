"""The yardstick of writing: a bare committed insert by the same engine, with the settings a store has."""

from __future__ import annotations

from pathlib import Path

from sqlcipher3 import dbapi2 as sqlite

from ebbwell.journal.store.connect import wal_trusted
from ebbwell.journal.store.schema import COLUMNS

USUAL = (36, 760)
"""Bytes of the id and of all else in a usual entry."""


class BareTable:
    """A table for inserts, in a file of its own or in a store's very file, which only a benchmark may do.

    like: a store; each insert is as long as its newest entry. Without it, as long as a usual one.
    """

    def __init__(self, path: Path, *, like: Path | None = None) -> None:
        self._db = sqlite.connect(str(path), isolation_level=None, timeout=5.0)
        log = "wal" if wal_trusted(sqlite.sqlite_version_info) else "delete"
        self._db.execute(f"pragma journal_mode={log}")
        self._db.execute("pragma synchronous=full")
        self._db.execute(
            "CREATE TABLE IF NOT EXISTS bare (row INTEGER PRIMARY KEY, id TEXT UNIQUE, rest BLOB)"
        )
        self._id, self._rest = USUAL if like is None else _sizes(like)
        self._count = 0

    def insert(self, rows: int = 1) -> None:
        """So many rows, each committed and synced by itself."""
        for _ in range(rows):
            self._count += 1
            name = f"{self._count:0{self._id}}"
            self._db.execute("BEGIN IMMEDIATE")
            self._db.execute("INSERT INTO bare (id, rest) VALUES (?, ?)", (name, b"r" * self._rest))
            self._db.execute("COMMIT")

    def close(self) -> None:
        """Let go of the file."""
        self._db.close()


def _sizes(store: Path) -> tuple[int, int]:
    """Bytes of the id and of all else in the newest entry of a store."""
    db = sqlite.connect(str(store))
    lengths = " + ".join(f"coalesce(length({name}), 0)" for name in COLUMNS if name not in ("row", "id"))
    found = db.execute(f"SELECT length(id), {lengths} FROM entry ORDER BY row DESC LIMIT 1").fetchone()
    db.close()
    return int(found[0]), int(found[1])
