"""The kinds of entry and their typed bodies, one module a theme.

Every body is a frozen struct; quantities are decimal strings with their unit. A kind that this program
doesn't know is kept byte for byte as ``Unknown``.
"""

from __future__ import annotations

from ebbwell.journal.kinds.base import (
    Body,
    Unknown,
    decode_body,
    encode_body,
    kind_of,
    known_kinds,
    must_understand,
)

__all__ = ["Body", "Unknown", "decode_body", "encode_body", "kind_of", "known_kinds", "must_understand"]
