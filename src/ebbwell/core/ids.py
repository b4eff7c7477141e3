"""Identifiers: UUID version 7, which sort by the time they were made."""

from __future__ import annotations

import random
import re
from typing import Protocol

from ebbwell.core.errors import InputError

_FORM = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}")


class Ids(Protocol):
    """Makes identifiers."""

    def new(self) -> str:
        """A fresh UUIDv7 in its usual text form."""
        ...

    def salt(self) -> bytes:
        """Sixteen bytes nobody can guess, for one entry's body."""
        ...


class SystemIds:
    """From the machine's own randomness."""

    def new(self) -> str:
        """A fresh UUIDv7; never smaller than one made before it in this process."""
        from uuid_utils import uuid7

        return str(uuid7())

    def salt(self) -> bytes:
        """Sixteen random bytes."""
        import os

        return os.urandom(16)


class SeededIds:
    """The same ids again for the same seed: for demos, tests and replay. Never for a real household."""

    def __init__(self, seed: int, start_ms: int = 1_700_000_000_000) -> None:
        self._random = random.Random(seed)
        self._ms = start_ms

    def new(self) -> str:
        """The next id of the sequence; ids rise by a millisecond each."""
        self._ms += 1
        value = (self._ms & ((1 << 48) - 1)) << 80
        value |= 0x7 << 76 | self._random.getrandbits(12) << 64
        value |= 0x2 << 62 | self._random.getrandbits(62)
        text = f"{value:032x}"
        return f"{text[:8]}-{text[8:12]}-{text[12:16]}-{text[16:20]}-{text[20:]}"

    def salt(self) -> bytes:
        """The next sixteen bytes of the sequence."""
        return self._random.randbytes(16)


def check_id(text: str) -> str:
    """The id, in lower case. Raises InputError when it isn't a UUIDv7. Source: examples:E19.1 (RFC 9562)."""
    lowered = text.strip().lower()
    if not _FORM.fullmatch(lowered):
        raise InputError("id.not_uuid7", typed=text[:60])
    return lowered
