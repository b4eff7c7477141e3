"""A store without a disk: for tests, rehearsal and the model checker, which forks it a million times."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import replace

from ebbwell.core.ids import Ids
from ebbwell.journal.chain import Heads, Proof, Verdict
from ebbwell.journal.envelope import Entry, first_prev
from ebbwell.journal.errors import EntryHeld, EntryUnknown
from ebbwell.journal.store.base import Draft, Taken, Transaction, arrive, check_erasure, sealed


class MemoryStore:
    """Entries in a list, shared by forks until one of them writes. writer: id of the own chain."""

    def __init__(self, ids: Ids, writer: str | None = None) -> None:
        self._ids = ids
        self._writer = ids.new() if writer is None else writer
        self._entries: list[Entry] = []
        self._by_id: dict[str, int] = {}
        self._end = (0, first_prev(self._writer))
        self._shared = False
        self._writing = False
        self._notes: tuple[str, ...] = ()

    @property
    def writer(self) -> str:
        """Id of this store's own chain."""
        return self._writer

    @property
    def notes(self) -> tuple[str, ...]:
        """Wording keys of what was mended."""
        return self._notes

    @property
    def locked(self) -> bool:
        """Whether it takes a passphrase to open it."""
        return False

    def fork(self, ids: Ids | None = None) -> MemoryStore:
        """Another store with the same entries; what one of them writes, the other doesn't see."""
        twin = MemoryStore.__new__(MemoryStore)
        twin.__dict__.update(self.__dict__)
        if ids is not None:
            twin._ids = ids
        twin._writing = False
        self._shared = twin._shared = True
        return twin

    @contextmanager
    def write(self) -> Iterator[Transaction]:
        """A transaction, undone by an exception inside."""
        if self._writing:
            raise RuntimeError("this store is in a transaction already")
        before = (self._entries, self._by_id, self._end, self._writer, self._notes)
        shared, self._shared, self._writing = self._shared, True, True
        try:
            yield _MemoryTransaction(self)
        except BaseException:
            self._entries, self._by_id, self._end, self._writer, self._notes = before
            self._shared = shared
            raise
        finally:
            self._writing = False
        if self._entries is before[0]:
            self._shared = shared

    @contextmanager
    def reading(self) -> Iterator[None]:
        """Nothing else writes here."""
        yield

    def _own(self) -> None:
        if self._shared:
            self._entries = self._entries.copy()
            self._by_id = self._by_id.copy()
            self._shared = False

    def _keep(self, entry: Entry) -> Entry:
        self._own()
        kept = replace(entry, row=len(self._entries) + 1)
        self._entries.append(kept)
        self._by_id[kept.id] = kept.row
        return kept

    def after(self, row: int) -> Iterator[Entry]:
        """Entries that arrived after ``row``."""
        return iter(self._entries[row:])

    def of_treatment(self, treatment: str) -> list[Entry]:
        """All entries of a treatment, in order of arrival."""
        return [e for e in self._entries if e.envelope.treatment == treatment]

    def of_chain(self, writer: str, first: int, last: int) -> list[Entry]:
        """Entries of a chain with first <= seq <= last, by seq, then hash."""
        found = [e for e in self._entries if e.writer == writer and first <= e.seq <= last]
        return sorted(found, key=lambda e: (e.seq, e.hash))

    def held(self, id: str) -> Entry | None:
        """The entry of that id, if held."""
        row = self._by_id.get(id)
        return None if row is None else self._entries[row - 1]

    def count(self) -> int:
        """How many entries are held."""
        return len(self._entries)

    def last_row(self) -> int:
        """Row of the newest arrival; 0 for none."""
        return len(self._entries)

    def heads(self) -> Heads:
        """Each chain's count and newest hash."""
        return self._proof().heads()

    def reach(self) -> dict[str, int]:
        """Each chain's highest seq."""
        ends: dict[str, int] = {}
        for entry in self._entries:
            ends[entry.writer] = max(entry.seq, ends.get(entry.writer, 0))
        return dict(sorted(ends.items()))

    def _proof(self) -> Proof:
        proof = Proof()
        for entry in self._entries:
            proof.take(entry)
        return proof

    def verify(self) -> Verdict:
        """Prove everything."""
        return self._proof().verdict()

    def close(self) -> None:
        """Nothing to let go of."""


class _MemoryTransaction:
    def __init__(self, store: MemoryStore) -> None:
        self._store = store

    def append(self, draft: Draft) -> Entry:
        store = self._store
        held = store.held(draft.envelope.id)
        if held is not None:
            raise EntryHeld(held)
        entry = store._keep(sealed(draft, store._ids, store._writer, store._end))
        store._end = (entry.seq, entry.hash)
        return entry

    def erase(self, id: str, draft: Draft) -> Entry:
        check_erasure(id, draft)
        store = self._store
        held = store.held(id)
        if held is None:
            raise EntryUnknown("entry.unknown", id=id)
        marker = self.append(draft)
        store._entries[held.row - 1] = replace(held, body_bytes=None, salt=None)
        return marker

    def held(self, id: str) -> Entry | None:
        return self._store.held(id)

    def take_in(self, entries: Iterable[Entry]) -> Taken:
        store = self._store
        taken, writers = arrive(entries, store.held, store._keep)
        if store._writer in writers:
            store._writer = store._ids.new()
            store._end = (0, first_prev(store._writer))
            store._notes += ("store.new_chain",)
        return taken

    def after(self, row: int) -> Iterator[Entry]:
        return self._store.after(row)

    def of_treatment(self, treatment: str) -> list[Entry]:
        return self._store.of_treatment(treatment)
