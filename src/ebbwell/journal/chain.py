"""Proof of entries: each by its hash, each joined to the one before it, nothing missing between.

Reads entries one at a time and keeps what it found as flaws; it never stops at the first.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import pairwise

import msgspec

from ebbwell.journal.envelope import Entry, first_prev
from ebbwell.journal.kinds.house import Erased

Heads = dict[str, tuple[int, bytes]]
"""Writer of a chain to how many of its entries are held and the hash of the newest."""


@dataclass(frozen=True, slots=True)
class Flaw:
    """Something that isn't as written. key: wording key. entry: its id, if known. row: 0 = none."""

    key: str
    entry: str = ""
    row: int = 0
    params: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a proof of all entries found.

    entries: how many were read. chains: their heads. flaws: what isn't as written. forks: (writer, seq) that
    two entries hold, as after a folder was copied back over itself; both are kept and neither is a flaw.
    """

    entries: int
    chains: Heads
    flaws: tuple[Flaw, ...] = ()
    forks: tuple[tuple[str, int], ...] = ()

    @property
    def holds(self) -> bool:
        """Whether every entry was proven and none is missing."""
        return not self.flaws


@dataclass
class Proof:
    """Gathers entries in any order; ``verdict`` then judges them together."""

    entries: int = 0
    flaws: list[Flaw] = field(default_factory=list)
    _hashes: dict[str, dict[int, list[bytes]]] = field(default_factory=dict)
    _joins: list[tuple[str, int, bytes, str, int]] = field(default_factory=list)
    _bodiless: dict[str, int] = field(default_factory=dict)
    _erased: set[str] = field(default_factory=set)

    def take(self, entry: Entry) -> None:
        """Prove one entry by itself and remember how it is joined to others."""
        self.entries += 1
        if not entry.proven():
            self.flaws.append(Flaw("flaw.changed", entry.id, entry.row))
        if (entry.body_bytes is None) != (entry.salt is None):
            self.flaws.append(Flaw("flaw.half_erased", entry.id, entry.row))
        if entry.body_bytes is None:
            self._bodiless[entry.id] = entry.row
        elif entry.envelope.kind == Erased.KIND:
            self._note_erasure(entry)
        places = self._hashes.setdefault(entry.writer, {})
        places.setdefault(entry.seq, []).append(entry.hash)
        self._joins.append((entry.writer, entry.seq, entry.prev, entry.id, entry.row))

    def _note_erasure(self, entry: Entry) -> None:
        try:
            body = entry.body
        except (msgspec.MsgspecError, KeyError):
            self.flaws.append(Flaw("flaw.unreadable", entry.id, entry.row))
            return
        if isinstance(body, Erased):
            self._erased.add(body.of)

    def _unjoined(self) -> Iterable[Flaw]:
        for writer, seq, prev, id_, row in self._joins:
            if seq == 1:
                joined = prev == first_prev(writer)
            else:
                joined = prev in self._hashes[writer].get(seq - 1, ())
            if not joined:
                yield Flaw("flaw.not_joined", id_, row, (("seq", str(seq)), ("writer", writer)))

    def heads(self) -> Heads:
        """Count and newest hash of each chain seen."""
        return {
            writer: (sum(map(len, places.values())), max(places[max(places)]))
            for writer, places in sorted(self._hashes.items())
        }

    def verdict(self) -> Verdict:
        """Judge all that was taken."""
        flaws = list(self.flaws)
        flaws.extend(self._unjoined())
        flaws.extend(
            Flaw("flaw.body_gone", id_, row) for id_, row in self._bodiless.items() if id_ not in self._erased
        )
        rows = sorted(row for *_, row in self._joins if row)
        gaps = sum(later - row - 1 for row, later in pairwise([0, *rows]))
        if gaps > 0:
            flaws.append(Flaw("flaw.rows_gone", params=(("count", str(gaps)),)))
        forks = [
            (w, seq)
            for w, places in sorted(self._hashes.items())
            for seq in sorted(places)
            if len(places[seq]) > 1
        ]
        return Verdict(self.entries, self.heads(), tuple(flaws), tuple(forks))
