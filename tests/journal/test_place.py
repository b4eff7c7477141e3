"""The place of a store: file systems by the kernel's own list, and errors by their cause."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import pytest

from ebbwell.journal.errors import DiskFull, NetworkFileSystem, RecordError, StoreReadOnly, StoreUnreachable
from ebbwell.journal.store import place
from ebbwell.journal.store.place import file_system_of, from_os_error
from ebbwell.journal.store.sqlite import open_store
from tests.journal.making import seeded

MOUNTINFO = r"""22 1 254:0 / / rw,relatime shared:1 - ext4 /dev/vda rw
23 22 0:21 / /proc rw,nosuid - proc proc rw
40 22 0:35 / /home rw,relatime shared:9 master:2 - btrfs /dev/sdb rw,subvol=/
41 40 0:40 / /home/al/share rw,relatime - cifs //box/share rw,vers=3.0
42 40 0:41 / /home/al/my\040notes rw - nfs4 box:/notes rw
43 22 0:42 / /mnt/two rw - 9p host rw
44 22 0:43 / /mnt/two rw - ext4 /dev/sdc rw
45 22 0:44 / /mnt/ssh rw - fuse.sshfs al@box: rw
"""


@pytest.mark.source(
    "from memory", detail="proc_pid_mountinfo(5): field order, octal escapes, the lone hyphen"
)
@pytest.mark.parametrize(
    ("path", "kind"),
    [
        ("/srv/record", "ext4"),
        ("/", "ext4"),
        ("/home/al", "btrfs"),
        ("/home/al/share", "cifs"),
        ("/home/al/share/deep/er", "cifs"),
        ("/home/al/shared", "btrfs"),
        ("/home/al/my notes", "nfs4"),
        ("/mnt/two/x", "ext4"),
        ("/mnt/ssh/x", "fuse.sshfs"),
    ],
)
def test_the_innermost_and_last_mount_counts(path: str, kind: str) -> None:
    assert file_system_of(path, MOUNTINFO) == kind


def test_text_without_mounts_tells_nothing() -> None:
    assert file_system_of("/home", "") == ""
    assert file_system_of("/home", "nonsense\n1 2 - \n") == ""


@pytest.mark.parametrize("kind", ["nfs", "nfs4", "cifs", "smb3", "9p", "fuse.sshfs"])
def test_a_network_drive_is_refused_before_anything_is_written(
    kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    mounts = tmp_path / "mountinfo"
    mounts.write_text(f"1 1 0:1 / / rw - ext4 /dev/vda rw\n2 1 0:2 / {tmp_path}/net rw - {kind} box rw\n")
    monkeypatch.setattr(place, "MOUNTS", mounts)
    (tmp_path / "net").mkdir()
    with pytest.raises(NetworkFileSystem) as caught:
        open_store(tmp_path / "net" / "record.db", seeded())
    assert caught.value.params["type"] == kind
    assert list((tmp_path / "net").iterdir()) == []
    open_store(tmp_path / "record.db", seeded()).close()


@pytest.mark.parametrize(
    ("number", "cause"),
    [
        (errno.ENOSPC, DiskFull),
        (errno.EDQUOT, DiskFull),
        (errno.EROFS, StoreReadOnly),
        (errno.EACCES, StoreReadOnly),
        (errno.EPERM, StoreReadOnly),
        (errno.EIO, StoreUnreachable),
        (errno.ENODEV, StoreUnreachable),
    ],
)
@pytest.mark.source("from memory", detail="errno(3)")
def test_errors_of_the_machine_by_cause(number: int, cause: type[RecordError]) -> None:
    assert type(from_os_error(OSError(number, "said"), Path("/x"))) is cause


def _full(write: Callable[[int, bytes], int], after: int) -> Callable[[int, bytes], int]:
    def take(fd: int, data: bytes) -> int:
        if len(data) < place.TRY:
            return write(fd, data)
        if not after:
            raise OSError(errno.ENOSPC, "put in by the test")
        return write(fd, data[:after])

    return take


@pytest.mark.hazard("H45")
@pytest.mark.source("practice:e", detail="H45: a disk test at the start")
@pytest.mark.parametrize("after", [0, 4096])
def test_a_disk_that_takes_no_more_is_told_when_the_record_is_opened_and_can_be_read(
    after: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "record.db"
    open_store(path, seeded()).close()
    monkeypatch.setattr(os, "write", _full(os.write, after))
    store = open_store(path, seeded(2))
    assert store.notes == ("store.disk_refuses",)
    assert store.count() == 0
    assert not [*tmp_path.glob("*.trying")]
    store.close()


@pytest.mark.parametrize(("blocks", "said"), [(12_800, ""), (12_799, "store.little_room")])
def test_little_room_is_told_before_the_night(
    blocks: int, said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """50 MiB are 12,800 blocks of 4 KiB."""
    monkeypatch.setattr(os, "statvfs", lambda _: SimpleNamespace(f_bavail=blocks, f_frsize=4096))
    assert place.disk_test(tmp_path / "record.db") == said
    assert not any(tmp_path.iterdir())
