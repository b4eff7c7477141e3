"""Connections to SQLite, their settings, and what their errors mean."""

from __future__ import annotations

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
PLAIN_HEADER = b"SQLite format 3\x00"


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
    """Whether the file and the passphrase go together, as far as the first bytes and the head tell.

    Raises NeedsPassphrase, WrongPassphrase (one was given for a plain store), StoreDamaged.
    """
    with translated(path), path.open("rb") as file:
        start = file.read(len(PLAIN_HEADER))
    if not start:
        return
    if start == PLAIN_HEADER:
        if passphrase is not None:
            raise WrongPassphrase("store.not_locked", path=path)
        return
    alike = sum(a == b for a, b in zip(start, PLAIN_HEADER, strict=False))
    locked = head.locked if head is not None else passphrase is not None or alike < 12
    if not locked:
        raise StoreDamaged("store.damaged", path=path, why="the file doesn't begin as an SQLite file does")
    if passphrase is None:
        raise NeedsPassphrase("store.needs_passphrase", path=path)


def connect(path: Path, passphrase: str | None, *, read_only: bool = False) -> Connection:
    """Open a connection. A read-only one leaves a write-ahead log as it is, also on closing.

    Raises WrongPassphrase, StoreDamaged and what ``translated`` raises.
    """
    mode = "ro" if read_only else "rw"
    with translated(path):
        db = sqlite.connect(
            f"file:{quote(str(path))}?mode={mode}",
            uri=True,
            isolation_level=None,
            timeout=BUSY_S,
            check_same_thread=False,
        )
        try:
            if passphrase is not None:
                db.execute("pragma key='" + passphrase.replace("'", "''") + "'")
                _try_key(db, path)
            if not read_only:
                mode = "wal" if wal_trusted(sqlite.sqlite_version_info) else "delete"
                db.execute(f"pragma journal_mode={mode}")
            for setting in (
                "synchronous=full",
                "trusted_schema=off",
                "secure_delete=on",
                "cell_size_check=on",
            ):
                db.execute(f"pragma {setting}")
        except BaseException:
            db.close()
            raise
    return db


def _try_key(db: Connection, path: Path) -> None:
    try:
        db.execute("SELECT count(*) FROM sqlite_master").fetchone()
    except sqlite.DatabaseError as why:
        if getattr(why, "sqlite_errorname", "") == "SQLITE_NOTADB":
            raise WrongPassphrase("store.wrong_passphrase", path=path) from why
        raise


def has_tables(db: Connection) -> bool:
    """Whether the table of entries is there."""
    found = db.execute(
        "SELECT count(*) FROM sqlite_master WHERE type = 'table' AND name = 'entry'"
    ).fetchone()
    return bool(found[0])
