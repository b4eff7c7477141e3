"""A line of a bundle's segment: one entry, byte for byte."""

from __future__ import annotations

import base64

import msgspec

from ebbwell.journal.envelope import Entry, decode_envelope


class Line(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True, forbid_unknown_fields=True):
    """envelope, body: the stored text; with ``64`` behind: base64, where the bytes aren't UTF-8 text.

    Both bodies missing: erased. prev, hash, digest, salt: hex.
    """

    writer: str
    seq: int
    prev: str
    hash: str
    digest: str
    salt: str | None = None
    envelope: str | None = None
    envelope64: str | None = None
    body: str | None = None
    body64: str | None = None


_encoder = msgspec.json.Encoder()
_decoder = msgspec.json.Decoder(Line)


def _as_text(data: bytes | None) -> tuple[str | None, str | None]:
    if data is None:
        return None, None
    try:
        return data.decode(), None
    except UnicodeDecodeError:
        return None, base64.b64encode(data).decode()


def _as_bytes(text: str | None, coded: str | None) -> bytes | None:
    if text is not None:
        return text.encode()
    return None if coded is None else base64.b64decode(coded, validate=True)


def encode_line(entry: Entry) -> bytes:
    """The line of an entry, newline included; the same entry always gives the same bytes."""
    envelope, envelope64 = _as_text(entry.envelope_bytes)
    body, body64 = _as_text(entry.body_bytes)
    line = Line(
        writer=entry.writer,
        seq=entry.seq,
        prev=entry.prev.hex(),
        hash=entry.hash.hex(),
        digest=entry.digest.hex(),
        salt=None if entry.salt is None else entry.salt.hex(),
        envelope=envelope,
        envelope64=envelope64,
        body=body,
        body64=body64,
    )
    return _encoder.encode(line) + b"\n"


def decode_line(data: bytes) -> Entry:
    """The entry of a line, not proven yet. Raises msgspec.MsgspecError and ValueError for what isn't one."""
    line = _decoder.decode(data)
    envelope = _as_bytes(line.envelope, line.envelope64)
    if envelope is None:
        raise ValueError("a line without an envelope")
    salt = None if line.salt is None else bytes.fromhex(line.salt)
    body = _as_bytes(line.body, line.body64)
    if (salt is None) != (body is None):
        raise ValueError("a body and its salt go together")
    return Entry(
        envelope=decode_envelope(envelope),
        envelope_bytes=envelope,
        body_bytes=body,
        salt=salt,
        digest=bytes.fromhex(line.digest),
        writer=line.writer,
        seq=line.seq,
        prev=bytes.fromhex(line.prev),
        hash=bytes.fromhex(line.hash),
    )
