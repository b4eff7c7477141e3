"""The place a store lies in: what file system it is on, and what its errors mean."""

from __future__ import annotations

import errno
import os
import re
from pathlib import Path

from ebbwell.journal.errors import DiskFull, NetworkFileSystem, RecordError, StoreReadOnly, StoreUnreachable

MOUNTS = Path("/proc/self/mountinfo")

NETWORK_TYPES = frozenset(
    {
        "nfs",
        "nfs4",
        "cifs",
        "smb",
        "smb2",
        "smb3",
        "smbfs",
        "9p",
        "afs",
        "ceph",
        "coda",
        "ncpfs",
        "ncp",
        "lustre",
    }
    | {"glusterfs", "gfs2", "ocfs2", "beegfs", "orangefs", "pvfs2", "davfs", "webdav", "sshfs", "curlftpfs"}
    | {
        "fuse." + name
        for name in ("sshfs", "glusterfs", "ceph", "davfs", "rclone", "s3fs", "curlftpfs", "smbnetfs")
    }
)
"""File systems whose locks and syncs reach over a network. From memory: the kernel's own type names."""

TRY = 1 << 18
"""Bytes written to try a disk: about one night of entries."""

LITTLE = 50 << 20
"""Bytes left on the disk below which that is told before the night. Own choice: months of nights."""

_OCTAL = re.compile(r"\\([0-7]{3})")


def _unescaped(field: str) -> str:
    return _OCTAL.sub(lambda match: chr(int(match[1], 8)), field)


def file_system_of(path: str, mountinfo: str) -> str:
    """Type of the file system that an absolute path lies on; "" when the text doesn't tell.

    mountinfo: the text of /proc/self/mountinfo; a later mount on the same point hides an earlier one.
    Source: proc_pid_mountinfo(5): mount point is the fifth field, the type follows the lone hyphen.
    """
    found, depth = "", -1
    for line in mountinfo.splitlines():
        before, _, after = line.partition(" - ")
        fields, tail = before.split(" "), after.split(" ")
        if len(fields) < 5 or not tail[0]:
            continue
        point = _unescaped(fields[4])
        stem = point.rstrip("/")
        if (path == stem or path.startswith(stem + "/")) and len(stem) >= depth:
            found, depth = tail[0], len(stem)
    return found


def refuse_network(path: Path) -> None:
    """Raises NetworkFileSystem when the folder of ``path`` lies on one."""
    if not MOUNTS.exists():
        return
    kind = file_system_of(str(path.parent.resolve()), MOUNTS.read_text(errors="surrogateescape"))
    if kind.lower() in NETWORK_TYPES:
        raise NetworkFileSystem("store.network", path=path, type=kind)


def no_space(path: Path) -> bool:
    """Whether the disk of ``path`` has no block left, as far as it can be asked."""
    try:
        return os.statvfs(path.parent).f_bavail == 0
    except OSError:
        return False


def disk_test(path: Path) -> str:
    """Try the disk that holds ``path``: write a night's worth beside it, sync it, take it away again.

    Gives the wording key of what was found: "" where the disk took it and has room for months.
    Source: practice:e (H45).
    """
    beside = path.with_name(f".{path.name}.trying")
    try:
        fd = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | os.O_CLOEXEC, 0o600)
        try:
            written = os.write(fd, bytes(TRY))
            os.fsync(fd)
        finally:
            os.close(fd)
            beside.unlink()
        room = os.statvfs(path.parent)
    except OSError:
        return "store.disk_refuses"
    if written < TRY:
        return "store.disk_refuses"
    return "store.little_room" if room.f_bavail * room.f_frsize < LITTLE else ""


def from_os_error(why: OSError, path: Path) -> RecordError:
    """The cause that an operating system error stands for."""
    if why.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
        return DiskFull("store.full", path=path)
    if why.errno in (errno.EROFS, errno.EACCES, errno.EPERM):
        return StoreReadOnly("store.read_only", path=path)
    return StoreUnreachable("store.unreachable", path=path, why=why.strerror or type(why).__name__)


def sync_folder(folder: Path) -> None:
    """Make a folder's list of names last a power cut."""
    fd = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(fd)
    finally:
        os.close(fd)
