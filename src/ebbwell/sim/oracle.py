"""What must be so after a fault night: said from acknowledgements kept outside the store and from raw entries.

None of the code that judges a night is asked. Whether a hold point was open is read by the model checker's second
opinion; everything else is counted.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from ebbwell.core.clock import Moment
from ebbwell.core.ids import Ids, SeededIds
from ebbwell.journal.bundle import compare, export_bundle, import_bundle
from ebbwell.journal.envelope import Entry
from ebbwell.journal.kinds import known_kinds
from ebbwell.journal.store.base import Store
from ebbwell.journal.store.memory import MemoryStore
from ebbwell.procedure.model import Procedure
from ebbwell.sim.checker.raw import read
from ebbwell.sim.checker.spec import Spec
from ebbwell.state.fold import State, fold

KNOWN = frozenset(known_kinds())


class Broken(AssertionError):
    """Something that must be so wasn't."""


class WatchedIds:
    """Ids that remember which were given out since they were last asked."""

    def __init__(self, ids: Ids) -> None:
        self.inner = ids
        self.given: list[str] = []

    def new(self) -> str:
        """The next id, remembered."""
        self.given.append(self.inner.new())
        return self.given[-1]

    def salt(self) -> bytes:
        """The next sixteen bytes."""
        return self.inner.salt()


def print_of(entry: Entry, body: bool = True) -> bytes:
    """A digest of everything of an entry that must never change. body: with its body, which may be erased."""
    digest = hashlib.sha256()
    for part in (
        entry.envelope_bytes,
        entry.body_bytes or b"-" if body else b"",
        entry.salt or b"-" if body else b"",
        entry.digest,
        entry.prev,
        entry.hash,
        f"{entry.writer} {entry.seq} {entry.row}".encode(),
    ):
        digest.update(len(part).to_bytes(8, "big") + part)
    return digest.digest()


class Ledger:
    """What was acknowledged, kept outside the store, and what may have been written without an acknowledgement."""

    def __init__(self) -> None:
        self.kept: dict[str, bytes] = {}
        self.owed: set[str] = set()
        self.perhaps: set[str] = set()
        self.erased: set[str] = set()

    def acknowledge(self, ids: Iterable[str]) -> None:
        """These ids were acknowledged."""
        self.owed |= set(ids) - self.kept.keys()

    def saw(self, entries: Iterable[Entry]) -> None:
        """These entries lay in the store when they were acknowledged; from this moment nothing of them may change."""
        for entry in entries:
            self.kept.setdefault(entry.id, print_of(entry))

    def unsure(self, ids: Iterable[str]) -> None:
        """These may or may not have been written: the acknowledgement never came."""
        self.perhaps |= set(ids) - self.kept.keys() - self.owed

    def erase(self, id_: str, entry: Entry) -> None:
        """The body of an entry was lawfully erased; all else of it has to stay."""
        self.erased.add(id_)
        self.kept[id_] = print_of(entry, body=False)

    def check(self, store: Store) -> list[Entry]:
        """Compare with the store: nothing lost, doubled, invented or changed. Gives the raw entries.

        An entry found without an acknowledgement has to stay from then on. Raises Broken.
        """
        entries = list(store.after(0))
        found = {entry.id: entry for entry in entries}
        if len(found) != len(entries):
            raise Broken("an id is held twice")
        lost = (self.kept.keys() | self.owed) - found.keys()
        if lost:
            raise Broken(f"{len(lost)} acknowledged entries lost, such as {min(lost)}")
        invented = found.keys() - self.kept.keys() - self.owed - self.perhaps
        if invented:
            one = found[min(invented)]
            raise Broken(f"{len(invented)} entries invented, such as {one.id} ({one.envelope.kind})")
        for id_, entry in found.items():
            if id_ in self.erased and (entry.body_bytes, entry.salt) != (None, None):
                raise Broken(f"the erased body of {id_} is there again")
            now = print_of(entry, id_ not in self.erased)
            if self.kept.setdefault(id_, now) != now:
                raise Broken(f"entry {id_} ({entry.envelope.kind}) was changed")
        self.owed.clear()
        self.perhaps -= self.kept.keys()
        return entries


def check_chain(store: Store) -> None:
    """Every entry proven and joined, the head file agreeing. Raises Broken."""
    verdict = store.verify()
    if not verdict.holds:
        raise Broken(f"flaws: {', '.join(flaw.key for flaw in verdict.flaws)}")


def check_state(state: State, store: Store) -> None:
    """State as carried along, or begun at a checkpoint, is the state that all entries give. Raises Broken."""
    whole = fold(store.after(0), store.of_treatment)
    for name, here, there in zip(
        ("row", "standing", "past", "open"), _said(state, store), _said(whole, store), strict=True
    ):
        if here != there:
            raise Broken(f"state carried along differs from all entries folded: {name}")


def _said(state: State, store: Store) -> tuple[Any, ...]:
    standing = {kind: [(f.id, f.says) for f in facts] for kind, facts in state.standing.live.items()}
    live = {
        treatment: {
            kind: [(f.id, f.says, f.at) for f in facts]
            for kind, facts in state.facts(treatment, store.of_treatment).live.items()
        }
        for treatment in state.open_treatments()
    }
    return (state.row, standing, dict(state.past), live)


def open_holds(
    entries: Iterable[Entry], procedure: Procedure, now: Moment, own: str, treatment: str
) -> list[str]:
    """Why connecting must be shut, by the second opinion, read from raw entries as they stood."""
    mine = [entry for entry in entries if entry.envelope.treatment in (None, treatment)]
    return Spec(procedure, read(mine, KNOWN), now, own).open_holds()


def check_connected(entries: list[Entry], procedure: Procedure) -> int:
    """No ``connected`` was recorded while a hold point was open, by the entries that lay before it. Raises Broken.

    Gives how many were looked at. One that came from another store was judged there.
    """
    looked = 0
    own = {entry.writer for entry in entries if entry.envelope.kind == "pinned"}
    for entry in entries:
        treatment = entry.envelope.treatment
        if entry.envelope.kind != "connected" or entry.writer not in own or treatment is None:
            continue
        before = [e for e in entries if e.row < entry.row]
        left = open_holds(before, procedure, entry.envelope.recorded, entry.writer, treatment)
        if left:
            raise Broken(f"connected with an open hold: {', '.join(left)}")
        looked += 1
    return looked


def check_copy(store: Store, folder: Path) -> None:
    """A bundle written, read into an empty store and compared holds exactly the same. Raises Broken."""
    export_bundle(store, folder)
    other = MemoryStore(SeededIds(5, 1_800_000_000_000))
    import_bundle(folder, other)
    if not (compare(store, folder).same and compare(other, folder).same):
        raise Broken("a copy differs from what was copied")
    mine = {e.id: (e.envelope_bytes, e.body_bytes, e.salt, e.hash, e.writer, e.seq) for e in store.after(0)}
    theirs = {e.id: (e.envelope_bytes, e.body_bytes, e.salt, e.hash, e.writer, e.seq) for e in other.after(0)}
    if mine != theirs:
        raise Broken("a copy differs from what was copied")
