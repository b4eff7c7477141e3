"""The place of a store: file systems by the kernel's own list, and errors by their cause."""

from __future__ import annotations

import errno
from pathlib import Path

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
