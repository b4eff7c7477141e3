"""Forks of a store in memory: cheap, and deaf to each other."""

from __future__ import annotations

import pytest

from ebbwell.journal.store.memory import MemoryStore
from tests.journal.making import draft, erasing, everything, fill, seeded


def test_what_one_fork_writes_the_other_does_not_see() -> None:
    ids = seeded()
    trunk = MemoryStore(ids)
    shared = fill(trunk, ids, 3)
    left, right = trunk.fork(), trunk.fork()
    fill(left, ids, 1)
    with right.write() as tx:
        tx.erase(shared[0].id, erasing(ids, shared[0].id))
    fill(trunk, ids, 2)
    assert [s.count() for s in (trunk, left, right)] == [5, 4, 4]
    assert everything(trunk)[:3] == shared
    assert everything(left)[:3] == shared
    assert everything(right)[0].body_bytes is None
    assert all(s.verify().holds for s in (trunk, left, right))
    assert trunk.held(everything(left)[3].id) is None


def test_a_fork_of_a_fork_and_an_undone_write() -> None:
    ids = seeded()
    trunk = MemoryStore(ids)
    made = fill(trunk, ids, 2)
    twig = trunk.fork().fork(seeded(8))

    def half() -> None:
        with twig.write() as tx:
            tx.append(draft(ids))
            tx.append(draft(ids, id=made[0].id))

    with pytest.raises(KeyError):
        half()
    assert everything(twig) == everything(trunk) == made


def test_a_fork_shares_the_entries_until_it_writes() -> None:
    ids = seeded()
    trunk = MemoryStore(ids)
    fill(trunk, ids, 2)
    fork = trunk.fork()
    assert fork.held(everything(trunk)[0].id) is everything(trunk)[0]
    with fork.write():
        pass
    assert fork._entries is trunk._entries
