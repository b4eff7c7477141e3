"""The register of kinds: encode, decode, upcast, and keep what isn't known."""

from __future__ import annotations

from functools import lru_cache
from typing import Any, ClassVar

import msgspec

from ebbwell.journal.upcasts import upcast


class Body(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """Base of every typed body."""

    KIND: ClassVar[str] = ""
    VERSION: ClassVar[int] = 1
    MUST_UNDERSTAND: ClassVar[bool] = False


class Unknown(Body, frozen=True, kw_only=True):
    """A body that can't be read here: a kind or version from a newer program, or an erased body."""

    raw: bytes | None


_encoder = msgspec.json.Encoder(order="deterministic")
_decoders: dict[str, msgspec.json.Decoder[Any]] = {}
_types: dict[str, type[Body]] = {}


def register(cls: type[Body]) -> type[Body]:
    """Class decorator: enter a body type under its KIND."""
    if cls.KIND in _types:
        raise ValueError(f"kind {cls.KIND!r} is registered twice")
    _types[cls.KIND] = cls
    return cls


@lru_cache(maxsize=1)
def _load() -> dict[str, type[Body]]:
    from ebbwell.journal.kinds import (  # noqa: F401
        bedside,
        bloods,
        fluid,
        house,
        marks,
        night,
        orders,
        pressures,
        units,
        water,
    )

    return _types


def known_kinds() -> dict[str, type[Body]]:
    """Kind name to body type, of all kinds this program knows."""
    return dict(_load())


def kind_of(body: Body) -> tuple[str, int]:
    """Kind and version that a body is written under."""
    return body.KIND, body.VERSION


def must_understand(body: Body) -> bool:
    """Whether a program that doesn't know this kind has to keep its gates closed."""
    return body.MUST_UNDERSTAND


def encode_body(body: Body) -> bytes:
    """The bytes to store."""
    return _encoder.encode(body)


def decode_body(kind: str, version: int, data: bytes | None) -> Body:
    """The typed body; older versions are brought up to date by their upcasters.

    Unknown(raw=data) for a kind or version newer than this program, or where data is None (erased).
    Raises msgspec.ValidationError for bytes that don't fit a kind this program wrote itself.
    """
    cls = _load().get(kind)
    if cls is None or data is None or version > cls.VERSION:
        return Unknown(raw=data)
    if version < cls.VERSION:
        return msgspec.convert(upcast(kind, version, cls.VERSION, msgspec.json.decode(data)), cls)
    decoder = _decoders.get(kind)
    if decoder is None:
        decoder = _decoders[kind] = msgspec.json.Decoder(cls)
    body: Body = decoder.decode(data)
    return body
