"""The proof names each thing that isn't as written, and nothing else."""

from __future__ import annotations

import hashlib
from dataclasses import replace

import pytest

from ebbwell.journal.chain import Proof, Verdict
from ebbwell.journal.envelope import Entry, encode_envelope, first_prev, seal
from ebbwell.journal.kinds import encode_body
from ebbwell.journal.kinds.house import Erased
from ebbwell.journal.store.memory import MemoryStore
from tests.journal.making import draft, erasing, everything, fill, seeded


@pytest.fixture
def chain() -> list[Entry]:
    return fill(MemoryStore(seeded()), seeded(2), 5)


def judged(entries: list[Entry]) -> Verdict:
    proof = Proof()
    for entry in entries:
        proof.take(entry)
    return proof.verdict()


def keys(entries: list[Entry]) -> list[tuple[str, int]]:
    return [(flaw.key, flaw.row) for flaw in judged(entries).flaws]


@pytest.mark.source(
    "arithmetic", detail="SHA-256(prev | length | envelope | SHA-256(salt | body)), written out"
)
def test_the_hash_is_the_formula_of_the_design(chain: list[Entry]) -> None:
    first, second = chain[:2]
    inner = hashlib.sha256(first.salt + first.body_bytes).digest()  # type: ignore[operator]
    data = first.envelope_bytes
    start = hashlib.sha256(first.writer.encode("ascii")).digest()
    length = bytes([0, 0, 0, 0, 0, 0, len(data) // 256, len(data) % 256])
    assert first.hash == hashlib.sha256(start + length + data + inner).digest()
    assert second.prev == first.hash


def test_a_whole_chain_holds_in_any_order(chain: list[Entry]) -> None:
    verdict = judged(chain[::-1])
    assert verdict.holds
    assert verdict.entries == 5
    assert verdict.chains == {chain[0].writer: (5, chain[-1].hash)}


def test_each_changed_part_is_named(chain: list[Entry]) -> None:
    target = chain[2]
    assert target.body_bytes is not None
    for changed in (
        replace(target, body_bytes=target.body_bytes + b" "),
        replace(target, salt=bytes(16)),
        replace(target, digest=bytes(32)),
        replace(target, envelope_bytes=target.envelope_bytes + b" "),
    ):
        assert keys([*chain[:2], changed, *chain[3:]]) == [("flaw.changed", 3)]


def test_a_changed_hash_is_named_with_the_entry_that_followed(chain: list[Entry]) -> None:
    changed = replace(chain[2], hash=bytes(32))
    assert keys([*chain[:2], changed, *chain[3:]]) == [("flaw.changed", 3), ("flaw.not_joined", 4)]


def test_a_missing_entry_is_named(chain: list[Entry]) -> None:
    assert keys([*chain[:2], *chain[3:]]) == [("flaw.not_joined", 4), ("flaw.rows_gone", 0)]
    assert keys(chain[1:]) == [("flaw.not_joined", 2), ("flaw.rows_gone", 0)]


def test_an_entry_moved_to_another_place_or_chain_is_named(chain: list[Entry]) -> None:
    assert ("flaw.not_joined", 5) in keys([*chain[:4], replace(chain[4], seq=4)])
    assert ("flaw.not_joined", 5) in keys([*chain[:4], replace(chain[4], writer="w2")])
    assert ("flaw.not_joined", 1) in keys([replace(chain[0], writer="w2"), *chain[1:]])


def test_a_body_gone_without_an_erasure_is_named(chain: list[Entry]) -> None:
    bare = replace(chain[1], body_bytes=None, salt=None)
    assert keys([chain[0], bare, *chain[2:]]) == [("flaw.body_gone", 2)]
    half = replace(chain[1], salt=None)
    assert keys([chain[0], half, *chain[2:]]) == [("flaw.half_erased", 2)]


def test_a_lawful_erasure_is_no_flaw() -> None:
    ids = seeded()
    store = MemoryStore(ids)
    made = fill(store, ids, 2)
    with store.write() as tx:
        tx.erase(made[0].id, erasing(ids, made[0].id))
    assert judged(everything(store)).holds


def test_an_erasure_that_can_not_be_read_is_named(chain: list[Entry]) -> None:
    made = draft(seeded(7), Erased(of="x", ground="g", authority="a"))
    torn = seal(made.envelope, b'{"of":1}', bytes(16), "w9", 1, first_prev("w9"))
    assert keys([replace(torn, row=1)]) == [("flaw.unreadable", 1)]


def test_forks_are_reported_and_are_no_flaw() -> None:
    ids = seeded()
    trunk = MemoryStore(ids)
    fill(trunk, ids, 2)
    left, right = trunk.fork(), trunk.fork()
    both = everything(trunk) + fill(left, ids, 1) + fill(right, ids, 1)
    verdict = judged([replace(entry, row=row) for row, entry in enumerate(both, 1)])
    assert verdict.holds
    assert verdict.forks == ((trunk.writer, 3),)
    assert verdict.chains[trunk.writer][0] == 4


def test_a_salt_of_another_size_is_a_fault_of_the_program(chain: list[Entry]) -> None:
    made = draft(seeded(7))
    with pytest.raises(ValueError, match="salt"):
        seal(made.envelope, encode_body(made.body), b"short", "w", 1, first_prev("w"))
    assert encode_envelope(made.envelope).startswith(b'{"id"')
