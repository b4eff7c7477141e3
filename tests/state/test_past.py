"""The summaries of ten years in their order, and what is worked out once of facts: both like working it out anew."""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from ebbwell.core.clock import Moment, SetClock
from ebbwell.core.ids import SeededIds
from ebbwell.deeds.setup import open_night
from ebbwell.house import House
from ebbwell.journal.envelope import Envelope
from ebbwell.journal.kinds.house import Person
from ebbwell.journal.kinds.marks import Tick
from ebbwell.journal.store.base import Draft
from ebbwell.journal.store.memory import MemoryStore
from ebbwell.procedure.rule_facts import clock_trusted
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
        packs=(),
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


def told(*, mono: int, boot: str = "boot-1", minute: int = 0) -> Facts:
    """A treatment with two entries, the second at an odd time of the boot clock."""
    ids = SeededIds(1)
    store, facts = MemoryStore(ids), Facts()
    for at, ms, start in ((0, 0, "boot-1"), (minute, mono, boot)):
        moment = FIRST + timedelta(minutes=at)
        envelope = Envelope(
            id=ids.new(),
            kind="tick",
            version=1,
            household="h",
            treatment="t",
            at=moment,
            zone=ZONE,
            offset=0,
            recorded_at=moment,
            boot=start,
            mono=ms,
            by=BRAM,
        )
        with store.write() as transaction:
            facts.step(transaction.append(Draft(envelope, Tick(step="S1"))))
    return facts


def test_the_clock_is_trusted_where_every_entry_of_this_start_agrees() -> None:
    now = Moment(FIRST + timedelta(hours=1), ZONE, "boot-1", 3_600_000)
    assert clock_trusted(told(mono=60_000, minute=1), now)
    for apart in (2 * 60_000, -2 * 60_000):
        assert clock_trusted(told(mono=600_000 + apart, minute=10), now)
        assert not clock_trusted(told(mono=600_000 + apart + (1 if apart > 0 else -1), minute=10), now)
        assert clock_trusted(told(mono=600_000 + 2 * apart, minute=10, boot="elsewhere"), now)
    for absurd in (10**18, -(10**18)):
        assert not clock_trusted(told(mono=absurd), now)
        assert clock_trusted(told(mono=absurd, boot="elsewhere"), now)
