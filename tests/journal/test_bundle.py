"""Bundles: lossless, byte-stable, counted, compared; each way they can be spoilt is named."""

from __future__ import annotations

import hashlib
import json
import random
import shutil
from collections.abc import Callable, Iterable
from pathlib import Path

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.journal.bundle import compare, export_bundle, import_bundle, read_bundle, read_manifest
from ebbwell.journal.bundle_lines import decode_line, encode_line
from ebbwell.journal.envelope import (
    Entry,
    body_digest,
    chain_hash,
    decode_envelope,
    encode_envelope,
    first_prev,
)
from ebbwell.journal.errors import (
    BundleAhead,
    BundleChanged,
    BundleCutShort,
    BundleDiffers,
    IdClash,
    NewerFormat,
    RecordError,
    RecordNotFound,
    StoreNotEmpty,
)
from ebbwell.journal.store.base import Store, Taken
from ebbwell.journal.store.memory import MemoryStore, _MemoryTransaction
from tests.journal.making import draft, erasing, everything, fill, locked, memory, opened, plain, seeded


def two_chains(count: int = 12) -> MemoryStore:
    """A store with an own chain, a foreign one, and an erased body."""
    ids = seeded()
    store = MemoryStore(ids)
    other = MemoryStore(seeded(8))
    made = fill(store, ids, count)
    with store.write() as tx:
        tx.take_in(fill(other, seeded(9), 5))
        tx.erase(made[2].id, erasing(ids, made[2].id))
    return store


def files(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "copy"


@pytest.fixture
def bundle(folder: Path) -> Path:
    export_bundle(two_chains(), folder, per_segment=5)
    return folder


def segment(bundle: Path, index: int = -1) -> Path:
    return bundle / read_manifest(bundle).segments[index].name


def rewritten(bundle: Path, change: Callable[[dict[str, object]], None]) -> None:
    """Change the manifest as JSON."""
    path = bundle / "manifest.json"
    told = json.loads(path.read_bytes())
    change(told)
    path.write_text(json.dumps(told))


def resealed(bundle: Path, index: int, data: bytes, entries: int) -> None:
    """Put other bytes into a segment and make the manifest's sums agree with them."""
    segment(bundle, index).write_bytes(data)

    def change(told: dict[str, object]) -> None:
        told["segments"][index] |= {"sha256": hashlib.sha256(data).hexdigest(), "entries": entries}  # type: ignore[index]

    rewritten(bundle, change)


@pytest.mark.parametrize("made", [memory, plain, locked])
def test_restored_is_the_same_and_exports_the_same_bytes(
    made: Callable[[Path, object], Store], bundle: Path, tmp_path: Path
) -> None:
    original = two_chains()
    with opened(made(tmp_path, seeded(30))) as store:
        counted = import_bundle(bundle, store)
        assert (counted.entries, counted.chains) == (original.count(), 2)
        assert store.heads() == original.heads()
        wanted = {
            e.id: (e.envelope_bytes, e.body_bytes, e.salt, e.hash, e.writer, e.seq)
            for e in everything(original)
        }
        got = {
            e.id: (e.envelope_bytes, e.body_bytes, e.salt, e.hash, e.writer, e.seq) for e in everything(store)
        }
        assert got == wanted
        assert store.verify().holds
        export_bundle(store, tmp_path / "again", per_segment=5)
        assert files(tmp_path / "again") == files(bundle)
        assert compare(store, bundle).same


def test_counts_and_heads_stand_in_the_manifest(bundle: Path) -> None:
    store = two_chains()
    manifest = read_manifest(bundle)
    assert manifest.entries == store.count() == 18
    assert {c.writer: (c.entries, c.head) for c in manifest.chains} == {
        writer: (count, head.hex()) for writer, (count, head) in store.heads().items()
    }
    assert sorted(s.entries for s in manifest.segments) == [3, 5, 5, 5]
    for part in manifest.segments:
        assert hashlib.sha256((bundle / part.name).read_bytes()).hexdigest() == part.sha256


def test_full_segments_are_left_alone_as_the_record_grows(folder: Path) -> None:
    ids = seeded()
    store = MemoryStore(ids)
    fill(store, ids, 13)
    export_bundle(store, folder, per_segment=5)
    full = [folder / s.name for s in read_manifest(folder).segments if s.entries == 5]
    before = {path: path.stat().st_mtime_ns for path in full}
    assert len(before) == 2
    fill(store, ids, 4)
    export_bundle(store, folder, per_segment=5)
    assert {path: path.stat().st_mtime_ns for path in full} == before
    assert len(list((folder / "segments").iterdir())) == 4
    assert compare(store, folder).same


def test_an_export_cut_off_leaves_the_old_bundle_whole(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    ids = seeded()
    store = MemoryStore(ids)
    earlier = fill(store, ids, 7)
    export_bundle(store, folder, per_segment=5)
    fill(store, ids, 6)

    def cut(manifest: object) -> bytes:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr("ebbwell.journal.bundle.manifest_bytes", cut)
        with pytest.raises(KeyboardInterrupt):
            export_bundle(store, folder, per_segment=5)
    assert [e.id for e in read_bundle(folder)] == [e.id for e in earlier]
    export_bundle(store, folder, per_segment=5)
    assert compare(store, folder).same
    assert len(list((folder / "segments").iterdir())) == 3


def test_erased_words_leave_the_copy_at_the_next_export(folder: Path) -> None:
    ids = seeded()
    store = MemoryStore(ids)
    made = fill(store, ids, 7)
    export_bundle(store, folder)
    words = b"minute 4"
    assert any(words in data for data in files(folder).values())
    with store.write() as tx:
        tx.erase(made[4].id, erasing(ids, made[4].id))
    assert compare(store, folder).different == 1
    export_bundle(store, folder)
    assert not any(words in data for data in files(folder).values())


def test_a_fuller_copy_is_not_overwritten(folder: Path) -> None:
    ids = seeded()
    store = MemoryStore(ids)
    fill(store, ids, 4)
    short = store.fork()
    fill(store, ids, 3)
    export_bundle(store, folder)
    before = files(folder)
    other = MemoryStore(seeded(5))
    fill(other, seeded(6), 20)
    forked = short.fork()
    fill(forked, seeded(7), 9)
    for lacking in (short, other, forked):
        with pytest.raises(BundleAhead):
            export_bundle(lacking, folder)
    assert files(folder) == before


def test_only_an_empty_store_takes_a_bundle(bundle: Path, tmp_path: Path) -> None:
    with opened(plain(tmp_path, seeded(3))) as store:
        made = fill(store, seeded(4), 1)
        with pytest.raises(StoreNotEmpty):
            import_bundle(bundle, store)
        assert everything(store) == made


def test_compare_counts_what_differs(bundle: Path) -> None:
    store = two_chains()
    assert compare(store, bundle).equal == 18
    extra = store.fork()
    fill(extra, seeded(40), 2)
    told = compare(extra, bundle)
    assert (told.equal, told.only_store, told.only_bundle, told.different) == (18, 2, 0, 0)
    assert not told.same
    told = compare(MemoryStore(seeded(41)), bundle)
    assert (told.equal, told.only_store, told.only_bundle) == (0, 0, 18)


def spoil_cut_line(bundle: Path) -> None:
    path = segment(bundle)
    path.write_bytes(b"".join(path.read_bytes().splitlines(keepends=True)[:-1]))


def spoil_cut_bytes(bundle: Path) -> None:
    path = segment(bundle)
    path.write_bytes(path.read_bytes()[:-9])


def spoil_gone(bundle: Path) -> None:
    segment(bundle).unlink()


def spoil_tail_with_sums(bundle: Path) -> None:
    lines = segment(bundle).read_bytes().splitlines(keepends=True)
    resealed(bundle, -1, b"".join(lines[:-1]), len(lines) - 1)


def spoil_last_segment_unlisted(bundle: Path) -> None:
    rewritten(bundle, lambda told: told["segments"].pop())  # type: ignore[attr-defined]


def spoil_byte(bundle: Path) -> None:
    data = bytearray(segment(bundle, 0).read_bytes())
    data[200] ^= 1
    segment(bundle, 0).write_bytes(data)


def spoil_byte_with_sums(bundle: Path) -> None:
    data = segment(bundle, 0).read_bytes().replace(b"minute 1", b"minute 9")
    resealed(bundle, 0, data, 5)


def spoil_no_json(bundle: Path) -> None:
    resealed(bundle, 0, b"\xff\n" * 5, 5)


def spoil_manifest(bundle: Path) -> None:
    (bundle / "manifest.json").write_bytes(b"{")


def spoil_path(bundle: Path) -> None:
    rewritten(bundle, lambda told: told["segments"][0].update(name="segments/../../x.jsonl"))  # type: ignore[index]


def spoil_head(bundle: Path) -> None:
    rewritten(bundle, lambda told: told["chains"][0].update(head="00" * 32))  # type: ignore[index]


def spoil_total(bundle: Path) -> None:
    rewritten(bundle, lambda told: told.update(entries=17))


def spoil_segment_count(bundle: Path) -> None:
    rewritten(bundle, lambda told: told["segments"][0].update(entries=4))  # type: ignore[index]


def spoil_newer(bundle: Path) -> None:
    rewritten(bundle, lambda told: told.update(format=2, shape="round"))


def spoil_no_manifest(bundle: Path) -> None:
    (bundle / "manifest.json").unlink()


@pytest.mark.parametrize(
    ("spoil", "cause"),
    [
        (spoil_cut_line, BundleCutShort),
        (spoil_cut_bytes, BundleCutShort),
        (spoil_gone, BundleCutShort),
        (spoil_tail_with_sums, BundleCutShort),
        (spoil_last_segment_unlisted, BundleCutShort),
        (spoil_byte, BundleChanged),
        (spoil_byte_with_sums, BundleChanged),
        (spoil_no_json, BundleChanged),
        (spoil_manifest, BundleChanged),
        (spoil_path, BundleChanged),
        (spoil_head, BundleDiffers),
        (spoil_total, BundleDiffers),
        (spoil_segment_count, BundleDiffers),
        (spoil_newer, NewerFormat),
        (spoil_no_manifest, RecordNotFound),
    ],
)
def test_a_spoilt_bundle_is_named_and_nothing_of_it_restored(
    spoil: Callable[[Path], None], cause: type[RecordError], bundle: Path, tmp_path: Path
) -> None:
    spoil(bundle)
    with pytest.raises(cause):
        list(read_bundle(bundle))
    with opened(plain(tmp_path, seeded(3))) as store:
        with pytest.raises(cause):
            import_bundle(bundle, store)
        assert store.count() == 0
        assert store.verify().holds


def test_every_flipped_byte_of_a_bundle_is_found(bundle: Path) -> None:
    dice = random.Random(20)
    original = files(bundle)
    wanted = [encode_line(entry) for entry in read_bundle(bundle)]
    found = 0
    for _ in range(200):
        name = dice.choice(sorted(original))
        data = bytearray(original[name])
        data[dice.randrange(len(data))] ^= 1 << dice.randrange(8)
        (bundle / name).write_bytes(data)
        try:
            got = [encode_line(entry) for entry in read_bundle(bundle)]
        except RecordError:
            found += 1
        else:
            assert got == wanted
        (bundle / name).write_bytes(original[name])
    assert found >= 195


def test_a_restore_is_compared_with_the_bundle(bundle: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    honest = _MemoryTransaction.take_in

    def careless(tx: _MemoryTransaction, entries: Iterable[Entry]) -> Taken:
        every = list(entries)
        honest(tx, every[:-1])
        return Taken(len(every), 0)

    monkeypatch.setattr(_MemoryTransaction, "take_in", careless)
    with pytest.raises(BundleDiffers):
        import_bundle(bundle, MemoryStore(seeded(3)))


def test_two_entries_of_one_id_in_a_bundle_are_not_restored(tmp_path: Path, folder: Path) -> None:
    ids = seeded()
    left, right = MemoryStore(seeded(2)), MemoryStore(seeded(3))
    made = fill(left, ids, 1)[0]
    with right.write() as tx:
        tx.append(draft(ids, id=made.id, minute=9))
    export_bundle(left, folder)
    export_bundle(right, tmp_path / "right")
    part = segment(tmp_path / "right")
    shutil.copyfile(part, folder / "segments" / part.name)
    theirs = json.loads((tmp_path / "right/manifest.json").read_bytes())

    def change(told: dict[str, object]) -> None:
        told["entries"] = 2
        told["chains"] += theirs["chains"]  # type: ignore[operator]
        told["segments"] += theirs["segments"]  # type: ignore[operator]

    rewritten(folder, change)
    with opened(plain(tmp_path, seeded(4))) as store:
        with pytest.raises(IdClash):
            import_bundle(folder, store)
        assert store.count() == 0


@given(body=st.binary(max_size=200), salt=st.binary(min_size=16, max_size=16), erased=st.booleans())
def test_a_line_gives_back_every_byte(body: bytes, salt: bytes, erased: bool) -> None:
    made = draft(seeded())
    data = encode_envelope(made.envelope)
    digest = body_digest(salt, body)
    entry = entry_of(data, None if erased else body, None if erased else salt, digest)
    line = encode_line(entry)
    assert line.count(b"\n") == 1
    assert decode_line(line) == entry
    assert encode_line(decode_line(line)) == line


def entry_of(data: bytes, body: bytes | None, salt: bytes | None, digest: bytes) -> Entry:
    prev = first_prev("w")
    return Entry(
        decode_envelope(data), data, body, salt, digest, "w", 1, prev, chain_hash(prev, data, digest)
    )


@pytest.mark.parametrize(
    "line", [b"{}", b"[]", b'{"writer":"w","seq":1,"prev":"","hash":"","digest":""}', b"\x00"]
)
def test_what_is_no_line_is_refused(line: bytes) -> None:
    with pytest.raises((msgspec.MsgspecError, ValueError)):
        decode_line(line)
