"""Facts: the entries about one subject, and which of them hold now.

A subject is one treatment, or everything that stands between treatments. The fold only gathers: an entry is
added, and what it replaces is marked. So the order in which entries arrive doesn't matter, and a replacement
may arrive before what it replaces.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal, InvalidOperation
from functools import cached_property
from typing import Any, TypeVar

import msgspec

from ebbwell.core.clock import Moment
from ebbwell.journal.envelope import Entry
from ebbwell.journal.kinds import Body, Unknown
from ebbwell.journal.kinds.marks import Answer, Choice, Corrected, LotUsed, Measured
from ebbwell.journal.kinds.orders import LineAmended

Slot = tuple[str, ...]
T = TypeVar("T")

MANY_OF = frozenset({"saline", "needles"})
"""Items of which several are opened in one night; each is a fact of its own."""

_SINGLE = frozenset(
    {"plan", "prescription", "pinned", "connected", "already_running", "came_off", "closed", "units_chosen"}
)
_SLOTTED = _SINGLE | {"measured", "answer", "choice", "lot_used", "line_amended"}
"""Kinds whose facts may have a slot."""
_ASIDE = frozenset(
    {
        "typed",
        "entered",
        "steps",
        "asked",
        "device",
        "step",
        "photo",
        "prefilled",
        "rests_on",
        "texts",
        "given",
        "during",
    }
)


@dataclass(frozen=True)
class Fact:
    """One entry as it holds, with corrections worked in.

    id: the entry that says it last (a correction has an id of its own). entry: the same, whole. corrects: the entry
    that said it first, where it was corrected. timed: the entry that ``at`` comes from, where that isn't the last one.
    """

    id: str
    kind: str
    body: Body
    at: datetime
    entry: Entry
    corrects: Entry | None = None
    timed: Entry | None = None

    @property
    def first(self) -> Entry:
        """The entry that said it first: a correction makes nothing happen later, or elsewhere, than it did."""
        return self.corrects or self.entry

    @cached_property
    def clocked(self) -> Moment:
        """The moment at which ``at`` was written down."""
        return (self.timed or self.entry).envelope.recorded

    @cached_property
    def moment(self) -> Moment:
        """``at`` by both clocks of the machine that wrote it down."""
        late = round((self.clocked.at - self.at).total_seconds() * 1000)
        return Moment(self.at, self.clocked.zone, self.clocked.boot, self.clocked.mono - late)

    @cached_property
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
            if body.item in MANY_OF:
                return None
            return ("lot_used", body.item, body.new_set) if body.new_set else ("lot_used", body.item)
        if isinstance(body, LineAmended):
            return None if body.tonight_only else ("line_amended", body.line)
        return (self.kind,) if self.kind in _SINGLE else None

    @cached_property
    def says(self) -> tuple[tuple[str, Any], ...]:
        """What it says, apart from how it was typed: equal for two entries that agree. 66.30 says what 66.3 says."""
        fields = msgspec.structs.asdict(self.body)
        if isinstance(self.body, Measured):
            fields["value"] = _shortest(self.body.value)
        return tuple((name, repr(value)) for name, value in sorted(fields.items()) if name not in _ASIDE)


def differ(facts: Iterable[Fact]) -> bool:
    """Whether they say different things."""
    return len({fact.says for fact in facts}) > 1


def agreed(facts: Sequence[Fact]) -> Fact | None:
    """The last of facts that all say the same; None for no facts, and where they differ."""
    return None if not facts or differ(facts) else facts[-1]


def agreed_measure(facts: Sequence[Fact]) -> Measured | None:
    """The value that facts of one measured slot all say; None for none, and where they differ."""
    one = agreed(facts)
    return one.body if one and isinstance(one.body, Measured) and one.body.value else None


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

    __slots__ = (
        "_corrected",
        "_live",
        "_newest",
        "_plain",
        "_slots",
        "_worked",
        "entries",
        "replaced",
        "shared",
    )

    def __init__(self) -> None:
        self.entries: dict[str, Entry] = {}
        self.replaced: dict[str, frozenset[str]] = {}
        self._live: dict[str, tuple[Fact, ...]] | None = None
        self._slots: dict[Slot, tuple[Fact, ...]] | None = None
        self._newest = ""
        self._corrected: frozenset[str] = frozenset()
        self._plain: dict[str, Fact] = {}
        self._worked: dict[Callable[[Facts], Any], Any] = {}
        self.shared = False

    def copy(self) -> Facts:
        """A copy that can be stepped on its own."""
        other = Facts()
        other.entries = dict(self.entries)
        other.replaced = dict(self.replaced)
        other._live = self._live
        other._slots = self._slots
        other._newest = self._newest
        other._corrected = self._corrected
        other._plain = dict(self._plain)
        other._worked = dict(self._worked)
        return other

    def step(self, entry: Entry) -> None:
        """Take one entry in. Taking it in twice changes nothing."""
        if entry.id in self.entries:
            return
        self.entries[entry.id] = entry
        for old in entry.envelope.replaces:
            self.replaced[old] = self.replaced.get(old, frozenset()) | {entry.id}
        self._live = self._with(entry)
        self._slots = None
        self._worked.clear()

    def _with(self, entry: Entry) -> dict[str, tuple[Fact, ...]] | None:
        """What holds with a new entry in it: what it replaces out, its own fact at the end; None to gather it all anew.

        That is all there is to it where the entry is the newest by id and is neither replaced nor corrected already.
        """
        newest = entry.id > self._newest
        self._newest = max(self._newest, entry.id)
        if entry.envelope.kind == Corrected.KIND and isinstance(entry.body, Corrected):
            self._corrected |= {entry.body.of}
        if self._live is None or not newest or entry.id in self.replaced or entry.id in self._corrected:
            return None
        live = self._live
        if entry.envelope.replaces:
            live = _without(live, frozenset(entry.envelope.replaces))
        fact = self._fact(entry, frozenset())
        if fact is None:
            return live
        return {**live, fact.kind: (*live.get(fact.kind, ()), fact)}

    def _as_written(self, entry: Entry) -> Fact:
        """The fact that an entry states by itself; made once, since an entry never changes."""
        fact = self._plain.get(entry.id)
        if fact is None:
            fact = self._plain[entry.id] = Fact(
                entry.id, entry.envelope.kind, entry.body, entry.envelope.at, entry
            )
        return fact

    def worked_out(self, work: Callable[[Facts], T]) -> T:
        """What a function makes of these facts; worked out once, until one more entry is stepped."""
        if work not in self._worked:
            self._worked[work] = work(self)
        found: T = self._worked[work]
        return found

    def fact(self, entry_id: str) -> Fact | None:
        """The fact an entry states, whether or not it still holds. None when it isn't here or can't be read."""
        return self._fact(self.entries.get(entry_id), frozenset())

    def _fact(self, entry: Entry | None, seen: frozenset[str]) -> Fact | None:
        if entry is None or entry.id in seen:
            return None
        body = entry.body
        if not isinstance(body, Corrected):
            return self._as_written(entry)
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
        timed = entry if "at" in body.changes else before.timed or before.entry
        return Fact(entry.id, before.kind, right, at, entry, before.first, timed)

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
        return self._live if self._live is not None else self._gathered()

    def _gathered(self) -> dict[str, tuple[Fact, ...]]:
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
        live = self._live
        return (live if live is not None else self._gathered()).get(kind, ())

    def last(self, kind: str) -> Fact | None:
        """The fact of a kind that was written last, or None."""
        facts = self.of(kind)
        return facts[-1] if facts else None

    @property
    def slots(self) -> dict[Slot, tuple[Fact, ...]]:
        """Slot to the facts that hold in it; more than one with different words is a disagreement."""
        if self._slots is None:
            found: dict[Slot, list[Fact]] = {}
            for kind, facts in self.live.items():
                for fact in facts if kind in _SLOTTED else ():
                    if fact.slot is not None:
                        found.setdefault(fact.slot, []).append(fact)
            self._slots = {slot: tuple(facts) for slot, facts in found.items()}
        return self._slots

    def at_slot(self, *slot: str) -> tuple[Fact, ...]:
        """The facts that hold in a slot."""
        slots = self._slots
        return (slots if slots is not None else self.slots).get(slot, ())

    def disagreements(self) -> dict[Slot, tuple[Fact, ...]]:
        """Slots in which two facts hold that don't say the same."""
        return self.worked_out(_disagreements)

    def not_understood(self) -> tuple[Entry, ...]:
        """Entries that must be understood and can't be: of a newer program, or a correction of something absent.

        An erased body is not among them: its marker says what went.
        """
        return self.worked_out(_not_understood)

    def unreadable(self, entry: Entry) -> bool:
        """Whether what an entry says can't be made out here."""
        if isinstance(entry.body, Unknown):
            return True
        return isinstance(entry.body, Corrected) and self._fact(entry, frozenset()) is None

    def __iter__(self) -> Iterator[Entry]:
        return iter(self.entries[entry_id] for entry_id in sorted(self.entries))

    def __len__(self) -> int:
        return len(self.entries)


def _without(live: dict[str, tuple[Fact, ...]], ids: frozenset[str]) -> dict[str, tuple[Fact, ...]]:
    """What holds without some of it; kinds stay in the order of their first fact."""
    left = {kind: facts for kind, facts in live.items() if all(fact.id not in ids for fact in facts)}
    touched = {
        kind: tuple(fact for fact in facts if fact.id not in ids)
        for kind, facts in live.items()
        if kind not in left
    }
    left.update((kind, facts) for kind, facts in touched.items() if facts)
    return dict(sorted(left.items(), key=lambda held: held[1][0].id)) if touched else live


def _disagreements(facts: Facts) -> dict[Slot, tuple[Fact, ...]]:
    return {slot: held for slot, held in facts.slots.items() if len(held) > 1 and differ(held)}


def _not_understood(facts: Facts) -> tuple[Entry, ...]:
    return tuple(
        entry
        for entry in facts.entries.values()
        if entry.envelope.must_understand and entry.body_bytes is not None and facts.unreadable(entry)
    )
