"""The envelope of an entry, and the hash that chains entries together.

hash = SHA-256(prev | length | envelope | SHA-256(salt | body)), over the bytes as stored: prev is the hash
of the entry before it in the same chain, length is the envelope's as eight bytes, big end first. Erasing a
body deletes body and salt; the inner digest stays, so the chain can still be proven.
Source: design sections 5 and 11.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cached_property

import msgspec

from ebbwell.core.clock import Moment
from ebbwell.journal.kinds import Body, decode_body

SALT_BYTES = 16
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_US = timedelta(microseconds=1)


class Envelope(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """What every entry carries, whatever its kind.

    id: UUIDv7, also the one-time key of the form it came from. at: when it was so (UTC instant, with zone and
    offset in minutes for display); recorded_at: when it was written. boot, mono: boot clock then [ms].
    by: opaque person id. replaces: ids that this entry takes the place of, with the reason.
    must_understand: a program that doesn't know the kind keeps every gate closed.
    """

    id: str
    kind: str
    version: int
    household: str
    treatment: str | None = None
    at: datetime
    zone: str
    offset: int
    recorded_at: datetime
    boot: str
    mono: int
    by: str
    replaces: tuple[str, ...] = ()
    reason: str | None = None
    must_understand: bool = False

    @property
    def recorded(self) -> Moment:
        """The moment of recording, for judging how far the clock can be trusted."""
        return Moment(self.recorded_at, self.zone, self.boot, self.mono)


_encoder = msgspec.json.Encoder(order="deterministic")
_decoder = msgspec.json.Decoder(Envelope)


def encode_envelope(envelope: Envelope) -> bytes:
    """The bytes to store and hash."""
    return _encoder.encode(envelope)


def decode_envelope(data: bytes) -> Envelope:
    """The envelope in stored bytes; fields of a newer program stay in the bytes and are passed over here."""
    return _decoder.decode(data)


def body_digest(salt: bytes, body: bytes) -> bytes:
    """The inner digest that outlives an erased body."""
    return hashlib.sha256(salt + body).digest()


def chain_hash(prev: bytes, envelope: bytes, digest: bytes) -> bytes:
    """The hash of an entry. prev: 32 bytes; digest: from body_digest."""
    return hashlib.sha256(prev + len(envelope).to_bytes(8, "big") + envelope + digest).digest()


def first_prev(writer: str) -> bytes:
    """What stands in for the hash before the first entry of a writer's chain."""
    return hashlib.sha256(writer.encode()).digest()


@dataclass(frozen=True)
class Entry:
    """One immutable fact as it lies in a store.

    writer, seq: the chain it was written in and its place there, from 1. row: its place in this store, by
    arrival (0 until stored). body_bytes and salt are None once the body was lawfully erased.
    """

    envelope: Envelope
    envelope_bytes: bytes
    body_bytes: bytes | None
    salt: bytes | None
    digest: bytes
    writer: str
    seq: int
    prev: bytes
    hash: bytes
    row: int = 0

    @property
    def id(self) -> str:
        """The entry's id."""
        return self.envelope.id

    @cached_property
    def body(self) -> Body:
        """The typed body, brought up to the present version; Unknown for a kind this program doesn't know."""
        return decode_body(self.envelope.kind, self.envelope.version, self.body_bytes)

    @cached_property
    def ahead(self) -> int:
        """How far the wall clock was ahead of the boot clock at writing [us]; whole, since an entry may say anything."""
        e = self.envelope
        return (e.recorded_at - _EPOCH) // _US - e.mono * 1000

    def proven(self) -> bool:
        """Whether the bytes still give the hash, body included where it is there."""
        whole = self.body_bytes is not None and self.salt is not None
        if whole and body_digest(self.salt or b"", self.body_bytes or b"") != self.digest:
            return False
        return chain_hash(self.prev, self.envelope_bytes, self.digest) == self.hash


def seal(envelope: Envelope, body: bytes, salt: bytes, writer: str, seq: int, prev: bytes) -> Entry:
    """Make the entry that continues a chain after ``prev``. salt: SALT_BYTES fresh random bytes."""
    if len(salt) != SALT_BYTES:
        raise ValueError(f"need a salt of {SALT_BYTES} bytes; got {len(salt)}")
    data = encode_envelope(envelope)
    digest = body_digest(salt, body)
    return Entry(envelope, data, body, salt, digest, writer, seq, prev, chain_hash(prev, data, digest))


def utc(at: datetime) -> datetime:
    """The instant in UTC. Raises ValueError without a zone."""
    if at.tzinfo is None:
        raise ValueError("times must carry a zone")
    return at.astimezone(UTC)
