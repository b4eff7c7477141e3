"""Full, read-only, locked, failing and vanished disks: real small ones, or faults put in at named points."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from ebbwell.core.ids import SeededIds
from ebbwell.journal.errors import (
    DiskFull,
    EntryHeld,
    RecordError,
    StoreReadOnly,
    StoreUnreachable,
    StoreVanished,
)
from ebbwell.journal.store.sqlite import head_path, open_store, wal_path
from tests.journal.making import draft, everything, fill, opened
from tests.needs import need

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("scenario", ["full", "full_at_start", "read_only", "pulled_out"])
def test_on_a_small_disk(scenario: str, tmp_path: Path) -> None:
    need("mount")
    done = subprocess.run(
        ["unshare", "--mount", sys.executable, "-m", "tests.faults.disk", scenario, str(tmp_path)],
        capture_output=True,
        check=False,
        text=True,
        cwd=ROOT,
    )
    print(done.stdout)
    assert done.returncode == 0, done.stderr


@contextmanager
def immutable(*paths: Path) -> Iterator[None]:
    subprocess.run(["chattr", "+i", *map(str, paths)], check=True)
    try:
        yield
    finally:
        subprocess.run(["chattr", "-i", *map(str, paths)], check=True)


def test_files_that_may_not_be_written(tmp_path: Path) -> None:
    need("chattr")
    path = tmp_path / "record.db"
    with opened(open_store(path, SeededIds(1))) as store:
        made = fill(store, SeededIds(2), 2)
    for parts in ((path, head_path(path)), (path,), (head_path(path),)):
        with immutable(*parts), pytest.raises(StoreReadOnly):
            open_store(path, SeededIds(3))
    with immutable(tmp_path), pytest.raises(StoreReadOnly):
        open_store(tmp_path / "new.db", SeededIds(3))
    with opened(open_store(path, SeededIds(3))) as store:
        assert everything(store) == made


class FailAt:
    """Raises an error of the machine at one point, as often as told."""

    def __init__(self) -> None:
        self.point = ""
        self.number = errno.EIO

    def at(self, point: str) -> None:
        """Fail here when it is the point."""
        if point == self.point:
            raise OSError(self.number, "put in by the test")


@pytest.mark.parametrize("point", ["lock", "begin", "commit"])
@pytest.mark.parametrize(
    ("number", "cause"),
    [(errno.EIO, StoreUnreachable), (errno.ENOSPC, DiskFull), (errno.EROFS, StoreReadOnly)],
)
def test_a_failure_before_the_commit_keeps_nothing(
    point: str, number: int, cause: type[RecordError], tmp_path: Path
) -> None:
    faults, ids = FailAt(), SeededIds(2)
    with opened(open_store(tmp_path / "record.db", SeededIds(1), faults=faults)) as store:
        made = fill(store, ids, 2)
        faults.point, faults.number = point, number
        with pytest.raises(cause) as caught, store.write() as tx:
            tx.append(draft(ids))
        assert caught.value.key != "store.unsure"
        faults.point = ""
        assert everything(store) == made
        assert fill(store, ids, 1)[0].seq == 3
        assert store.verify().holds


@pytest.mark.parametrize("point", ["head.write", "head.sync", "acknowledge"])
def test_a_failure_after_the_commit_says_that_it_is_not_sure(point: str, tmp_path: Path) -> None:
    faults, ids = FailAt(), SeededIds(2)
    path = tmp_path / "record.db"
    with opened(open_store(path, SeededIds(1), faults=faults)) as store:
        made = fill(store, ids, 2)
        faults.point = point
        mine = draft(ids)
        for _ in range(3):
            with pytest.raises((StoreUnreachable, EntryHeld)) as caught, store.write() as tx:
                tx.append(mine)
        assert isinstance(caught.value, EntryHeld)
        faults.point = ""
        assert [e.id for e in everything(store)] == [*(e.id for e in made), mine.envelope.id]
        fill(store, ids, 1)
    with opened(open_store(path, SeededIds(5))) as store:
        assert store.count() == 4
        assert store.verify().holds


def test_the_words_of_a_failure_after_the_commit(tmp_path: Path) -> None:
    faults = FailAt()
    with opened(open_store(tmp_path / "record.db", SeededIds(1), faults=faults)) as store:
        faults.point = "head.sync"
        with pytest.raises(StoreUnreachable) as caught, store.write() as tx:
            tx.append(draft(SeededIds(2)))
        assert caught.value.key == "store.unsure"


@pytest.mark.parametrize("part", [head_path, wal_path, lambda path: path])
def test_a_file_removed_under_an_open_store(part: object, tmp_path: Path) -> None:
    path, ids = tmp_path / "record.db", SeededIds(2)
    with opened(open_store(path, SeededIds(1))) as store:
        fill(store, ids, 2)
        part(path).unlink()  # type: ignore[operator]
        with pytest.raises(StoreVanished), store.write() as tx:
            tx.append(draft(ids))


def test_a_log_swapped_under_an_open_store(tmp_path: Path) -> None:
    path, ids = tmp_path / "record.db", SeededIds(2)
    with opened(open_store(path, SeededIds(1))) as store:
        fill(store, ids, 2)
        held = wal_path(path).rename(tmp_path / "held")
        wal_path(path).write_bytes(b"")
        with pytest.raises(StoreVanished), store.write() as tx:
            tx.append(draft(ids))
        held.replace(wal_path(path))


def test_the_order_of_the_write_path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Committed, then the head file written, then synced, and only then acknowledged."""
    passed: list[str] = []

    class Listen:
        def at(self, point: str) -> None:
            passed.append(point.split(" ")[0])

    sync = os.fdatasync

    def listened(fd: int) -> None:
        sync(fd)
        passed.append("synced")

    monkeypatch.setattr(os, "fdatasync", listened)
    with opened(open_store(tmp_path / "record.db", SeededIds(1), faults=Listen())) as store:
        settings = [
            store._db.execute(f"pragma {name}").fetchone()[0] for name in ("synchronous", "journal_mode")
        ]  # type: ignore[attr-defined]
        passed.clear()
        fill(store, SeededIds(2), 1)
    assert settings == [2, "wal"]
    order = [
        "lock",
        "begin",
        "sql:BEGIN",
        "sql:INSERT",
        "commit",
        "sql:COMMIT",
        "head.write",
        "head.sync",
        "synced",
    ]
    order.append("acknowledge")
    places = [passed.index(point) for point in order]
    assert places == sorted(places)
    assert passed[-1] == "acknowledge"
