"""What another store of the same household wrote, as it arrives here."""

from __future__ import annotations

from datetime import timedelta

from ebbwell.house import House
from ebbwell.journal.envelope import Entry, Envelope, first_prev, seal
from ebbwell.journal.kinds import Body, encode_body, kind_of, must_understand

ELSEWHERE = "018bcfe5-0000-7000-8000-00000000abcd"
"""Writer id of another store of the same household."""

START_OF_CHAIN = (0, first_prev(ELSEWHERE))
"""Number and hash that the first entry of that store follows on."""


def written_elsewhere(
    house: House,
    treatment: str | None,
    body: Body,
    after: tuple[int, bytes] = START_OF_CHAIN,
    *,
    strange_kind: str = "",
    back: timedelta = timedelta(0),
    salt: bytes = bytes(16),
    by: str = "someone",
    replaces: tuple[str, ...] = (),
) -> Entry:
    """An entry of the other store about a treatment, next in its chain.

    after: number and hash of the entry before it; strange_kind: name of a kind that this program doesn't know, that
    must be understood; back: how long ago it happened; salt: 16 bytes; by: id of who wrote it; replaces: ids of what it
    takes the place of.
    """
    now = house.clock.now()
    kind, version = kind_of(body)
    envelope = Envelope(
        id=house.ids.new(),
        kind=strange_kind or kind,
        version=version,
        household=house.household,
        treatment=treatment,
        at=now.at - back,
        zone=now.zone,
        offset=now.offset,
        recorded_at=now.at,
        boot="elsewhere",
        mono=now.mono,
        by=by,
        replaces=replaces,
        must_understand=bool(strange_kind) or must_understand(body),
    )
    seq, prev = after
    return seal(envelope, encode_body(body), salt, ELSEWHERE, seq + 1, prev)
