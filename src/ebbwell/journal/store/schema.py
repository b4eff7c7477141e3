"""The tables of a store. Any SQLite tool can read them; entries can't be changed or deleted through them."""

from __future__ import annotations

SCHEMA_VERSION = 1

COLUMNS = (
    "row",
    "id",
    "kind",
    "treatment",
    "at",
    "writer",
    "seq",
    "envelope",
    "salt",
    "body",
    "digest",
    "prev",
    "hash",
)

_KEPT = [name for name in COLUMNS if name not in ("salt", "body")]
_CHANGED = " OR ".join(f"new.{name} IS NOT old.{name}" for name in _KEPT)

STATEMENTS = (
    """CREATE TABLE IF NOT EXISTS meta (name TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID""",
    """CREATE TABLE IF NOT EXISTS entry (
  row INTEGER PRIMARY KEY,
  id TEXT NOT NULL UNIQUE,
  kind TEXT NOT NULL,
  treatment TEXT,
  at TEXT NOT NULL,
  writer TEXT NOT NULL,
  seq INTEGER NOT NULL,
  envelope BLOB NOT NULL,
  salt BLOB,
  body BLOB,
  digest BLOB NOT NULL,
  prev BLOB NOT NULL,
  hash BLOB NOT NULL,
  UNIQUE (writer, seq, hash)
)""",
    """CREATE INDEX IF NOT EXISTS entry_treatment ON entry (treatment) WHERE treatment IS NOT NULL""",
    f"""CREATE TRIGGER IF NOT EXISTS entry_never_changed BEFORE UPDATE ON entry
WHEN {_CHANGED} OR new.salt IS NOT NULL OR new.body IS NOT NULL
BEGIN SELECT RAISE(ABORT, 'entries are never changed'); END""",
    """CREATE TRIGGER IF NOT EXISTS entry_never_deleted BEFORE DELETE ON entry
BEGIN SELECT RAISE(ABORT, 'entries are never deleted'); END""",
    """CREATE TRIGGER IF NOT EXISTS entry_never_replaced BEFORE INSERT ON entry
WHEN EXISTS (SELECT 1 FROM entry WHERE row = new.row)
  OR EXISTS (SELECT 1 FROM entry WHERE id = new.id)
  OR EXISTS (SELECT 1 FROM entry WHERE writer = new.writer AND seq = new.seq AND hash = new.hash)
BEGIN SELECT RAISE(ABORT, 'entries are never replaced'); END""",
)

EXPECTED = frozenset(statement.replace("IF NOT EXISTS ", "") for statement in STATEMENTS)
"""What ``sqlite_master`` must hold."""

INSERT = f"INSERT INTO entry ({', '.join(COLUMNS)}) VALUES ({', '.join('?' * len(COLUMNS))})"
SELECT = f"SELECT {', '.join(COLUMNS)} FROM entry"
