"""Opening a store on disk: every check that stands before the first read."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

from ebbwell.core.errors import InputError
from ebbwell.core.ids import Ids, check_id
from ebbwell.journal.errors import NewerFormat, RecordNotFound, StoreDamaged, StoreShortened, StoreVanished
from ebbwell.journal.store.base import Store
from ebbwell.journal.store.connect import (
    Connection,
    check_lock,
    clean_passphrase,
    connect,
    has_tables,
    translated,
)
from ebbwell.journal.store.faults import Faults
from ebbwell.journal.store.head import Head, HeadFile
from ebbwell.journal.store.place import disk_test, refuse_network, sync_folder
from ebbwell.journal.store.schema import SCHEMA_VERSION, STATEMENTS
from ebbwell.journal.store.sqlite_store import SqliteStore


def head_path(path: Path) -> Path:
    """Where the head file of a store lies."""
    return path.with_name(path.name + ".head")


def wal_path(path: Path) -> Path:
    """Where SQLite keeps the write-ahead log of a store."""
    return path.with_name(path.name + "-wal")


def open_store(
    path: Path,
    ids: Ids,
    *,
    passphrase: str | None = None,
    create: bool = True,
    faults: Faults | None = None,
    accept_shortened: bool = False,
) -> Store:
    """Open the store at ``path``, or make one.

    passphrase: locks a new store, opens a locked one. create=False: the store must be there.
    accept_shortened: go on with what a shortened store still holds, on a new chain; the write-ahead log is
        set aside first (``.wal-kept-1`` behind the store's name), so that nothing of it is lost.
    The disk is tried; one that takes nothing more can still be read, and a note says so.
    A file that was copied or restored is known by its inode and starts a new chain. What was found and mended
    stands in ``notes``.
    Raises RecordNotFound, NetworkFileSystem, StoreReadOnly, DiskFull, StoreVanished, StoreShortened,
    StoreDamaged, NeedsPassphrase, WrongPassphrase, NewerFormat, StoreBusy, StoreUnreachable.
    """
    path = path.resolve()
    if not path.parent.is_dir():
        raise RecordNotFound("store.no_folder", path=path, folder=path.parent)
    refuse_network(path)
    key = clean_passphrase(passphrase)
    if not create and not path.exists() and not head_path(path).exists():
        raise RecordNotFound("store.not_found", path=path)
    head_file = HeadFile(head_path(path), faults)
    try:
        with head_file.lock():
            return _Opening(path, ids, key, head_file, faults, accept_shortened).run(create)
    except BaseException:
        head_file.close()
        raise


class _Opening:
    def __init__(
        self,
        path: Path,
        ids: Ids,
        key: str | None,
        head_file: HeadFile,
        faults: Faults | None,
        accept_shortened: bool,
    ) -> None:
        self.path = path
        self.ids = ids
        self.key = key
        self.head_file = head_file
        self.faults = faults
        self.accept = accept_shortened

    def run(self, create: bool) -> SqliteStore:
        head = self.head_file.read()
        self._find_file(head, create)
        check_lock(self.path, head, self.key)
        log = wal_path(self.path).exists()
        if head is not None and head.count and log:
            self._look_before_recovery(head)
        db = connect(self.path, self.key)
        try:
            if self.faults is not None:
                faults = self.faults
                db.set_trace_callback(lambda sql: faults.at("sql:" + sql))
            store = SqliteStore(self.path, db, self.head_file, self.ids, self.key is not None, self.faults)
            with translated(self.path):
                fresh = self._prepare_tables(db, head)
            self._settle(store, db, head, fresh, log)
            if found := disk_test(self.path):
                store.note(found)
        except BaseException:
            db.close()
            raise
        return store

    def _find_file(self, head: Head | None, create: bool) -> None:
        there = self.path.exists() and self.path.stat().st_size > 0
        if there:
            return
        if head is not None and head.count:
            raise StoreVanished("store.vanished", path=self.path, count=head.count, folder=self.path.parent)
        if not create:
            raise RecordNotFound("store.not_found", path=self.path)
        with translated(self.path):
            os.close(os.open(self.path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600))
            sync_folder(self.path.parent)

    def _look_before_recovery(self, head: Head) -> None:
        """Compare with the head before opening for writing, which trims a damaged write-ahead log."""
        db = connect(self.path, self.key, read_only=True)
        try:
            with translated(self.path):
                empty = not has_tables(db)
            if empty:
                raise StoreVanished(
                    "store.vanished", path=self.path, count=head.count, folder=self.path.parent
                )
            SqliteStore(self.path, db, self.head_file, self.ids, head.locked).compare_head(head)
        except StoreShortened:
            if not self.accept:
                raise
            self._set_aside()
        finally:
            db.close()

    def _set_aside(self) -> None:
        number = 1
        while (kept := self.path.with_name(f"{self.path.name}.wal-kept-{number}")).exists():
            number += 1
        with translated(self.path):
            shutil.copyfile(wal_path(self.path), kept)
            sync_folder(self.path.parent)

    def _prepare_tables(self, db: Connection, head: Head | None) -> bool:
        """Make the tables where they are missing. Gives whether they were."""
        if has_tables(db):
            told = dict(db.execute("SELECT name, value FROM meta").fetchall())
            schema = told.get("schema", "")
            if not schema.isdecimal():
                raise StoreDamaged(
                    "store.damaged", path=self.path, why="the table meta names no schema version"
                )
            if int(schema) > SCHEMA_VERSION:
                raise NewerFormat("store.newer", format=schema, known=SCHEMA_VERSION)
            return False
        if head is not None and head.count:
            raise StoreVanished("store.vanished", path=self.path, count=head.count, folder=self.path.parent)
        if db.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]:
            raise StoreDamaged("store.damaged", path=self.path, why="the file holds other tables")
        db.execute("BEGIN IMMEDIATE")
        for statement in STATEMENTS:
            db.execute(statement)
        db.execute("INSERT INTO meta VALUES ('schema', ?)", (str(SCHEMA_VERSION),))
        db.execute("INSERT INTO meta VALUES ('writer', ?)", (self.ids.new(),))
        db.execute("INSERT INTO meta VALUES ('inode', ?)", (str(self.path.stat().st_ino),))
        db.execute("COMMIT")
        return True

    def _settle(self, store: SqliteStore, db: Connection, head: Head | None, fresh: bool, log: bool) -> None:
        """Compare with the head, prove all where there is none, start a new chain where one is due."""
        due = False
        if head is None:
            self._prove_without_head(store)
        else:
            due = self._compare(store, head) or (not fresh and head.writer != self._told(db, "writer"))
        inode = str(self.path.stat().st_ino)
        due = due or self._told(db, "inode") != inode or not _is_id(self._told(db, "writer"))
        if due:
            with translated(self.path):
                db.execute("BEGIN IMMEDIATE")
                db.execute("INSERT OR REPLACE INTO meta VALUES ('inode', ?)", (inode,))
                store.start_chain()
                db.execute("COMMIT")
        if head is None or due or fresh or head.row != store.last_row():
            store.acknowledge(head)
        if log:
            store.trim_log()

    def _compare(self, store: SqliteStore, head: Head) -> bool:
        try:
            store.compare_head(head)
        except StoreShortened:
            if not self.accept:
                raise
            store.note("store.shortened_accepted")
            return True
        return False

    def _prove_without_head(self, store: SqliteStore) -> None:
        if not store.last_row():
            return
        flaws = [flaw for flaw in store.verify().flaws if flaw.key != "flaw.head_damaged"]
        if flaws:
            raise StoreDamaged(
                "store.headless_flawed", path=self.path, flaws=len(flaws), folder=self.path.parent
            )
        store.note("store.head_written")

    def _told(self, db: Connection, name: str) -> str:
        with translated(self.path):
            found = db.execute("SELECT value FROM meta WHERE name = ?", (name,)).fetchone()
        return str(found[0]) if found else ""


def _is_id(text: str) -> bool:
    try:
        check_id(text)
    except InputError:
        return False
    return True
