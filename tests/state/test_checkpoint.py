"""The checkpoint file beside a store."""

from __future__ import annotations

import stat
from pathlib import Path

from ebbwell.state import checkpoint
from ebbwell.state.fold import State


def test_nobody_else_may_read_it(tmp_path: Path) -> None:
    path = tmp_path / "record.ebbwell.state"
    checkpoint.save(path, State(), b"newest")
    checkpoint.save(path, State(), b"newest")
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert [each.name for each in tmp_path.iterdir()] == [path.name]


def test_it_is_read_back(tmp_path: Path) -> None:
    path = tmp_path / "record.ebbwell.state"
    checkpoint.save(path, State(), b"newest")
    found = checkpoint.load(path)
    assert found is not None
    assert (found[0].row, found[1]) == (0, b"newest")


def test_a_damaged_one_is_passed_over(tmp_path: Path) -> None:
    path = tmp_path / "record.ebbwell.state"
    checkpoint.save(path, State(), b"newest")
    path.write_bytes(path.read_bytes()[:-3])
    assert checkpoint.load(path) is None


def test_one_with_any_byte_changed_is_passed_over(tmp_path: Path) -> None:
    path = tmp_path / "record.ebbwell.state"
    checkpoint.save(path, State(), b"newest")
    good = path.read_bytes()
    for place in range(len(good)):
        path.write_bytes(good[:place] + bytes([good[place] ^ 1]) + good[place + 1 :])
        assert checkpoint.load(path) is None, place
    path.write_bytes(good)
    assert checkpoint.load(path) is not None
