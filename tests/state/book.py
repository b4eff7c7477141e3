"""A little record for the tests of what entries say: bodies go in, entries come out."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from ebbwell.core.ids import SeededIds
from ebbwell.journal.envelope import Entry, Envelope, seal
from ebbwell.journal.kinds import Body, encode_body, kind_of, must_understand
from ebbwell.journal.kinds.house import Erased
from ebbwell.journal.kinds.marks import Measured
from ebbwell.journal.kinds.orders import Pinned
from ebbwell.journal.store.base import Draft
from ebbwell.journal.store.memory import MemoryStore
from ebbwell.state.facts import Facts

START = datetime(2026, 4, 29, 17, 0, tzinfo=UTC)
HOUSEHOLD = "018f0000-0000-7000-8000-000000000001"
TONIGHT = "018f0000-0000-7000-8000-00000000000a"


def weight(value: str, **more: str) -> Measured:
    """A weight before."""
    return Measured(quantity="weight_before", value=value, unit="kg", **more)


def pinned(night: str = "2026-04-29") -> Pinned:
    """What opens a treatment."""
    digests = dict.fromkeys(("procedure_digest", "rulebook_digest", "formulas_digest"), "0" * 64)
    return Pinned(night=night, procedure="overnight_fistula", **digests)


class Book:
    """A store in memory. Each entry is a minute later than the one before unless told."""

    def __init__(self, seed: int = 1) -> None:
        self.ids = SeededIds(seed)
        self.store = MemoryStore(self.ids)
        self.minute = 0

    def envelope(self, kind: str, version: int, **more: object) -> Envelope:
        """An envelope with everything that isn't told filled in."""
        self.minute += 1
        at = START + timedelta(minutes=self.minute)
        fields: dict[str, object] = {
            "id": self.ids.new(),
            "household": HOUSEHOLD,
            "treatment": TONIGHT,
            "at": at,
            "zone": "Europe/Dublin",
            "offset": 60,
            "recorded_at": at,
            "boot": "boot-1",
            "mono": self.minute * 60_000,
            "by": "p1",
        }
        return Envelope(kind=kind, version=version, **{**fields, **more})

    def add(self, body: Body, **more: object) -> Entry:
        """Write a body down. more: fields of the envelope."""
        kind, version = kind_of(body)
        fields = {"must_understand": must_understand(body), **more}
        with self.store.write() as transaction:
            return transaction.append(Draft(self.envelope(kind, version, **fields), body))

    def strange(self, kind: str, data: bytes = b"{}", *, version: int = 1, **more: object) -> Entry:
        """An entry as a newer program may have written it, from a chain of its own."""
        writer = self.ids.new()
        entry = seal(self.envelope(kind, version, **more), data, self.ids.salt(), writer, 1, bytes(32))
        with self.store.write() as transaction:
            assert transaction.take_in([entry]).new == 1
        held = self.store.held(entry.id)
        assert held is not None
        return held

    def elsewhere(self, body: Body, **more: object) -> Entry:
        """The same of a known kind, from another store of the household."""
        kind, version = kind_of(body)
        return self.strange(
            kind, encode_body(body), version=version, must_understand=must_understand(body), **more
        )

    def erase(self, entry: Entry) -> None:
        """Erase an entry's body."""
        body = Erased(of=entry.id, ground="asked by the person", authority="p1")
        with self.store.write() as transaction:
            transaction.erase(entry.id, Draft(self.envelope(*kind_of(body), treatment=None), body))

    @property
    def entries(self) -> list[Entry]:
        """Everything, by arrival."""
        return list(self.store.after(0))

    def facts(self) -> Facts:
        """The facts of the night as they stand."""
        return facts_of(self.store.of_treatment(TONIGHT))


def facts_of(entries: list[Entry]) -> Facts:
    """Facts from entries in the order given."""
    facts = Facts()
    for entry in entries:
        facts.step(entry)
    return facts


def value_of(facts: Facts, quantity: str = "weight_before") -> str:
    """The one value that holds of a quantity."""
    (fact,) = facts.at_slot("measured", quantity, "")
    assert isinstance(fact.body, Measured)
    return fact.body.value
