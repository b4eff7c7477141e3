"""The head file: how many entries were acknowledged and what the newest was, beside the store.

A damaged write-ahead log can shorten an SQLite store without any error; the head file tells. It is synced
before each acknowledgement. Two slots are written in turn, in place, each with its own checksum, so that a
write torn by a power cut leaves the other slot good. The file also is the lock between programs.
"""

from __future__ import annotations

import errno
import fcntl
import hashlib
import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import msgspec

from ebbwell.journal.errors import NewerFormat, StoreBusy
from ebbwell.journal.store.faults import Faults, NoFaults
from ebbwell.journal.store.place import from_os_error, sync_folder

SLOT = 4096
"""Bytes between the slots: no sector and no page holds parts of both."""
USED = 512
"""Bytes written of a slot."""
FORMAT = 1
PAUSE_MS = 5
TRIES = 1000
"""Tries for the lock, PAUSE_MS apart: 5 s in all."""


class Head(msgspec.Struct, frozen=True, kw_only=True):
    """generation: rises with each write. count: entries held. row, hash (hex): of the newest.

    locked: whether the store needs a passphrase.
    """

    format: int = FORMAT
    generation: int
    count: int
    row: int
    hash: str
    writer: str
    locked: bool


_encoder = msgspec.json.Encoder(order="deterministic")
_decoder = msgspec.json.Decoder(Head)


def encode_slot(head: Head) -> bytes:
    """A slot's USED bytes: one line of JSON, one line of its SHA-256, blanks."""
    line = _encoder.encode(head) + b"\n"
    data = line + hashlib.sha256(line).hexdigest().encode() + b"\n"
    if len(data) > USED:
        raise ValueError(f"a head takes {len(data)} bytes; {USED} are there")
    return data.ljust(USED)


def decode_slot(data: bytes) -> Head | None:
    """The head in a slot; None where it is torn, damaged or blank. Raises NewerFormat."""
    line, _, rest = data.partition(b"\n")
    if hashlib.sha256(line + b"\n").hexdigest().encode() != rest[:64] or rest[64:].strip():
        return None
    told = msgspec.json.decode(line)
    if isinstance(told, dict) and isinstance(told.get("format"), int) and told["format"] > FORMAT:
        raise NewerFormat("store.newer", format=told["format"], known=FORMAT)
    return _decoder.decode(line)


class HeadFile:
    """An open head file. path: the store's path with ``.head`` behind it. Made when missing.

    Raises StoreReadOnly, DiskFull, StoreUnreachable.
    """

    def __init__(self, path: Path, faults: Faults | None = None) -> None:
        self.path = path
        self._faults = faults or NoFaults()
        try:
            self._fd = os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
        except OSError as why:
            raise from_os_error(why, path) from why
        try:
            if os.fstat(self._fd).st_size < SLOT + USED:
                self._allocate()
        except OSError as why:
            os.close(self._fd)
            raise from_os_error(why, path) from why

    def _allocate(self) -> None:
        size = os.fstat(self._fd).st_size
        os.pwrite(self._fd, b" " * (2 * SLOT - size), size)
        os.fsync(self._fd)
        sync_folder(self.path.parent)

    @contextmanager
    def lock(self) -> Iterator[None]:
        """Keep every other program from writing meanwhile. Raises StoreBusy after 5 s."""
        for _ in range(TRIES):
            try:
                fcntl.flock(self._fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                time.sleep(PAUSE_MS / 1000)
            except OSError as why:
                raise from_os_error(why, self.path) from why
            else:
                break
        else:
            raise StoreBusy("store.busy", path=self.path, seconds=PAUSE_MS * TRIES // 1000)
        try:
            yield
        finally:
            fcntl.flock(self._fd, fcntl.LOCK_UN)

    def slots(self) -> tuple[Head | None, Head | None]:
        """Both slots as they are."""
        try:
            data = os.pread(self._fd, SLOT + USED, 0)
        except OSError as why:
            raise from_os_error(why, self.path) from why
        return decode_slot(data[:USED]), decode_slot(data[SLOT : SLOT + USED])

    def read(self) -> Head | None:
        """The newest good slot, or None."""
        good = [head for head in self.slots() if head is not None]
        return max(good, key=lambda head: head.generation, default=None)

    def write(self, head: Head) -> None:
        """Write into the slot whose turn it is and sync. Raises DiskFull, StoreReadOnly, StoreUnreachable."""
        try:
            self._faults.at("head.write")
            self._put(encode_slot(head), SLOT * (head.generation % 2))
            self._faults.at("head.sync")
            os.fdatasync(self._fd)
        except OSError as why:
            raise from_os_error(why, self.path) from why

    def _put(self, data: bytes, place: int) -> None:
        if os.pwrite(self._fd, data, place) != len(data):
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    def in_place(self) -> bool:
        """Whether the path still leads to this very file."""
        try:
            there = os.stat(self.path)
        except OSError:
            return False
        mine = os.fstat(self._fd)
        return (there.st_ino, there.st_dev) == (mine.st_ino, mine.st_dev)

    def close(self) -> None:
        """Let go of the file."""
        if self._fd >= 0:
            os.close(self._fd)
            self._fd = -1
