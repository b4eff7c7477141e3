"""A store on a small disk of its own. Runs in a mount namespace of its own: ``unshare --mount``.

``python -m tests.faults.disk SCENARIO FOLDER``; ends with 0 when the scenario went as it must.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from ebbwell.core.ids import SeededIds
from ebbwell.journal.bundle import compare, export_bundle
from ebbwell.journal.errors import DiskFull, RecordError, StoreReadOnly, StoreVanished
from ebbwell.journal.kinds.marks import Tick
from ebbwell.journal.store.base import Store
from ebbwell.journal.store.sqlite import open_store
from tests.journal.making import draft, everything, fill


def mount(folder: Path, options: str) -> None:
    """Mount a small disk, or mount it anew with other options."""
    subprocess.run(["mount", "-t", "tmpfs", "-o", options, "none", str(folder)], check=True)


def expect(cause: type[RecordError], store: Store, ids: SeededIds, note: str = "") -> RecordError:
    """Append and be refused with that cause."""
    try:
        with store.write() as tx:
            tx.append(draft(ids, Tick(step="S1", note=note)))
    except cause as why:
        return why
    raise AssertionError(f"expected {cause.__name__}")


def full(folder: Path) -> None:
    """Fill the disk by appending; nothing acknowledged is lost, and room made is used again."""
    mount(folder, "size=1m")
    ballast = folder / "ballast"
    ballast.write_bytes(bytes(300_000))
    path, ids, told = folder / "record.db", SeededIds(2), []
    store = open_store(path, SeededIds(1))
    try:
        for minute in range(2000):
            with store.write() as tx:
                entry = tx.append(draft(ids, Tick(step="S1", note="x" * 1500), minute=minute))
            told.append(entry.id)
    except DiskFull as why:
        print("full after", len(told), why.key)
    assert 20 < len(told) < 2000
    expect(DiskFull, store, ids, "y" * 9000)
    assert [entry.id for entry in everything(store)] == told
    assert store.verify().holds
    store.close()
    store = open_store(path, SeededIds(3))
    assert "store.disk_refuses" in store.notes, store.notes
    assert not [*folder.glob("*.trying")], "the try leaves nothing behind"
    assert [entry.id for entry in everything(store)] == told
    expect(DiskFull, store, ids, "y" * 900_000)
    try:
        export_bundle(store, folder / "copy")
    except DiskFull:
        print("copy refused")
    else:
        raise AssertionError("a copy can't fit here")
    ballast.unlink()
    told += [entry.id for entry in fill(store, ids, 3)]
    assert [entry.id for entry in everything(store)] == told
    assert store.verify().holds
    store.close()


def full_at_start(folder: Path) -> None:
    """No store is begun on a full disk; once there is room it is."""
    mount(folder, "size=64k")
    (folder / "ballast").write_bytes(bytes(64 * 1024))
    try:
        open_store(folder / "record.db", SeededIds(1))
    except DiskFull:
        print("refused")
    else:
        raise AssertionError("expected DiskFull")
    (folder / "ballast").unlink()
    mount(folder, "remount,size=4m")
    store = open_store(folder / "record.db", SeededIds(1))
    assert len(fill(store, SeededIds(2), 2)) == 2
    store.close()


def read_only(folder: Path) -> None:
    """A disk that went read-only is named; the entries are there once it can be written again."""
    mount(folder, "size=4m")
    path = folder / "record.db"
    store = open_store(path, SeededIds(1))
    made = fill(store, SeededIds(2), 3)
    export_bundle(store, folder / "copy")
    store.close()
    mount(folder, "remount,ro,size=4m")
    try:
        open_store(path, SeededIds(3))
    except StoreReadOnly as why:
        print("refused", why.key)
    else:
        raise AssertionError("expected StoreReadOnly")
    mount(folder, "remount,rw,size=4m")
    store = open_store(path, SeededIds(3))
    assert everything(store) == made
    assert compare(store, folder / "copy").same
    store.close()


def pulled_out(folder: Path) -> None:
    """The disk is taken away under an open store; nothing is acknowledged into nowhere."""
    mount(folder, "size=4m")
    path, ids = folder / "record.db", SeededIds(2)
    store = open_store(path, SeededIds(1))
    fill(store, ids, 2)
    subprocess.run(["umount", "--lazy", str(folder)], check=True)
    print("refused", expect(StoreVanished, store, ids).key)
    assert not any(folder.iterdir())
    store.close()


if __name__ == "__main__":
    scenarios = {
        "full": full,
        "full_at_start": full_at_start,
        "read_only": read_only,
        "pulled_out": pulled_out,
    }
    scenarios[sys.argv[1]](Path(sys.argv[2]))
