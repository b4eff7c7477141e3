"""What every store can do, and how arrivals from elsewhere are judged."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import AbstractContextManager
from dataclasses import dataclass
from typing import Protocol

from ebbwell.core.ids import Ids
from ebbwell.journal.chain import Heads, Verdict
from ebbwell.journal.envelope import Entry, Envelope, seal
from ebbwell.journal.kinds import Body, encode_body, kind_of
from ebbwell.journal.kinds.house import Erased


@dataclass(frozen=True, slots=True)
class Draft:
    """An entry to be: envelope and body, not yet sealed onto a chain.

    Raises ValueError when the envelope's kind and version aren't the body's.
    """

    envelope: Envelope
    body: Body

    def __post_init__(self) -> None:
        named = (self.envelope.kind, self.envelope.version)
        if named != kind_of(self.body):
            raise ValueError(f"the envelope names {named}; the body is {kind_of(self.body)}")


@dataclass(frozen=True, slots=True)
class Taken:
    """How arrivals fared: ``new`` kept, ``held`` here already, ``refused`` as (id, wording key)."""

    new: int
    held: int
    refused: tuple[tuple[str, str], ...] = ()


class Transaction(Protocol):
    """One change of the store: all of it is kept, or none."""

    def append(self, draft: Draft) -> Entry:
        """Seal a draft onto this store's own chain. Raises EntryHeld when the id is held already."""
        ...

    def erase(self, id: str, draft: Draft) -> Entry:
        """Lawful erasure: delete an entry's body and salt and append ``draft``, which names it.

        Gives the ``erased`` entry. Raises EntryUnknown, EntryHeld.
        """
        ...

    def held(self, id: str) -> Entry | None:
        """The entry of that id, if held."""
        ...

    def take_in(self, entries: Iterable[Entry]) -> Taken:
        """Keep entries from elsewhere as they are, in their own chains. Unproven ones are refused."""
        ...

    def after(self, row: int) -> Iterator[Entry]:
        """Entries that arrived after ``row``, in order of arrival."""
        ...

    def of_treatment(self, treatment: str) -> list[Entry]:
        """All entries of a treatment, in order of arrival."""
        ...


class Store(Protocol):
    """Holds entries, appends to a chain of its own."""

    @property
    def writer(self) -> str:
        """Id (UUIDv7) of this store's own chain."""
        ...

    @property
    def notes(self) -> tuple[str, ...]:
        """Wording keys of what was found and mended while opening and writing."""
        ...

    @property
    def locked(self) -> bool:
        """Whether it takes a passphrase to open it."""
        ...

    def write(self) -> AbstractContextManager[Transaction]:
        """A transaction; leaving it acknowledges. An exception inside undoes all of it."""
        ...

    def reading(self) -> AbstractContextManager[None]:
        """While inside, reads see the store as it was on entering."""
        ...

    def after(self, row: int) -> Iterator[Entry]:
        """Entries that arrived after ``row``, in order. Raises StoreDamaged at one that isn't proven."""
        ...

    def of_treatment(self, treatment: str) -> list[Entry]:
        """All entries of a treatment, in order of arrival. Raises StoreDamaged."""
        ...

    def of_chain(self, writer: str, first: int, last: int) -> list[Entry]:
        """Entries of a chain with first <= seq <= last, by seq, then hash. Raises StoreDamaged."""
        ...

    def held(self, id: str) -> Entry | None:
        """The entry of that id, if held. Raises StoreDamaged."""
        ...

    def count(self) -> int:
        """How many entries are held."""
        ...

    def last_row(self) -> int:
        """Row of the newest arrival; 0 for none."""
        ...

    def heads(self) -> Heads:
        """Each chain's writer with its count and newest hash."""
        ...

    def reach(self) -> dict[str, int]:
        """Each chain's writer with its highest seq."""
        ...

    def verify(self) -> Verdict:
        """Read and prove everything. Writes nothing."""
        ...

    def close(self) -> None:
        """Let go of the files."""
        ...


def sealed(draft: Draft, ids: Ids, writer: str, end: tuple[int, bytes]) -> Entry:
    """The entry that continues a chain. end: seq and hash of the chain's newest entry."""
    return seal(draft.envelope, encode_body(draft.body), ids.salt(), writer, end[0] + 1, end[1])


def same(held: Entry, other: Entry) -> bool:
    """Whether two entries are the same bytes in the same place of a chain; one's body may be erased."""
    return (
        held.hash == other.hash
        and held.envelope_bytes == other.envelope_bytes
        and (held.writer, held.seq, held.prev) == (other.writer, other.seq, other.prev)
    )


def _refusal(entry: Entry, held: Entry | None) -> str | None:
    if not entry.proven() or (entry.body_bytes is None) != (entry.salt is None):
        return "entry.not_proven"
    if held is not None and not same(held, entry):
        return "entry.clash"
    return None


def arrive(
    entries: Iterable[Entry], held: Callable[[str], Entry | None], keep: Callable[[Entry], object]
) -> tuple[Taken, set[str]]:
    """Judge entries from elsewhere one by one, keep the new ones. Also gives the writers of those kept."""
    new = known = 0
    refused: list[tuple[str, str]] = []
    writers: set[str] = set()
    for entry in entries:
        here = held(entry.id)
        why = _refusal(entry, here)
        if why is not None:
            refused.append((entry.id, why))
        elif here is not None:
            known += 1
        else:
            keep(entry)
            writers.add(entry.writer)
            new += 1
    return Taken(new, known, tuple(refused)), writers


def check_erasure(id: str, draft: Draft) -> None:
    """Raises ValueError unless the draft is an ``erased`` entry that names ``id``."""
    if not isinstance(draft.body, Erased) or draft.body.of != id:
        raise ValueError("an erasure is recorded by an `erased` entry that names what was erased")
