"""A bundle's manifest and how its files are put in place."""

from __future__ import annotations

import os
import re
from pathlib import Path

import msgspec

from ebbwell.journal.errors import BundleChanged, NewerFormat
from ebbwell.journal.store.place import from_os_error, sync_folder

MANIFEST = "manifest.json"
SEGMENTS = "segments"
FORMAT = 1

_NAME = re.compile(SEGMENTS + r"/[0-9A-Za-z-]{1,80}\.jsonl")
_HASH = re.compile(r"[0-9a-f]{64}")


class Chain(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A chain: id of its writer, how many of its entries are in the bundle, hash of the newest (hex)."""

    writer: str
    entries: int
    head: str


class Segment(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A segment: file name within the bundle, how many entries, SHA-256 of the file (hex)."""

    name: str
    entries: int
    sha256: str


class Manifest(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What a bundle holds. format: version of this layout. entries: of all chains together."""

    format: int = FORMAT
    entries: int
    chains: tuple[Chain, ...]
    segments: tuple[Segment, ...]


_decoder = msgspec.json.Decoder(Manifest)


def manifest_bytes(manifest: Manifest) -> bytes:
    """The manifest as written."""
    return msgspec.json.format(msgspec.json.encode(manifest), indent=1) + b"\n"


def parse_manifest(data: bytes, folder: Path) -> Manifest:
    """The manifest in a file's bytes. Raises NewerFormat, BundleChanged."""
    try:
        told = msgspec.json.decode(data)
        if isinstance(told, dict) and isinstance(told.get("format"), int) and told["format"] > FORMAT:
            raise NewerFormat("bundle.newer", folder=folder, format=told["format"], known=FORMAT)
        manifest = _decoder.decode(data)
    except (msgspec.MsgspecError, UnicodeDecodeError) as why:
        raise BundleChanged("bundle.changed", folder=folder, file=MANIFEST) from why
    names = [segment.name for segment in manifest.segments]
    hashes = [chain.head for chain in manifest.chains] + [segment.sha256 for segment in manifest.segments]
    named = len(set(names)) == len(names) and all(map(_NAME.fullmatch, names))
    writers = {chain.writer for chain in manifest.chains}
    if not named or len(writers) != len(manifest.chains) or not all(map(_HASH.fullmatch, hashes)):
        raise BundleChanged("bundle.changed", folder=folder, file=MANIFEST)
    return manifest


def file_bytes(path: Path) -> bytes:
    """All bytes of a file. Raises StoreReadOnly (no right to read), StoreUnreachable."""
    try:
        return path.read_bytes()
    except OSError as why:
        raise from_os_error(why, path) from why


def put_file(folder: Path, name: str, data: bytes) -> bool:
    """Bring a file to ``data``: written beside it, synced, swapped in. False where it holds that already.

    Raises DiskFull, StoreReadOnly, StoreUnreachable.
    """
    path = folder / name
    try:
        if path.is_file() and path.stat().st_size == len(data) and path.read_bytes() == data:
            return False
        path.parent.mkdir(parents=True, exist_ok=True)
        beside = path.with_name(path.name + ".part")
        fd = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | os.O_CLOEXEC, 0o600)
        with os.fdopen(fd, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(path)
        sync_folder(path.parent)
    except OSError as why:
        raise from_os_error(why, path) from why
    return True


def remove_others(folder: Path, keep: set[str]) -> None:
    """Remove segments that the manifest doesn't name, such as one left half written."""
    place = folder / SEGMENTS
    if not place.is_dir():
        return
    try:
        for path in place.iterdir():
            if f"{SEGMENTS}/{path.name}" not in keep and path.name.endswith((".jsonl", ".part")):
                path.unlink()
    except OSError as why:
        raise from_os_error(why, folder) from why
