"""The checkpoint: state as folded so far, in a throw-away file, so that a start doesn't read ten years.

It is keyed by a digest of the code that folds and by the store's chain, and begins with a digest of itself; anything
that doesn't fit is ignored and the state is folded anew. Losing it loses nothing.
"""

from __future__ import annotations

import hashlib
import os
from functools import lru_cache
from pathlib import Path

import msgspec

import ebbwell.journal as journal
import ebbwell.state as state_package
from ebbwell.journal.envelope import Entry, decode_envelope
from ebbwell.state.fold import State
from ebbwell.state.own_past import NightSummary, Past

DIGEST_BYTES = 32


class _Kept(msgspec.Struct, frozen=True, array_like=True):
    envelope: bytes
    body: bytes | None
    digest: bytes
    writer: str
    seq: int
    prev: bytes
    hash: bytes
    row: int


class _Checkpoint(msgspec.Struct, frozen=True, array_like=True):
    code: str
    row: int
    newest: bytes
    standing: tuple[_Kept, ...]
    past: dict[str, NightSummary]


@lru_cache(maxsize=1)
def fold_digest() -> str:
    """Digest of the code that turns entries into state; another program version folds anew."""
    digest = hashlib.sha256()
    for package in (journal, state_package):
        root = Path(package.__path__[0])
        for path in sorted(root.rglob("*.py")):
            digest.update(path.relative_to(root).as_posix().encode())
            digest.update(path.read_bytes())
    return digest.hexdigest()


def save(path: Path, state: State, newest: bytes) -> None:
    """Write the checkpoint, whole or not at all, for its owner's eyes only, like the store.

    newest: hash of the entry at ``state.row``.
    """
    kept = tuple(
        _Kept(e.envelope_bytes, e.body_bytes, e.digest, e.writer, e.seq, e.prev, e.hash, e.row)
        for e in state.standing.entries.values()
    )
    data = msgspec.msgpack.encode(_Checkpoint(fold_digest(), state.row, newest, kept, dict(state.past)))
    beside = path.with_suffix(f".{os.getpid()}.new")
    beside.unlink(missing_ok=True)
    with os.fdopen(os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, 0o600), "wb") as file:
        file.write(hashlib.sha256(data).digest() + data)
    beside.replace(path)


def load(path: Path) -> tuple[State, bytes] | None:
    """The state of the last checkpoint with the hash of its newest entry; None where there is none that fits."""
    if not path.exists():
        return None
    try:
        whole = path.read_bytes()
        told, data = whole[:DIGEST_BYTES], whole[DIGEST_BYTES:]
        if hashlib.sha256(data).digest() != told:
            return None
        kept = msgspec.msgpack.decode(data, type=_Checkpoint)
    except (msgspec.DecodeError, OSError):
        return None
    if kept.code != fold_digest():
        return None
    state = State()
    for e in kept.standing:
        envelope = decode_envelope(e.envelope)
        entry = Entry(envelope, e.envelope, e.body, None, e.digest, e.writer, e.seq, e.prev, e.hash, e.row)
        state.standing.step(entry)
    state.past = Past(kept.past)
    state.row = kept.row
    return state, kept.newest
