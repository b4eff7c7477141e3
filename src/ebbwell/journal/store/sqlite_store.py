"""The store on disk: one SQLite file, its head file beside it, one writer at a time."""

from __future__ import annotations

import threading
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

from ebbwell.core.ids import Ids
from ebbwell.journal.chain import Flaw, Heads, Proof, Verdict
from ebbwell.journal.envelope import Entry, first_prev
from ebbwell.journal.errors import (
    EntryHeld,
    EntryUnknown,
    RecordError,
    StoreDamaged,
    StoreShortened,
    StoreVanished,
)
from ebbwell.journal.store.base import Draft, Taken, Transaction, arrive, check_erasure, sealed
from ebbwell.journal.store.connect import Connection, translated
from ebbwell.journal.store.faults import Faults, NoFaults
from ebbwell.journal.store.head import Head, HeadFile
from ebbwell.journal.store.rows import entry_of, proven_entry, read_after, read_rows, row_of
from ebbwell.journal.store.schema import EXPECTED, INSERT, SELECT


class SqliteStore:
    """An open store, made by ``open_store``. Threads take turns; programs do so by the head file's lock."""

    def __init__(
        self,
        path: Path,
        db: Connection,
        head_file: HeadFile,
        ids: Ids,
        locked: bool,
        faults: Faults | None = None,
    ) -> None:
        self.path = path
        self._db = db
        self._head_file = head_file
        self._ids = ids
        self._locked = locked
        self._faults = faults or NoFaults()
        self._guard = threading.RLock()
        self._busy = False
        self._scrub = False
        self._notes: tuple[str, ...] = ()
        self._file = path.stat()
        self._log_file: tuple[int, int] | None = None
        with translated(path):
            self._has_log = db.execute("pragma journal_mode").fetchone()[0] == "wal"

    @property
    def writer(self) -> str:
        """Id of this store's own chain."""
        return str(self._rows("SELECT value FROM meta WHERE name = 'writer'")[0][0])

    @property
    def notes(self) -> tuple[str, ...]:
        """Wording keys of what was found and mended while opening and writing."""
        return self._notes

    @property
    def locked(self) -> bool:
        """Whether it takes a passphrase to open it."""
        return self._locked

    def note(self, key: str) -> None:
        """Add a note."""
        self._notes += (key,)

    def _rows(self, sql: str, params: tuple[object, ...] = ()) -> list[tuple[Any, ...]]:
        with self._guard, translated(self.path):
            found: list[tuple[Any, ...]] = self._db.execute(sql, params).fetchall()
            return found

    @contextmanager
    def write(self) -> Iterator[Transaction]:
        """A transaction under the lock of the head file; the head file is synced before it is acknowledged.

        An exception inside undoes all of it. Raises DiskFull, StoreReadOnly, StoreBusy, StoreVanished,
        StoreShortened, StoreDamaged, StoreUnreachable. With the key ``store.unsure`` the entries were written,
        and only the last sync wasn't confirmed; appending them again raises EntryHeld.
        """
        with self._guard:
            if self._busy:
                raise RuntimeError("this store is in a transaction already")
            self._busy = True
            try:
                with self._head_file.lock():
                    yield from self._write_locked()
            finally:
                self._busy = False

    def _write_locked(self) -> Iterator[Transaction]:
        self._still_there()
        with translated(self.path):
            self._faults.at("lock")
            head = self._head_file.read()
        if head is None:
            raise StoreDamaged("store.head_damaged", path=self.path)
        with translated(self.path):
            self._faults.at("begin")
            self._db.execute("BEGIN IMMEDIATE")
        notes = self._notes
        try:
            self.compare_head(head)
            tx = _SqliteTransaction(self)
            yield tx
            with translated(self.path):
                self._faults.at("commit")
                self._db.execute("COMMIT")
        except BaseException:
            self._notes = notes
            if self._db.in_transaction:
                with translated(self.path):
                    self._db.execute("ROLLBACK")
            raise
        if tx.changed:
            self._confirm(head)
        self._scrub = self._scrub or tx.erased
        if self._scrub:
            self.trim_log()

    def _confirm(self, head: Head) -> None:
        try:
            self.acknowledge(head)
            with translated(self.path):
                self._faults.at("acknowledge")
        except RecordError as why:
            raise type(why)("store.unsure", path=self.path, why=why.key) from why

    def trim_log(self) -> None:
        """Bring the write-ahead log into the file and empty it, so that no erased words stay behind in it.

        Where that can't be done now, a note says so and the next write tries again.
        """
        try:
            with translated(self.path):
                self._scrub = bool(self._db.execute("pragma wal_checkpoint(truncate)").fetchone()[0])
        except RecordError:
            self._scrub = True
        if self._scrub and "store.log_kept" not in self._notes:
            self.note("store.log_kept")

    def _still_there(self) -> None:
        try:
            now = self.path.stat()
        except OSError as why:
            raise StoreVanished("store.vanished_open", path=self.path) from why
        if (now.st_ino, now.st_dev) != (
            self._file.st_ino,
            self._file.st_dev,
        ) or not self._head_file.in_place():
            raise StoreVanished("store.vanished_open", path=self.path)

    def _log_still_there(self) -> None:
        """Raises StoreVanished where the write-ahead log that was just written isn't the one at its path."""
        if not self._has_log:
            return
        try:
            now = self.path.with_name(self.path.name + "-wal").stat()
        except OSError as why:
            raise StoreVanished("store.vanished_open", path=self.path) from why
        place = (now.st_ino, now.st_dev)
        if self._log_file not in (None, place):
            raise StoreVanished("store.vanished_open", path=self.path)
        self._log_file = place

    def compare_head(self, head: Head) -> None:
        """Raises StoreShortened unless the newest acknowledged entry lies where the head file says."""
        if head.count == 0:
            return
        found = self._rows("SELECT hash FROM entry WHERE row = ?", (head.row,))
        if not found:
            missing = head.count - self.last_row()
            raise StoreShortened("store.shortened", path=self.path, missing=missing, folder=self.path.parent)
        if found[0][0] != bytes.fromhex(head.hash):
            raise StoreShortened(
                "store.replaced", path=self.path, missing=1, row=head.row, folder=self.path.parent
            )

    def acknowledge(self, before: Head | None) -> None:
        """Write the head file to what the store holds now. Caller holds the lock."""
        self._log_still_there()
        row, hash_ = self._newest()
        known = before if before is not None and before.row <= row else None
        count = self.count() if known is None else known.count + row - known.row
        generation = 1 if before is None else before.generation + 1
        self._head_file.write(
            Head(
                generation=generation,
                count=count,
                row=row,
                hash=hash_.hex(),
                writer=self.writer,
                locked=self._locked,
            )
        )
        self._still_there()

    def _newest(self) -> tuple[int, bytes]:
        found = self._rows("SELECT row, hash FROM entry ORDER BY row DESC LIMIT 1")
        return (found[0][0], found[0][1]) if found else (0, b"")

    @contextmanager
    def reading(self) -> Iterator[None]:
        """While inside, reads see the store as it was on entering. No writing inside."""
        with self._guard:
            if self._busy:
                raise RuntimeError("this store is in a transaction already")
            self._busy = True
            try:
                with translated(self.path):
                    self._db.execute("BEGIN")
                self.last_row()
                yield
            finally:
                self._busy = False
                if self._db.in_transaction:
                    with translated(self.path):
                        self._db.execute("ROLLBACK")

    def after(self, row: int) -> Iterator[Entry]:
        """Entries that arrived after ``row``, proven. Raises StoreDamaged."""
        return read_after(self._rows, self.path, row)

    def of_treatment(self, treatment: str) -> list[Entry]:
        """All entries of a treatment, proven, in order of arrival. Raises StoreDamaged."""
        found = self._rows(f"{SELECT} WHERE treatment = ? ORDER BY row", (treatment,))
        return [proven_entry(values, self.path) for values in found]

    def of_chain(self, writer: str, first: int, last: int) -> list[Entry]:
        """Entries of a chain with first <= seq <= last, proven, by seq, then hash. Raises StoreDamaged."""
        found = self._rows(
            f"{SELECT} WHERE writer = ? AND seq BETWEEN ? AND ? ORDER BY seq, hash", (writer, first, last)
        )
        return [proven_entry(values, self.path) for values in found]

    def held(self, id: str) -> Entry | None:
        """The entry of that id, proven, if held. Raises StoreDamaged."""
        found = self._rows(f"{SELECT} WHERE id = ?", (id,))
        return proven_entry(found[0], self.path) if found else None

    def count(self) -> int:
        """How many entries are held."""
        return int(self._rows("SELECT count(*) FROM entry")[0][0])

    def last_row(self) -> int:
        """Row of the newest arrival; 0 for none."""
        return int(self._rows("SELECT coalesce(max(row), 0) FROM entry")[0][0])

    def heads(self) -> Heads:
        """Each chain's count and newest hash."""
        chains = self._rows("SELECT writer, count(*), max(seq) FROM entry GROUP BY writer ORDER BY writer")
        newest = "SELECT max(hash) FROM entry WHERE writer = ? AND seq = ?"
        return {writer: (count, self._rows(newest, (writer, seq))[0][0]) for writer, count, seq in chains}

    def reach(self) -> dict[str, int]:
        """Each chain's highest seq."""
        return dict(self._rows("SELECT writer, max(seq) FROM entry GROUP BY writer ORDER BY writer"))

    def chain_end(self, writer: str) -> tuple[int, bytes]:
        """Seq and hash that the next entry of a chain goes on from."""
        found = self._rows(
            "SELECT seq, hash FROM entry WHERE writer = ? ORDER BY seq DESC, hash DESC LIMIT 1", (writer,)
        )
        return (found[0][0], found[0][1]) if found else (0, first_prev(writer))

    def start_chain(self) -> None:
        """Give this store a fresh own chain; inside a transaction."""
        with translated(self.path):
            self._db.execute("INSERT OR REPLACE INTO meta VALUES ('writer', ?)", (self._ids.new(),))
        self.note("store.new_chain")

    def verify(self) -> Verdict:
        """Prove everything: SQLite's own check, every entry, every join, the head file. Writes nothing."""
        head = self._head_file.read()
        proof = Proof()
        with self.reading():
            self._check_sqlite(proof)
            self._prove_rows(proof)
            if head is None:
                proof.flaws.append(Flaw("flaw.head_damaged"))
            else:
                self._check_head(head, proof)
        return proof.verdict()

    def _check_sqlite(self, proof: Proof) -> None:
        try:
            for (said,) in self._rows("pragma integrity_check"):
                if said != "ok":
                    proof.flaws.append(Flaw("flaw.sqlite", params=(("said", str(said)),)))
        except StoreDamaged as why:
            proof.flaws.append(Flaw("flaw.sqlite", params=(("said", str(why.params.get("why"))),)))
        held = self._rows("SELECT sql FROM sqlite_master WHERE sql IS NOT NULL")
        if {sql for (sql,) in held} != EXPECTED:
            proof.flaws.append(Flaw("flaw.tables"))

    def _prove_rows(self, proof: Proof) -> None:
        row = 0
        try:
            for values in read_rows(self._rows, self.path, row):
                row = values[0]
                try:
                    proof.take(entry_of(values, self.path))
                except StoreDamaged:
                    proof.flaws.append(Flaw("flaw.unreadable", row=row))
        except StoreDamaged as why:
            said = (("said", str(why.params.get("why"))),)
            proof.flaws.append(Flaw("flaw.sqlite", row=row, params=said))

    def _check_head(self, head: Head, proof: Proof) -> None:
        try:
            self.compare_head(head)
        except StoreShortened as why:
            proof.flaws.append(Flaw("flaw.shortened", params=(("missing", str(why.params["missing"])),)))

    def close(self) -> None:
        """Let go of the files."""
        with self._guard:
            self._db.close()
            self._head_file.close()


class _SqliteTransaction:
    def __init__(self, store: SqliteStore) -> None:
        self._store = store
        self._own: tuple[str, tuple[int, bytes]] | None = None
        self._row = store.last_row()
        self.changed = False
        self.erased = False

    def _keep(self, entry: Entry) -> Entry:
        kept = replace(entry, row=self._row + 1)
        store = self._store
        with translated(store.path):
            store._db.execute(INSERT, row_of(kept))
        self._row += 1
        self.changed = True
        return kept

    def append(self, draft: Draft) -> Entry:
        store = self._store
        held = store.held(draft.envelope.id)
        if held is not None:
            raise EntryHeld(held)
        if self._own is None:
            writer = store.writer
            self._own = (writer, store.chain_end(writer))
        writer, end = self._own
        entry = self._keep(sealed(draft, store._ids, writer, end))
        self._own = (writer, (entry.seq, entry.hash))
        return entry

    def erase(self, id: str, draft: Draft) -> Entry:
        check_erasure(id, draft)
        store = self._store
        if store.held(id) is None:
            raise EntryUnknown("entry.unknown", id=id)
        marker = self.append(draft)
        with translated(store.path):
            store._db.execute("UPDATE entry SET salt = NULL, body = NULL WHERE id = ?", (id,))
        self.erased = True
        return marker

    def held(self, id: str) -> Entry | None:
        return self._store.held(id)

    def take_in(self, entries: Iterable[Entry]) -> Taken:
        taken, writers = arrive(entries, self._store.held, self._keep)
        if self._store.writer in writers:
            self._store.start_chain()
            self._own = None
        return taken

    def after(self, row: int) -> Iterator[Entry]:
        return self._store.after(row)

    def of_treatment(self, treatment: str) -> list[Entry]:
        return self._store.of_treatment(treatment)
