"""The summaries of ten years in their order, and what is worked out once of facts: both like working it out anew."""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from ebbwell.core.clock import SetClock
from ebbwell.core.ids import SeededIds
from ebbwell.deeds.setup import open_night
from ebbwell.house import House
from ebbwell.journal.kinds.house import Person
from ebbwell.journal.store.memory import MemoryStore
from ebbwell.sim import hands
from ebbwell.sim.household import BRAM, ZONE, move_in
from ebbwell.sim.ten_years import Writer
from ebbwell.state.facts import Facts
from ebbwell.state.own_past import ENDED, NightSummary, Past, latest

FIRST = datetime(2026, 1, 1, 20, 0, tzinfo=UTC)


def summary(treatment: str, day: int, phase: str) -> NightSummary:
    return NightSummary(
        treatment=treatment,
        night="",
        phase=phase,
        opened_at=FIRST + timedelta(days=day),
        first_blood=None,
        pump_stopped=None,
        values={},
        first={},
        lots=(),
        unsettled=False,
    )


CHANGES = st.lists(
    st.tuples(
        st.sampled_from("abcdef"),
        st.integers(0, 5),
        st.sampled_from(["closed", "called_off", "running", "off", "gone"]),
    ),
    max_size=30,
)


@given(CHANGES, st.integers(0, 6), st.integers(1, 4))
def test_the_past_in_order_is_the_past_sorted(
    changes: list[tuple[str, int, str]], day: int, most: int
) -> None:
    past = Past()
    plain: dict[str, NightSummary] = {}
    for treatment, opened, phase in changes:
        if phase == "gone":
            past.pop(treatment, None)
            plain.pop(treatment, None)
        else:
            past[treatment] = plain[treatment] = summary(treatment, opened, phase)
    before = FIRST + timedelta(days=day)
    ordered = sorted(plain.values(), key=lambda s: (s.opened_at, s.treatment))
    ran = [s for s in ordered if s.opened_at < before and s.phase != "called_off"]
    for held in (past, past.copy(), Past(plain), plain):
        assert latest(held, before=before, nights=most) == ran[::-1][:most]
    still = tuple(s.treatment for s in ordered if s.phase not in ENDED)
    assert past.open_ones() == past.copy().open_ones() == Past(plain).open_ones() == still
    assert past == plain


def test_a_copy_of_the_past_goes_its_own_way() -> None:
    past = Past({"a": summary("a", 1, "closed")})
    twin = past.copy()
    twin["b"] = summary("b", 2, "running")
    assert (list(past), past.open_ones()) == (["a"], ())
    assert (list(twin), twin.open_ones()) == (["a", "b"], ("b",))


def test_facts_asked_at_each_entry_are_those_asked_at_the_end() -> None:
    clock = SetClock(FIRST, ZONE)
    house = House(MemoryStore(SeededIds(1)), clock, SeededIds(2))
    move_in(house, clock)
    house.do(open_night, by=BRAM)
    hands.set_up(house, clock)
    entries = [entry for entry in house.store.after(0) if entry.envelope.treatment is not None]
    assert len(entries) > 90
    for seed in range(4):
        order = entries[:]
        if seed:
            random.Random(seed).shuffle(order)
        asked, left = Facts(), Facts()
        for entry in order:
            left.step(entry)
            asked.step(entry)
            assert asked.live
            assert asked.slots is not None
        assert list(asked.live) == list(left.live)
        assert asked.live == left.live
        assert list(asked.slots) == list(left.slots)
        assert asked.slots == left.slots


def test_what_was_worked_out_is_forgotten_with_the_next_entry() -> None:
    ids = SeededIds(1)
    writer, store, facts = Writer(ids, ids.new(), 1), MemoryStore(ids), Facts()
    calls: list[int] = []

    def count(held: Facts) -> int:
        calls.append(len(held))
        return len(held)

    for number in (1, 2):
        with store.write() as transaction:
            body = Person(person=str(number), name="Nobody", roles=())
            facts.step(transaction.append(writer.draft(body, FIRST)))
        assert facts.worked_out(count) == facts.worked_out(count) == number
        assert facts.copy().worked_out(count) == number
    assert calls == [1, 2]
