"""Facts: the entries about one subject, and which of them hold now.

A subject is one treatment, or everything that stands between treatments. The fold only gathers: an entry is
added, and what it replaces is marked. So the order in which entries arrive doesn't matter, and a replacement
may arrive before what it replaces.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal, InvalidOperation
from functools import cached_property
from typing import Any

import msgspec

from ebbwell.core.clock import Moment
from ebbwell.journal.envelope import Entry
from ebbwell.journal.kinds import Body, Unknown
from ebbwell.journal.kinds.marks import Answer, Choice, Corrected, LotUsed, Measured
from ebbwell.journal.kinds.orders import LineAmended

Slot = tuple[str, ...]

MANY_OF = frozenset({"saline", "needles"})
"""Items of which several are opened in one night; each is a fact of its own."""

_SINGLE = frozenset({"plan", "prescription", "pinned", "connected", "already_running", "came_off", "closed"})
_ASIDE = frozenset({"typed", "asked", "device", "step", "photo", "rests_on", "texts"})


@dataclass(frozen=True)
class Fact:
    """One entry as it holds, with corrections worked in.

    id: the entry that says it last (a correction has an id of its own). entry: the same, whole.
    """

    id: str
    kind: str
    body: Body
    at: datetime
    entry: Entry

    @property
    def recorded(self) -> Moment:
        """When the words that hold now were written."""
        return self.entry.envelope.recorded

    @property
    def by(self) -> str:
        """Who wrote them."""
        return self.entry.envelope.by

    @property
    def writer(self) -> str:
        """The chain they were written in."""
        return self.entry.writer

    @property
    def seq(self) -> int:
        """Their place in that chain."""
        return self.entry.seq

    @cached_property
    def slot(self) -> Slot | None:
        """What this says something about, where only one answer can hold; None where many can."""
        body = self.body
        if isinstance(body, Measured):
            return ("measured", body.quantity, body.place)
        if isinstance(body, Answer):
            return ("answer", body.question)
        if isinstance(body, Choice):
            return ("choice", body.step, body.name)
        if isinstance(body, LotUsed):
            return None if body.item in MANY_OF else ("lot_used", body.item)
        if isinstance(body, LineAmended):
            return ("line_amended", body.line)
        return (self.kind,) if self.kind in _SINGLE else None

    @cached_property
    def says(self) -> tuple[tuple[str, Any], ...]:
        """What it says, apart from how it was typed: equal for two entries that agree. 66.30 says what 66.3 says."""
        fields = msgspec.structs.asdict(self.body)
        if isinstance(self.body, Measured):
            fields["value"] = _shortest(self.body.value)
        return tuple((name, repr(value)) for name, value in sorted(fields.items()) if name not in _ASIDE)


def instant(text: str) -> datetime | None:
    """A UTC instant as written in a body; None for what isn't one, such as a time without a zone."""
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        return None
    return None if at.tzinfo is None else at.astimezone(UTC)


def _shortest(value: str) -> str:
    try:
        return str(Decimal(value).normalize())
    except InvalidOperation:
        return value


def changed(body: Body, changes: dict[str, str]) -> Body:
    """The body with some fields changed, as typed text. Raises msgspec.ValidationError where one doesn't fit.

    A field of a mapping is named ``values.pulse``; ``at`` is the fact's time and is left to the caller.
    """
    data: dict[str, Any] = msgspec.to_builtins(body)
    for name, value in changes.items():
        if name == "at":
            continue
        outer, dot, inner = name.partition(".")
        if dot:
            data[outer] = {**data.get(outer, {}), inner: value}
        else:
            data[name] = value
    return msgspec.convert(data, type(body), strict=False)


class Facts:
    """The facts about one subject. ``step`` adds an entry; everything else is read from what was added."""

    __slots__ = ("_live", "_slots", "entries", "replaced", "shared")

    def __init__(self) -> None:
        self.entries: dict[str, Entry] = {}
        self.replaced: dict[str, frozenset[str]] = {}
        self._live: dict[str, tuple[Fact, ...]] | None = None
        self._slots: dict[Slot, tuple[Fact, ...]] | None = None
        self.shared = False

    def copy(self) -> Facts:
        """A copy that can be stepped on its own."""
        other = Facts()
        other.entries = dict(self.entries)
        other.replaced = dict(self.replaced)
        other._live = self._live
        other._slots = self._slots
        return other

    def step(self, entry: Entry) -> None:
        """Take one entry in. Taking it in twice changes nothing."""
        if entry.id in self.entries:
            return
        self.entries[entry.id] = entry
        for old in entry.envelope.replaces:
            self.replaced[old] = self.replaced.get(old, frozenset()) | {entry.id}
        self._live = self._slots = None

    def fact(self, entry_id: str) -> Fact | None:
        """The fact an entry states, whether or not it still holds. None when it isn't here or can't be read."""
        return self._fact(self.entries.get(entry_id), frozenset())

    def _fact(self, entry: Entry | None, seen: frozenset[str]) -> Fact | None:
        if entry is None or entry.id in seen:
            return None
        body = entry.body
        if not isinstance(body, Corrected):
            return Fact(entry.id, entry.envelope.kind, body, entry.envelope.at, entry)
        before = self._fact(self.entries.get(body.of), seen | {entry.id})
        if before is None or isinstance(before.body, Unknown):
            return None
        at = instant(body.changes["at"]) if "at" in body.changes else before.at
        if at is None:
            return None
        try:
            right = changed(before.body, body.changes)
        except (msgspec.ValidationError, ValueError, TypeError):
            return None
        return Fact(entry.id, before.kind, right, at, entry)

    def versions(self, fact: Fact) -> frozenset[str]:
        """Ids of a fact and of everything that it corrects, back to the entry that said it first."""
        ids = {fact.id}
        entry: Entry | None = fact.entry
        while entry is not None and isinstance(entry.body, Corrected) and entry.body.of not in ids:
            ids.add(entry.body.of)
            entry = self.entries.get(entry.body.of)
        return frozenset(ids)

    @property
    def live(self) -> dict[str, tuple[Fact, ...]]:
        """Kind to the facts of that kind that nothing replaces, by id (which is the order of writing)."""
        if self._live is None:
            found: dict[str, list[Fact]] = {}
            for entry_id in sorted(self.entries):
                if entry_id in self.replaced:
                    continue
                fact = self._fact(self.entries[entry_id], frozenset())
                if fact is not None:
                    found.setdefault(fact.kind, []).append(fact)
            self._live = {kind: tuple(facts) for kind, facts in found.items()}
        return self._live

    def of(self, kind: str) -> tuple[Fact, ...]:
        """The facts of a kind that hold."""
        return self.live.get(kind, ())

    def last(self, kind: str) -> Fact | None:
        """The fact of a kind that was written last, or None."""
        facts = self.of(kind)
        return facts[-1] if facts else None

    @property
    def slots(self) -> dict[Slot, tuple[Fact, ...]]:
        """Slot to the facts that hold in it; more than one with different words is a disagreement."""
        if self._slots is None:
            found: dict[Slot, list[Fact]] = {}
            for facts in self.live.values():
                for fact in facts:
                    if fact.slot is not None:
                        found.setdefault(fact.slot, []).append(fact)
            self._slots = {slot: tuple(facts) for slot, facts in found.items()}
        return self._slots

    def at_slot(self, *slot: str) -> tuple[Fact, ...]:
        """The facts that hold in a slot."""
        return self.slots.get(slot, ())

    def disagreements(self) -> dict[Slot, tuple[Fact, ...]]:
        """Slots in which two facts hold that don't say the same."""
        return {
            slot: facts
            for slot, facts in self.slots.items()
            if len(facts) > 1 and len({fact.says for fact in facts}) > 1
        }

    def not_understood(self) -> tuple[Entry, ...]:
        """Entries that must be understood and can't be: of a newer program, or a correction of something absent.

        An erased body is not among them: its marker says what went.
        """
        return tuple(
            entry
            for entry in self.entries.values()
            if entry.envelope.must_understand and entry.body_bytes is not None and self._unreadable(entry)
        )

    def _unreadable(self, entry: Entry) -> bool:
        if isinstance(entry.body, Unknown):
            return True
        return isinstance(entry.body, Corrected) and self._fact(entry, frozenset()) is None

    def __iter__(self) -> Iterator[Entry]:
        return iter(self.entries[entry_id] for entry_id in sorted(self.entries))

    def __len__(self) -> int:
        return len(self.entries)
