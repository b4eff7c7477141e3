"""State doesn't depend on the order in which entries arrive, nor on where a fold was broken off."""

from __future__ import annotations

import random
from datetime import timedelta
from functools import lru_cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from ebbwell.deeds import night, record
from ebbwell.deeds.desk import Desk
from ebbwell.journal.envelope import Entry
from ebbwell.journal.kinds import Body
from ebbwell.journal.kinds.bedside import NotTonight, Rechecked, Reminders, SampleDue
from ebbwell.journal.kinds.marks import (
    Choice,
    Corrected,
    Happened,
    LotUsed,
    Measured,
    Settled,
    Tick,
    Withdrawn,
)
from ebbwell.journal.kinds.night import CameOff, Closed, Connected, Given, Off, On, Reading, Safe, Stop
from ebbwell.procedure.asides import ASIDES
from ebbwell.procedure.rule_facts import rule_facts
from ebbwell.rulebook.load import load_rulebook
from ebbwell.sim.household import READING
from ebbwell.state import checkpoint
from ebbwell.state.again import rounds
from ebbwell.state.facts import Facts
from ebbwell.state.fold import State, fold
from ebbwell.state.night import carer_in_charge, first_blood, holder, phase
from ebbwell.state.own_past import summarise
from ebbwell.state.reminders import reminders
from ebbwell.state.samples import samples
from tests.hazards.home import beside, moved_in
from tests.state.book import TONIGHT, Book, facts_of, pinned, weight


def told(facts: Facts, treatment: str = TONIGHT) -> dict[str, Any]:
    """Everything that state says of one night, in a form that can be compared."""
    return {
        "live": {
            kind: [(fact.id, fact.body, fact.at, fact.by) for fact in held]
            for kind, held in sorted(facts.live.items())
        },
        "disagreements": {slot: [f.id for f in held] for slot, held in facts.disagreements().items()},
        "not understood": sorted(entry.id for entry in facts.not_understood()),
        "summary": summarise(treatment, facts),
        "phase": phase(facts),
        "first blood": first_blood(facts),
        "holder": holder(facts),
        "in charge": carer_in_charge(facts),
        "reminders": reminders(facts),
        "again": [rounds(facts, aside) for aside in ASIDES],
        "samples": samples(facts),
        "replaced": facts.replaced,
    }


BODIES: tuple[Body, ...] = (
    weight("66.3"),
    weight("66.30", typed="66,30"),
    weight("65.8"),
    Measured(quantity="pulse", not_measured="cuff broken"),
    Measured(quantity="total_chlorine", place="tank1", value="0.03", unit="mg/L"),
    Choice(step="S4", name="filter_gauges", option="as_usual"),
    Choice(step="S4", name="filter_gauges", option="changed"),
    Tick(step="S1"),
    Happened(what="water_restart"),
    Reading(values={"pulse": "70"}),
    Given(what="saline", amount="200", unit="mL"),
    Connected(satisfied={}, shown={}, plan=""),
    Off(),
    On(),
    Stop(),
    CameOff(times={"pump_stopped": "2026-04-30T05:00:00+00:00"}, blood_returned="all"),
    Safe(),
    Closed(),
    NotTonight(),
    Reminders(stage="on", device="tablet", heard=True),
    Rechecked(aside="on_again", check="air", option="none_seen"),
    SampleDue(samples=("urea",), when="before"),
    LotUsed(item="dialyser", lot="D1", new_set="x"),
    LotUsed(item="dialyser", lot="D2"),
)


@st.composite
def nights(draw: st.DrawFn) -> list[Entry]:
    """A night of a few entries from up to three stores, in the order of writing, with corrections among them."""
    book = Book(draw(st.integers(1, 5)))
    book.add(pinned())
    for _ in range(draw(st.integers(0, 14))):
        write = draw(st.sampled_from((book.add, book.elsewhere)))
        held = book.entries
        act = draw(
            st.sampled_from(("say", "say", "say", "correct", "withdraw", "settle", "strange", "erase"))
        )
        old = draw(st.sampled_from(held))
        other = draw(st.sampled_from(held))
        if act == "say":
            write(draw(st.sampled_from(BODIES)))
        elif act == "correct":
            changes = draw(
                st.sampled_from(({"value": "64.8"}, {"at": "2026-04-29T18:00:00+00:00"}, {"values": "x"}))
            )
            write(Corrected(of=old.id, changes=changes), replaces=(old.id,))
        elif act == "withdraw":
            write(Withdrawn(of=old.id), replaces=(old.id,))
        elif act == "settle":
            write(Settled(of=(old.id, other.id), holds=old.id), replaces=(other.id,))
        elif act == "strange":
            must = draw(st.booleans())
            book.strange("weather", must_understand=must, replaces=draw(st.sampled_from(((), (old.id,)))))
        elif old.body_bytes is not None:
            book.erase(old)
    return book.store.of_treatment(TONIGHT)


@settings(max_examples=300, deadline=None)
@given(nights(), st.randoms(use_true_random=False))
def test_any_order_of_arrival_says_the_same(entries: list[Entry], chance: random.Random) -> None:
    shuffled = list(entries)
    chance.shuffle(shuffled)
    assert told(facts_of(shuffled)) == told(facts_of(entries))


@settings(max_examples=200, deadline=None)
@given(nights(), st.randoms(use_true_random=False), st.data())
def test_looking_on_the_way_changes_nothing(
    entries: list[Entry], chance: random.Random, data: st.DataObject
) -> None:
    looks = data.draw(st.sets(st.integers(0, len(entries))))
    shuffled = list(entries)
    chance.shuffle(shuffled)
    facts = Facts()
    for count, entry in enumerate(shuffled):
        facts.step(entry)
        if count in looks:
            told(facts)
            facts.step(entry)
            facts = facts.copy()
    assert told(facts) == told(facts_of(entries))


@settings(max_examples=120, deadline=None)
@given(nights(), st.data())
def test_a_fold_broken_off_and_kept_goes_on_to_the_same(entries: list[Entry], data: st.DataObject) -> None:
    cut = data.draw(st.integers(0, len(entries)))

    def load(part: list[Entry]) -> Any:
        return lambda treatment: [e for e in part if e.envelope.treatment == treatment]

    whole = fold(entries, load(entries))
    state = fold(entries[:cut], load(entries[:cut]))
    if cut:
        with TemporaryDirectory() as folder:
            path = Path(folder) / "state"
            checkpoint.save(path, state, entries[cut - 1].hash)
            kept = checkpoint.load(path)
        assert kept is not None
        state = kept[0]
    for entry in entries[cut:]:
        state.step(entry)
    state.settle(load(entries))
    assert state.past == whole.past
    assert state.row == whole.row
    assert told(state.facts(TONIGHT, load(entries))) == told(facts_of(entries))


@lru_cache(maxsize=1)
def whole_night() -> tuple[tuple[Entry, ...], str]:
    """A real night by its deeds, with a second store's entries merged in."""
    home = moved_in()
    treatment = home.whole_night()
    other = beside(home)

    def late(desk: Desk) -> None:
        desk.add(weight("66.1"), at=desk.now.at - timedelta(hours=9))
        desk.add(Reading(values=dict(READING), words="from the other tablet"))

    other.house.do(late, treatment=treatment)
    home.house.take_in(other.entries())
    first = home.house.look(treatment=treatment).treatment.of("reading")[0].id
    home.house.do(
        record.correct,
        treatment=treatment,
        of=first,
        changes={"values.pulse": "71"},
        reason="read it again",
    )
    home.house.do(night.note_event, treatment=treatment, what="a late word")
    return tuple(home.house.store.after(0)), treatment


@settings(max_examples=25, deadline=None)
@given(st.randoms(use_true_random=False))
def test_a_whole_night_in_any_order_says_the_same(chance: random.Random) -> None:
    entries, treatment = whole_night()
    mine = [entry for entry in entries if entry.envelope.treatment == treatment]
    shuffled = list(mine)
    chance.shuffle(shuffled)
    one, other = facts_of(mine), facts_of(shuffled)
    assert told(other, treatment) == told(one, treatment)
    assert one.disagreements()
    standing = Facts()
    now = entries[-1].envelope.recorded
    book = load_rulebook()
    assert rule_facts(other, standing, {}, now, book) == rule_facts(one, standing, {}, now, book)


@settings(max_examples=15, deadline=None)
@given(st.randoms(use_true_random=False))
def test_a_whole_record_in_any_order_stands_the_same(chance: random.Random) -> None:
    entries, _ = whole_night()
    shuffled = list(entries)
    chance.shuffle(shuffled)

    def load(treatment: str) -> list[Entry]:
        return [e for e in entries if e.envelope.treatment == treatment]

    one, other = State(), State()
    for state, order in ((one, entries), (other, shuffled)):
        for entry in order:
            state.step(entry)
        state.settle(load)
    assert other.past == one.past
    assert other.open_treatments() == one.open_treatments()
    assert told(other.standing) == told(one.standing)
