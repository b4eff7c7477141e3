"""Bytes that change by themselves: each is found, or every entry is proven to be what it was."""

from __future__ import annotations

import os
import random
import shutil
from collections import Counter
from pathlib import Path

import pytest

from ebbwell.core.ids import SeededIds
from ebbwell.journal.bundle_lines import encode_line
from ebbwell.journal.errors import RecordError
from ebbwell.journal.store.sqlite import head_path, open_store, wal_path
from tests.journal.making import PASSPHRASE, erasing, everything, fill, opened

ENTRIES = 60


def build(path: Path, live: Path, passphrase: str | None = None) -> list[bytes]:
    """A store at ``path``, cleanly closed; at ``live`` the same with its write-ahead log. Gives its entries."""
    with opened(open_store(path, SeededIds(1), passphrase=passphrase)) as store:
        made = fill(store, SeededIds(2), ENTRIES)
        with store.write() as tx:
            tx.erase(made[5].id, erasing(SeededIds(3), made[5].id))
        fill(store, SeededIds(4), ENTRIES)
        live.parent.mkdir()
        for part in (path, wal_path(path), head_path(path)):
            shutil.copyfile(part, live.with_name(part.name))
        return [encode_line(entry) for entry in everything(store)]


def outcome(path: Path, wanted: list[bytes], passphrase: str | None = None) -> str:
    """How a spoilt store is met: ``stopped`` at opening, ``named`` by the proof, or ``untouched``."""
    try:
        store = open_store(path, SeededIds(9), passphrase=passphrase)
    except RecordError:
        return "stopped"
    with opened(store):
        try:
            verdict = store.verify()
        except RecordError:
            return "named"
        if not verdict.holds:
            return "named"
        assert [encode_line(entry) for entry in store.after(0)] == wanted
        return "untouched"


def spoil(
    source: Path,
    part: Path,
    dice: random.Random,
    times: int,
    wanted: list[bytes],
    passphrase: str | None = None,
) -> Counter[str]:
    """Flip one bit of ``part`` of the store ``source``, look, and put everything back; so many times."""
    parts = {path: path.read_bytes() for path in source.parent.glob(source.name + "*")}
    data = parts[part]
    found: Counter[str] = Counter()
    for _ in range(times):
        for old in source.parent.glob(source.name + "*"):
            if old not in parts:
                old.unlink()
        for path, content in parts.items():
            path.write_bytes(content)
        changed = bytearray(data)
        changed[dice.randrange(len(data))] ^= 1 << dice.randrange(8)
        part.write_bytes(changed)
        found[outcome(source, wanted, passphrase)] += 1
    print(f"{part.name}: {times} flips, {dict(found)}")
    return found


@pytest.mark.parametrize("passphrase", [None, PASSPHRASE], ids=["plain", "locked"])
def test_flips_in_the_file_at_rest(tmp_path: Path, passphrase: str | None) -> None:
    path = tmp_path / "record.db"
    wanted = build(path, tmp_path / "live" / "record.db", passphrase)
    assert not wal_path(path).exists()
    times = 200 if passphrase is None else 12
    found = spoil(path, path, random.Random(11), times, wanted, passphrase)
    assert found.total() == times
    assert found["stopped"] + found["named"] > times // 2


def test_flips_in_a_live_log(tmp_path: Path) -> None:
    live = tmp_path / "live" / "record.db"
    wanted = build(tmp_path / "record.db", live)
    assert wal_path(live).stat().st_size > 100_000
    found = spoil(live, wal_path(live), random.Random(12), 100, wanted)
    assert found.total() == 100
    assert found["stopped"] > 50


def test_flips_in_the_head_file(tmp_path: Path) -> None:
    path = tmp_path / "record.db"
    wanted = build(path, tmp_path / "live" / "record.db")
    assert spoil(path, head_path(path), random.Random(13), 60, wanted) == Counter(untouched=60)


def test_every_length_of_a_cut_log(tmp_path: Path) -> None:
    live = tmp_path / "live" / "record.db"
    wanted = build(tmp_path / "record.db", live)
    log = wal_path(live)
    parts = {path: path.read_bytes() for path in live.parent.iterdir()}
    whole = log.stat().st_size
    for length in [0, 31, 32, *range(100, whole, whole // 25), whole - 1]:
        for path, content in parts.items():
            path.write_bytes(content)
        os.truncate(log, length)
        assert outcome(live, wanted) == "stopped", length
    for path, content in parts.items():
        path.write_bytes(content)
    assert outcome(live, wanted) == "untouched"


def test_a_log_taken_away(tmp_path: Path) -> None:
    live = tmp_path / "live" / "record.db"
    wanted = build(tmp_path / "record.db", live)
    wal_path(live).unlink()
    assert outcome(live, wanted) == "stopped"


def test_every_length_of_a_cut_file(tmp_path: Path) -> None:
    path = tmp_path / "record.db"
    wanted = build(path, tmp_path / "live" / "record.db")
    content = path.read_bytes()
    for length in [0, 1, 15, 16, 100, 4096, *range(5000, len(content), len(content) // 12), len(content) - 1]:
        path.write_bytes(content[:length])
        assert outcome(path, wanted) in ("stopped", "named"), length
