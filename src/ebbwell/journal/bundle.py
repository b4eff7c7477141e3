"""One format for backup, export, restore and exchange: JSON Lines segments and a manifest in a folder.

A segment holds the entries of one chain with seq in a fixed range, so that full segments don't change as the
record grows. Envelope and body stand in a line as the very text that was stored and hashed; the same entries
always give the same bytes. The manifest holds counts, heads and each segment's SHA-256.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import msgspec

from ebbwell.journal.bundle_files import (
    MANIFEST,
    SEGMENTS,
    Chain,
    Manifest,
    Segment,
    file_bytes,
    manifest_bytes,
    parse_manifest,
    put_file,
    remove_others,
)
from ebbwell.journal.bundle_lines import decode_line, encode_line
from ebbwell.journal.chain import Proof
from ebbwell.journal.envelope import Entry
from ebbwell.journal.errors import (
    BundleAhead,
    BundleChanged,
    BundleCutShort,
    BundleDiffers,
    IdClash,
    RecordNotFound,
    StoreNotEmpty,
)
from ebbwell.journal.store.base import Store, same

PER_SEGMENT = 5000
"""Places of a chain that one segment covers."""


@dataclass(frozen=True, slots=True)
class Counted:
    """What a restore brought in, counted again from the store: entries and chains."""

    entries: int
    chains: int


@dataclass(frozen=True, slots=True)
class Compared:
    """A store beside a bundle: entries equal in both, only in one, and different under the same id."""

    equal: int
    only_store: int
    only_bundle: int
    different: int
    heads_agree: bool

    @property
    def same(self) -> bool:
        """Whether store and bundle hold exactly the same."""
        return self.heads_agree and not (self.only_store or self.only_bundle or self.different)


def _portions(store: Store, per_segment: int) -> Iterator[tuple[str, int, list[Entry]]]:
    for writer, last in store.reach().items():
        for first in range(1, last + 1, per_segment):
            entries = store.of_chain(writer, first, first + per_segment - 1)
            if entries:
                yield writer, first, entries


def read_manifest(folder: Path) -> Manifest:
    """The manifest of a bundle. Raises RecordNotFound, BundleChanged, NewerFormat."""
    path = folder / MANIFEST
    if not path.is_file():
        raise RecordNotFound("bundle.not_found", folder=folder)
    return parse_manifest(file_bytes(path), folder)


def export_bundle(store: Store, folder: Path, *, per_segment: int = PER_SEGMENT) -> Manifest:
    """Write all entries of a store into a folder, made if missing. Segments that don't change are left.

    per_segment: places of a chain that one segment covers; keep it the same for the same folder.
    A segment's name holds the start of its SHA-256, so that new ones lie beside the old until the manifest,
    which comes last, is swapped in: whatever stops an export, the old bundle or the new one is whole.
    Raises BundleAhead when the folder's bundle holds entries that this store lacks; DiskFull, StoreReadOnly,
    StoreUnreachable, StoreDamaged.
    """
    old = read_manifest(folder) if (folder / MANIFEST).is_file() else None
    with store.reading():
        heads = store.heads()
        if old is not None:
            _refuse_loss(store, old, folder)
        segments: list[Segment] = []
        for writer, first, entries in _portions(store, per_segment):
            data = b"".join(map(encode_line, entries))
            digest = hashlib.sha256(data).hexdigest()
            name = f"{SEGMENTS}/{writer}-{first:09d}-{digest[:16]}.jsonl"
            segment = Segment(name=name, entries=len(entries), sha256=digest)
            put_file(folder, segment.name, data)
            segments.append(segment)
    manifest = Manifest(
        entries=sum(segment.entries for segment in segments),
        chains=tuple(Chain(writer=w, entries=count, head=head.hex()) for w, (count, head) in heads.items()),
        segments=tuple(segments),
    )
    put_file(folder, MANIFEST, manifest_bytes(manifest))
    remove_others(folder, {segment.name for segment in segments})
    return manifest


def _refuse_loss(store: Store, old: Manifest, folder: Path) -> None:
    heads = store.heads()
    reach = store.reach()
    for chain in old.chains:
        count = heads.get(chain.writer, (0, b""))[0]
        end = reach.get(chain.writer, 0)
        wanted = bytes.fromhex(chain.head)
        near = store.of_chain(chain.writer, min(chain.entries, end), end)
        if count < chain.entries or not any(entry.hash == wanted for entry in near):
            raise BundleAhead("bundle.ahead", folder=folder, bundle=chain.entries, store=count)


def read_bundle(folder: Path) -> Iterator[Entry]:
    """All entries of a bundle, each proven; segments, counts and heads are compared with the manifest.

    Raises RecordNotFound, NewerFormat, BundleCutShort, BundleChanged, BundleDiffers.
    """
    manifest = read_manifest(folder)
    proof = Proof()
    for segment in manifest.segments:
        for entry in _read_segment(folder, segment):
            proof.take(entry)
            yield entry
    _judge(manifest, proof, folder)


def _read_segment(folder: Path, segment: Segment) -> Iterator[Entry]:
    path = folder / segment.name
    if not path.is_file():
        raise BundleCutShort("bundle.segment_gone", folder=folder, segment=segment.name)
    data = file_bytes(path)
    if hashlib.sha256(data).hexdigest() != segment.sha256:
        whole = data.count(b"\n")
        if whole < segment.entries:
            raise BundleCutShort(
                "bundle.cut_short", folder=folder, segment=segment.name, gone=segment.entries - whole
            )
        raise BundleChanged("bundle.changed", folder=folder, file=segment.name)
    lines = data.split(b"\n")
    if lines.pop() or len(lines) != segment.entries:
        raise BundleDiffers("bundle.count_differs", folder=folder, told=segment.entries, found=len(lines))
    for line in lines:
        try:
            entry = decode_line(line)
        except (msgspec.MsgspecError, ValueError) as why:
            raise BundleChanged("bundle.changed", folder=folder, file=segment.name) from why
        if not entry.proven():
            raise BundleChanged("bundle.changed", folder=folder, file=segment.name)
        yield entry


def _judge(manifest: Manifest, proof: Proof, folder: Path) -> None:
    told = {chain.writer: (chain.entries, bytes.fromhex(chain.head)) for chain in manifest.chains}
    found = proof.heads()
    for writer, (count, head) in told.items():
        there, newest = found.get(writer, (0, b""))
        if there < count:
            raise BundleCutShort("bundle.tail_gone", folder=folder, gone=count - there)
        if there > count or newest != head:
            raise BundleDiffers("bundle.head_differs", folder=folder, told=count, found=there)
    if manifest.entries != proof.entries or set(found) != set(told):
        raise BundleDiffers("bundle.count_differs", folder=folder, told=manifest.entries, found=proof.entries)


def import_bundle(folder: Path, store: Store) -> Counted:
    """Restore a bundle into an empty store, in one transaction, then compare the store with the bundle.

    Raises StoreNotEmpty, IdClash, what ``read_bundle`` raises, BundleDiffers when the comparison fails.
    """
    with store.write() as tx:
        if next(iter(tx.after(0)), None) is not None:
            raise StoreNotEmpty("bundle.store_not_empty", folder=folder)
        taken = tx.take_in(read_bundle(folder))
        if taken.refused:
            ids = ", ".join(id_ for id_, _ in taken.refused[:5])
            raise IdClash("bundle.clash", folder=folder, ids=ids, count=len(taken.refused))
        if taken.held:
            raise BundleDiffers("bundle.twice", folder=folder, count=taken.held)
    compared = compare(store, folder)
    if not compared.same:
        told = read_manifest(folder).entries
        raise BundleDiffers("bundle.count_differs", folder=folder, told=told, found=store.count())
    return Counted(entries=store.count(), chains=len(store.heads()))


def compare(store: Store, folder: Path) -> Compared:
    """Every entry of a store beside every entry of a bundle. A body erased in one of them differs.

    Raises what ``read_bundle`` raises, StoreDamaged.
    """
    manifest = read_manifest(folder)
    equal = only_bundle = different = 0
    with store.reading():
        for entry in read_bundle(folder):
            held = store.held(entry.id)
            if held is None:
                only_bundle += 1
            elif same(held, entry) and (held.salt, held.body_bytes) == (entry.salt, entry.body_bytes):
                equal += 1
            else:
                different += 1
        told = {chain.writer: (chain.entries, bytes.fromhex(chain.head)) for chain in manifest.chains}
        return Compared(
            equal=equal,
            only_store=store.count() - equal - different,
            only_bundle=only_bundle,
            different=different,
            heads_agree=told == store.heads(),
        )
