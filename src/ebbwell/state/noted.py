"""What of a night somebody may look for later: what was out of the usual, or said in words, and lots of test strips."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

import msgspec

from ebbwell.journal.kinds import Body, Unknown, decode_body, encode_body, kind_of
from ebbwell.journal.kinds.bedside import NotTonight
from ebbwell.journal.kinds.marks import LotUsed, Measured
from ebbwell.journal.kinds.night import Given
from ebbwell.journal.kinds.orders import SecondCheck
from ebbwell.state.facts import Fact, Facts

ALWAYS = frozenset(
    {
        "advice",
        "already_running",
        "annotation",
        "blood_by_hand",
        "event",
        "happened",
        "new_set",
        "not_tonight",
        "off",
        "on",
        "sample_due",
        "sample_taken",
        "skipped",
        "stop",
    }
)
"""Kinds of which each entry is out of the usual."""

WORDS = ("words", "done", "note", "not_measured", "missing")
"""Fields in which somebody wrote words of their own."""


class Noted(msgspec.Struct, frozen=True, array_like=True):
    """One entry worth finding again. at: when it was. kind, version, data: its body as it is stored."""

    at: datetime
    kind: str
    version: int
    data: bytes

    def body(self) -> Body:
        """The body again."""
        return decode_body(self.kind, self.version, self.data)


def noted_of(treatment: Facts, also: Collection[str] = ()) -> tuple[Noted, ...]:
    """What is worth finding again of a night, as it holds, by time. also: ids of other entries that are."""
    found = [
        fact
        for facts in treatment.live.values()
        for fact in facts
        if not isinstance(fact.body, Unknown) and (fact.id in also or _worth(fact))
    ]
    return tuple(
        Noted(fact.at, *kind_of(fact.body), encode_body(fact.body))
        for fact in sorted(found, key=lambda fact: (fact.at, fact.id))
    )


def _worth(fact: Fact) -> bool:
    body = fact.body
    if fact.kind in ALWAYS:
        return True
    if isinstance(body, Given) and body.medicine:
        return True
    if isinstance(body, SecondCheck) and not body.agrees:
        return True
    if isinstance(body, LotUsed) and not body.intact:
        return True
    return any(getattr(body, name, None) for name in WORDS)


def strips_of(treatment: Facts) -> tuple[tuple[str, str, str, str], ...]:
    """Quantity, place, lot and expiry of the strips or reagents that something was tested with, each once."""
    found = {
        (body.quantity, body.place, body.lot, body.expiry): None
        for fact in treatment.of("measured")
        if isinstance(body := fact.body, Measured) and body.lot
    }
    return tuple(found)


def noes_of(treatment: Facts) -> tuple[datetime, ...]:
    """When each "not tonight" of a night was written down, also one that was taken back or erased since."""
    return tuple(entry.envelope.recorded_at for entry in treatment if entry.envelope.kind == NotTonight.KIND)
