"""Every store, on disk or not: appended is kept, undone is gone, nothing is kept twice."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from ebbwell.core.ids import SeededIds
from ebbwell.journal.envelope import Entry, first_prev
from ebbwell.journal.errors import EntryHeld, EntryUnknown
from ebbwell.journal.kinds.marks import Answer, Tick
from ebbwell.journal.store.base import Draft, Store
from ebbwell.journal.store.memory import MemoryStore
from tests.journal.making import Made, draft, erasing, everything, fill, locked, memory, plain, seeded


@pytest.fixture(params=[memory, plain, locked], ids=["memory", "plain", "locked"])
def store(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Store]:
    made: Made = request.param
    store = made(tmp_path, seeded(1))
    yield store
    store.close()


@pytest.fixture
def ids() -> SeededIds:
    return seeded(2)


def elsewhere(count: int, seed: int = 9) -> list[Entry]:
    other = MemoryStore(seeded(seed))
    return fill(other, seeded(seed + 1), count)


def test_appended_entries_come_back_as_they_were(store: Store, ids: SeededIds) -> None:
    made = fill(store, ids, 5)
    assert everything(store) == made
    assert [e.row for e in made] == [1, 2, 3, 4, 5]
    assert [e.seq for e in made] == [1, 2, 3, 4, 5]
    assert made[0].prev == first_prev(store.writer)
    assert all(later.prev == earlier.hash for earlier, later in pairwise(made))
    assert store.heads() == {store.writer: (5, made[-1].hash)}
    assert store.reach() == {store.writer: 5}
    assert (store.count(), store.last_row()) == (5, 5)
    assert made[3].body == Tick(step="S1", note="minute 3")


def test_reads_by_row_treatment_chain_and_id(store: Store, ids: SeededIds) -> None:
    first = fill(store, ids, 3, treatment="T1")
    second = fill(store, ids, 2, treatment="T2")
    loose = fill(store, ids, 1, treatment=None)
    assert list(store.after(3)) == second + loose
    assert store.of_treatment("T2") == second
    assert store.of_treatment("T3") == []
    assert store.of_chain(store.writer, 2, 4) == [*first[1:], second[0]]
    assert store.held(loose[0].id) == loose[0]
    assert store.held("018f0000-0000-7000-8000-00000000ffff") is None


def test_an_exception_undoes_the_whole_transaction(store: Store, ids: SeededIds) -> None:
    kept = fill(store, ids, 2)

    def half() -> None:
        with store.write() as tx:
            tx.append(draft(ids))
            tx.take_in(elsewhere(2))
            tx.erase(kept[0].id, erasing(ids, kept[0].id))
            raise RuntimeError("half way")

    with pytest.raises(RuntimeError, match="half way"):
        half()
    assert everything(store) == kept
    assert store.heads() == {store.writer: (2, kept[-1].hash)}
    assert fill(store, ids, 1)[0].seq == 3
    assert store.verify().holds


def test_a_transaction_reads_what_it_wrote(store: Store, ids: SeededIds) -> None:
    with store.write() as tx:
        entry = tx.append(draft(ids, treatment="T7"))
        assert tx.held(entry.id) == entry
        assert list(tx.after(0)) == [entry]
        assert tx.of_treatment("T7") == [entry]


def test_a_transaction_inside_a_transaction_is_a_fault_of_the_program(store: Store) -> None:
    with store.write(), pytest.raises(RuntimeError), store.write():
        pass


def test_five_entries_of_one_id_make_one(store: Store, ids: SeededIds) -> None:
    one = ids.new()
    outcomes = []

    def tap(minute: int) -> None:
        try:
            with store.write() as tx:
                tx.append(draft(ids, id=one, minute=minute))
            outcomes.append("kept")
        except EntryHeld as why:
            outcomes.append("held" if why.held.id == one else "another")

    if isinstance(store, MemoryStore):
        for minute in range(5):
            tap(minute)
    else:
        taps = [threading.Thread(target=tap, args=(minute,)) for minute in range(5)]
        for thread in taps:
            thread.start()
        for thread in taps:
            thread.join()
    assert sorted(outcomes) == ["held"] * 4 + ["kept"]
    assert [e.id for e in everything(store)] == [one]


def test_held_is_a_key_error_too(store: Store, ids: SeededIds) -> None:
    made = fill(store, ids, 1)[0]
    with pytest.raises(KeyError), store.write() as tx:
        tx.append(draft(ids, id=made.id))


def test_entries_from_elsewhere_keep_their_chain(store: Store, ids: SeededIds) -> None:
    own = fill(store, ids, 2)
    foreign = elsewhere(4)
    with store.write() as tx:
        taken = tx.take_in(foreign)
        assert (taken.new, taken.held, taken.refused) == (4, 0, ())
        again = tx.take_in(foreign)
        assert (again.new, again.held, again.refused) == (0, 4, ())
    got = everything(store)[2:]
    assert [(e.writer, e.seq, e.prev, e.hash) for e in got] == [
        (e.writer, e.seq, e.prev, e.hash) for e in foreign
    ]
    assert [e.row for e in got] == [3, 4, 5, 6]
    assert store.heads() == {store.writer: (2, own[-1].hash), foreign[0].writer: (4, foreign[-1].hash)}
    assert store.verify().holds


def test_changed_and_clashing_arrivals_are_refused(store: Store, ids: SeededIds) -> None:
    foreign = elsewhere(3)
    twin = MemoryStore(seeded(77))
    with twin.write() as tx:
        clash = tx.append(draft(ids, id=foreign[0].id, minute=99))
    changed = replace(foreign[1], body_bytes=b'{"step":"S2"}')
    saltless = replace(foreign[2], salt=None)
    with store.write() as tx:
        taken = tx.take_in([foreign[0], clash, changed, saltless])
    assert (taken.new, taken.held) == (1, 0)
    assert taken.refused == (
        (clash.id, "entry.clash"),
        (changed.id, "entry.not_proven"),
        (saltless.id, "entry.not_proven"),
    )
    assert [e.hash for e in everything(store)] == [foreign[0].hash]


def test_own_entries_that_come_back_from_elsewhere_start_a_new_chain(store: Store, ids: SeededIds) -> None:
    fill(store, ids, 1)
    earlier = store.writer
    lost = MemoryStore(seeded(5), writer=earlier)
    came_back = fill(lost, seeded(6), 2)
    with store.write() as tx:
        assert tx.take_in(came_back).new == 2
        entry = tx.append(draft(ids))
    assert store.writer != earlier
    assert (entry.writer, entry.seq) == (store.writer, 1)
    assert "store.new_chain" in store.notes
    verdict = store.verify()
    assert verdict.holds
    assert verdict.forks == ((earlier, 1),)


def test_erasure_takes_body_and_salt_and_leaves_the_chain_proven(store: Store, ids: SeededIds) -> None:
    made = fill(store, ids, 3)
    with store.write() as tx:
        marker = tx.erase(made[1].id, erasing(ids, made[1].id))
    gone = store.held(made[1].id)
    assert gone is not None
    assert (gone.body_bytes, gone.salt) == (None, None)
    assert (gone.hash, gone.digest, gone.envelope_bytes) == (
        made[1].hash,
        made[1].digest,
        made[1].envelope_bytes,
    )
    assert marker.seq == 4
    assert store.verify().holds
    with store.write() as tx:
        assert tx.take_in([made[1]]).held == 1
    still = store.held(made[1].id)
    assert still is not None
    assert still.body_bytes is None


def test_erasure_refuses_an_unknown_id_and_another_marker(store: Store, ids: SeededIds) -> None:
    made = fill(store, ids, 1)
    with pytest.raises(EntryUnknown), store.write() as tx:
        tx.erase("x", erasing(ids, "x"))
    with pytest.raises(ValueError, match="names what was erased"), store.write() as tx:
        tx.erase(made[0].id, erasing(ids, "another"))
    assert everything(store) == made


def test_a_draft_must_name_its_body_rightly(ids: SeededIds) -> None:
    good = draft(ids)
    with pytest.raises(ValueError, match="the envelope names"):
        Draft(good.envelope, Answer(question="q", answer="yes"))


def test_reading_shows_one_moment(store: Store, ids: SeededIds) -> None:
    made = fill(store, ids, 2)
    with store.reading():
        assert everything(store) == made
        assert store.count() == 2
    fill(store, ids, 1)
    assert store.count() == 3


def test_more_than_a_portion_is_read_in_order(store: Store, ids: SeededIds) -> None:
    with store.write() as tx:
        made = [tx.append(draft(ids, minute=n)) for n in range(1203)]
    assert everything(store) == made
    assert store.verify().entries == 1203
