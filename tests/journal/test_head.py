"""The head file: two slots, each believed only with its checksum."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from pathlib import Path

import pytest

from ebbwell.journal.errors import NewerFormat, StoreBusy
from ebbwell.journal.store import head as head_module
from ebbwell.journal.store.head import SLOT, USED, Head, HeadFile, decode_slot, encode_slot


def a_head(generation: int) -> Head:
    return Head(
        generation=generation, count=generation, row=generation, hash="ab" * 32, writer="w" * 36, locked=False
    )


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "record.db.head"


def test_slots_are_written_in_turn_and_the_newest_is_read(path: Path) -> None:
    file = HeadFile(path)
    assert file.read() is None
    for generation in range(1, 6):
        file.write(a_head(generation))
        assert file.read() == a_head(generation)
    assert set(file.slots()) == {a_head(4), a_head(5)}
    file.close()
    assert path.stat().st_size == 2 * SLOT


def test_a_torn_slot_leaves_the_other(path: Path) -> None:
    for torn in (0, 1, USED // 3, USED - 1):
        file = HeadFile(path)
        file.write(a_head(6))
        data = encode_slot(a_head(7))
        os.pwrite(file._fd, b"\xff" * USED, SLOT)
        os.pwrite(file._fd, data[:torn], SLOT)
        found = file.read()
        file.close()
        assert found == a_head(6)


def test_every_flipped_byte_of_a_slot_is_noticed() -> None:
    data = encode_slot(a_head(3))
    assert decode_slot(data) == a_head(3)
    for place in range(USED):
        for flip in (0x01, 0x80):
            changed = bytearray(data)
            changed[place] ^= flip
            found = decode_slot(bytes(changed))
            blank = not data[place : place + 1].strip() and not bytes(changed[place : place + 1]).strip()
            assert found is None or blank, place


def test_a_newer_head_is_left_to_the_newer_program() -> None:
    line = b'{"format":2,"count":1}\n'
    data = (line + hashlib.sha256(line).hexdigest().encode() + b"\n").ljust(USED)
    with pytest.raises(NewerFormat) as caught:
        decode_slot(data)
    assert caught.value.params["format"] == 2


def test_a_head_that_does_not_fit_is_a_fault_of_the_program() -> None:
    with pytest.raises(ValueError, match="bytes"):
        encode_slot(Head(generation=1, count=1, row=1, hash="ab" * 32, writer="w" * USED, locked=False))


def test_another_program_holding_the_lock_is_waited_for_and_then_named(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(head_module, "TRIES", 20)
    file = HeadFile(path)
    holder = subprocess.Popen(
        [
            sys.executable,
            "-c",
            f"import fcntl,sys; f=open({str(path)!r}, 'r+b'); fcntl.flock(f, fcntl.LOCK_EX);"
            "print('held', flush=True); sys.stdin.read()",
        ],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    )
    assert holder.stdout is not None
    assert holder.stdout.readline() == b"held\n"
    with pytest.raises(StoreBusy), file.lock():
        pass
    holder.communicate()
    with file.lock():
        assert file.in_place()
    file.close()


def test_a_head_moved_away_is_noticed(path: Path) -> None:
    file = HeadFile(path)
    assert file.in_place()
    path.rename(path.with_name("elsewhere"))
    assert not file.in_place()
    path.write_bytes(b"")
    assert not file.in_place()
    file.close()
