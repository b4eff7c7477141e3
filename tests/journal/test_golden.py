"""The journal of format 1, written once and committed: it is read the same for good."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import pytest

from ebbwell.journal.bundle import export_bundle, import_bundle, read_bundle, read_manifest
from ebbwell.journal.kinds import Body, Unknown, known_kinds
from ebbwell.journal.kinds.house import Erased
from tests.journal import golden_v2, golden_v3, golden_v4
from tests.journal.golden_v1 import BODIES
from tests.journal.making import everything, opened, plain, seeded

GOLDEN = Path(__file__).parent / "golden/v1"
LATER = Path(__file__).parent / "golden/v2"
THIRD = Path(__file__).parent / "golden/v3"
NEWEST = Path(__file__).parent / "golden/v4"
WRITER = "018bcfe5-6800-7000-8000-000000000001"


@pytest.mark.source("regression pin", detail="head of golden/v1 as first written")
def test_the_head_of_format_1_stays() -> None:
    (chain,) = read_manifest(GOLDEN).chains
    assert (chain.writer, chain.entries) == (WRITER, 38)
    assert chain.head == "ac9cb5e36849fa5f7969a73b0e851f2b8790f1d0437615fb42d9c67535960642"


@pytest.mark.source(
    "arithmetic", detail="the design's formula by hashlib over the file's own text, first to last"
)
def test_the_head_follows_from_the_formula() -> None:
    (path,) = (GOLDEN / "segments").iterdir()
    lines = [json.loads(line) for line in path.read_text("utf-8").splitlines()]
    prev = hashlib.sha256(WRITER.encode()).digest()
    for line in lines:
        if "body" in line:
            inner = hashlib.sha256(bytes.fromhex(line["salt"]) + line["body"].encode()).digest()
            assert inner.hex() == line["digest"]
        envelope = line["envelope"].encode()
        inner = bytes.fromhex(line["digest"])
        prev = hashlib.sha256(prev + len(envelope).to_bytes(8, "big") + envelope + inner).digest()
        assert line["hash"] == prev.hex()
    assert prev.hex() == read_manifest(GOLDEN).chains[0].head
    assert sum("body" not in line for line in lines) == 1


def test_every_body_of_format_1_is_read_as_it_was_meant() -> None:
    entries = list(read_bundle(GOLDEN))
    assert [entry.body for entry in entries[:13]] == list(BODIES[:13])
    assert entries[13].body == Unknown(raw=None)
    assert [entry.body for entry in entries[14:37]] == list(BODIES[14:])
    assert entries[37].body == Erased(of=entries[13].id, ground="asked by the person", authority="p1")
    assert {entry.envelope.kind for entry in entries} <= set(known_kinds())


def test_format_1_goes_through_a_store_and_comes_out_the_same(tmp_path: Path) -> None:
    with opened(plain(tmp_path, seeded())) as store:
        import_bundle(GOLDEN, store)
        assert store.verify().holds
        assert len(everything(store)) == 38
        export_bundle(store, tmp_path / "out")
    for path in GOLDEN.rglob("*.json*"):
        assert (tmp_path / "out" / path.relative_to(GOLDEN)).read_bytes() == path.read_bytes()


@pytest.mark.source("regression pin", detail="heads of golden/v2 to v4 as first written")
@pytest.mark.parametrize(
    ("later", "bodies", "head"),
    [
        (LATER, golden_v2.BODIES, "546c55d3be05be67d4a2599d450a50383e1de9c6f9db079bdb03488a571b9a61"),
        (THIRD, golden_v3.BODIES, "e1eb2d6aada83b6fedd77c8b6c9e687c10418a349b64b47eed121203fcc40ee3"),
        (NEWEST, golden_v4.BODIES, "fc413a0163e6867d9631618475428a31a4ca5e7b812619bb1dbd64348d7da7dc"),
    ],
)
def test_what_came_later_stays_and_is_read_as_it_was_meant(
    later: Path, bodies: tuple[Body, ...], head: str
) -> None:
    (chain,) = read_manifest(later).chains
    assert (chain.entries, chain.head) == (len(bodies), head)
    assert [entry.body for entry in read_bundle(later)] == list(bodies)


def test_the_journals_hold_every_kind() -> None:
    held = {entry.envelope.kind for path in (GOLDEN, LATER, THIRD, NEWEST) for entry in read_bundle(path)}
    assert held == set(known_kinds())
