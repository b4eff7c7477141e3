"""Connections to SQLite, their settings, and what their errors mean."""

from __future__ import annotations

import os
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import quote

from sqlcipher3 import dbapi2 as sqlite

from ebbwell.journal.errors import (
    DiskFull,
    NeedsPassphrase,
    RecordError,
    StoreBusy,
    StoreDamaged,
    StoreReadOnly,
    StoreUnreachable,
    WrongPassphrase,
)
from ebbwell.journal.store.head import Head
from ebbwell.journal.store.place import from_os_error, no_space

Connection = Any

WAL_SINCE = (3, 51, 3)
"""Older SQLite can damage a store on resetting its write-ahead log. Source: SQLite release notes, 3.51.3."""

BUSY_S = 5.0


def engine() -> tuple[str, bool]:
    """Version of the SQLite in use, and whether its write-ahead log is trusted."""
    return sqlite.sqlite_version, wal_trusted(sqlite.sqlite_version_info)


def wal_trusted(version: tuple[int, ...]) -> bool:
    """Whether the write-ahead log of this SQLite version may be used."""
    return version >= WAL_SINCE


def clean_passphrase(passphrase: str | None) -> str | None:
    """The passphrase in one Unicode form, whatever keyboard typed it. Raises NeedsPassphrase when empty."""
    if passphrase is None:
        return None
    cleaned = unicodedata.normalize("NFC", passphrase)
    if not cleaned.strip() or "\x00" in cleaned:
        raise NeedsPassphrase("store.passphrase_empty")
    return cleaned


def _cause(why: sqlite.Error, path: Path) -> RecordError:
    name = getattr(why, "sqlite_errorname", None) or ""
    if name == "SQLITE_FULL":
        return DiskFull("store.full", path=path)
    if name.startswith(("SQLITE_IOERR", "SQLITE_CANTOPEN", "SQLITE_PROTOCOL")):
        if no_space(path):
            return DiskFull("store.full", path=path)
        if not os.access(path.parent, os.W_OK):
            return StoreReadOnly("store.read_only", path=path)
        return StoreUnreachable("store.unreachable", path=path, why=name)
    if name.startswith("SQLITE_READONLY"):
        return StoreReadOnly("store.read_only", path=path)
    if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
        return StoreBusy("store.busy", path=path, seconds=int(BUSY_S))
    return StoreDamaged("store.damaged", path=path, why=str(why))


@contextmanager
def translated(path: Path) -> Iterator[None]:
    """Errors of SQLite and of the machine, raised as the cause they stand for."""
    try:
        yield
    except sqlite.Error as why:
        raise _cause(why, path) from why
    except OSError as why:
        raise from_os_error(why, path) from why


def check_lock(path: Path, head: Head | None, passphrase: str | None) -> None:
    """Whether the file and the passphrase go together.

    The file is only ever opened through SQLite: closing it by other means would drop the locks that another
    connection of this process holds on it. Raises NeedsPassphrase, WrongPassphrase (one was given for a plain
    store), StoreDamaged.
    """
    if path.stat().st_size == 0:
        return
    db = _open(path, "ro")
    try:
        with translated(path):
            plain = _readable(db)
    finally:
        db.close()
    if plain and passphrase is not None:
        raise WrongPassphrase("store.not_locked", path=path)
    if plain:
        return
    if head is not None and not head.locked:
        raise StoreDamaged("store.damaged", path=path, why="the file doesn't begin as an SQLite file does")
    if passphrase is None:
        raise NeedsPassphrase("store.needs_passphrase", path=path)


def _readable(db: Connection) -> bool:
    """Whether the connection's key, or none, fits. Other causes than that are raised as they are."""
    try:
        db.execute("SELECT count(*) FROM sqlite_master").fetchone()
    except sqlite.DatabaseError as why:
        if getattr(why, "sqlite_errorname", "") == "SQLITE_NOTADB":
            return False
        raise
    return True


def _open(path: Path, mode: str) -> Connection:
    where = f"file:{quote(str(path))}?mode={mode}"
    with translated(path):
        db = sqlite.connect(where, uri=True, isolation_level=None, timeout=BUSY_S, check_same_thread=False)
        db.execute("pragma cipher_log_level=none")
    return db


def connect(path: Path, passphrase: str | None, *, read_only: bool = False) -> Connection:
    """Open a connection. A read-only one leaves a write-ahead log as it is, also on closing.

    Raises WrongPassphrase, StoreDamaged and what ``translated`` raises.
    """
    if not read_only and not os.access(path, os.W_OK):
        raise StoreReadOnly("store.read_only", path=path)
    db = _open(path, "ro" if read_only else "rw")
    try:
        with translated(path):
            _unlock(db, path, passphrase)
            if not read_only:
                log = "wal" if wal_trusted(sqlite.sqlite_version_info) else "delete"
                db.execute(f"pragma journal_mode={log}")
            for setting in ("synchronous=full", "trusted_schema=off", "secure_delete=on"):
                db.execute(f"pragma {setting}")
    except BaseException:
        db.close()
        raise
    return db


def _unlock(db: Connection, path: Path, passphrase: str | None) -> None:
    if passphrase is None:
        return
    db.execute("pragma key='" + passphrase.replace("'", "''") + "'")
    if not _readable(db):
        raise WrongPassphrase("store.wrong_passphrase", path=path)


def has_tables(db: Connection) -> bool:
    """Whether the table of entries is there."""
    found = db.execute(
        "SELECT count(*) FROM sqlite_master WHERE type = 'table' AND name = 'entry'"
    ).fetchone()
    return bool(found[0])
