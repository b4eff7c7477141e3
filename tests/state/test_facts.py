"""Facts: what holds, what was replaced, what disagrees, what can't be understood."""

from __future__ import annotations

from datetime import UTC, datetime

import msgspec
import pytest

from ebbwell.journal.kinds.marks import (
    Choice,
    Corrected,
    LotUsed,
    Measured,
    Settled,
    Tick,
    Withdrawn,
)
from ebbwell.journal.kinds.night import Event, Reading
from ebbwell.state.facts import changed, instant
from tests.state.book import Book, facts_of, value_of, weight


@pytest.mark.hazard("H23")
@pytest.mark.source("practice:e", detail="H5, H23: 46.8 typed for 64.8; append only, both stay")
def test_a_correction_of_a_correction_holds_and_hides_nothing() -> None:
    book = Book()
    first = book.add(weight("46.8"))
    second = book.add(Corrected(of=first.id, changes={"value": "64.9"}), replaces=(first.id,))
    third = book.add(Corrected(of=second.id, changes={"value": "64.8"}), replaces=(second.id,))
    facts = book.facts()
    (fact,) = facts.of("measured")
    assert (fact.id, fact.kind, value_of(facts)) == (third.id, "measured", "64.8")
    assert facts.replaced == {first.id: frozenset({second.id}), second.id: frozenset({third.id})}
    for entry, value in ((first, "46.8"), (second, "64.9")):
        old = facts.fact(entry.id)
        assert old is not None
        assert isinstance(old.body, Measured)
        assert old.body.value == value
    assert facts.versions(fact) == {first.id, second.id, third.id}


def test_a_correction_keeps_the_time_it_was_so_and_has_a_time_of_its_own() -> None:
    book = Book()
    first = book.add(weight("46.8"))
    later = book.add(Corrected(of=first.id, changes={"value": "64.8"}), replaces=(first.id,))
    (fact,) = book.facts().of("measured")
    assert fact.at == first.envelope.at
    assert fact.recorded.at == later.envelope.recorded_at
    moved = book.add(
        Corrected(of=later.id, changes={"at": "2026-04-29T19:30:00+02:00"}), replaces=(later.id,)
    )
    (fact,) = book.facts().of("measured")
    assert (fact.id, fact.at) == (moved.id, datetime(2026, 4, 29, 17, 30, tzinfo=UTC))


def test_a_correction_that_comes_before_what_it_corrects_bars_until_it_is_there() -> None:
    book = Book()
    first = book.add(weight("46.8"))
    correction = book.add(Corrected(of=first.id, changes={"value": "64.8"}), replaces=(first.id,))
    facts = facts_of([correction])
    assert facts.live == {}
    assert [entry.id for entry in facts.not_understood()] == [correction.id]
    facts.step(first)
    assert value_of(facts) == "64.8"
    assert facts.not_understood() == ()


@pytest.mark.hazard("H22")
@pytest.mark.source("practice:e", detail="H22: 64.8 and 65.8: both kept")
def test_two_corrections_of_one_entry_disagree_until_one_is_settled_on() -> None:
    book = Book()
    first = book.add(weight("46.8"))
    here = book.add(Corrected(of=first.id, changes={"value": "64.8"}), replaces=(first.id,))
    there = book.elsewhere(Corrected(of=first.id, changes={"value": "65.8"}), replaces=(first.id,))
    facts = book.facts()
    (held,) = facts.disagreements().values()
    assert {fact.id for fact in held} == {here.id, there.id}
    assert facts.replaced[first.id] == {here.id, there.id}
    book.add(Settled(of=(here.id, there.id), holds=there.id), replaces=(here.id,))
    facts = book.facts()
    assert facts.disagreements() == {}
    assert value_of(facts) == "65.8"


def test_the_same_said_twice_is_no_disagreement() -> None:
    book = Book()
    book.add(weight("64.8", typed="64.8"))
    book.elsewhere(weight("64.80", typed="64,80", device="other scale"))
    assert book.facts().disagreements() == {}
    book.elsewhere(weight("64.8", not_measured="no"))
    assert list(book.facts().disagreements()) == [("measured", "weight_before", "")]


def test_less_than_a_value_is_not_that_value() -> None:
    book = Book()
    book.add(Measured(quantity="total_chlorine", place="tank1", value="0.02", unit="mg/L"))
    book.elsewhere(Measured(quantity="total_chlorine", place="tank1", value="0.02", unit="mg/L", below=True))
    assert book.facts().disagreements()


def test_places_steps_and_items_are_asked_apart() -> None:
    book = Book()
    for place in ("tank1", "tank2"):
        book.add(Measured(quantity="total_chlorine", place=place, value=f"0.0{place[-1]}", unit="mg/L"))
    for step in ("S30a", "S30b"):
        book.add(Choice(step=step, name="skin", option=step))
    for lot in ("L1", "L2"):
        book.add(LotUsed(item="saline", lot=lot))
        book.add(LotUsed(item="needles", lot=lot))
    facts = book.facts()
    assert facts.disagreements() == {}
    assert len(facts.of("lot_used")) == 4
    book.add(LotUsed(item="dialyser", lot="L1"))
    book.add(LotUsed(item="dialyser", lot="L2"))
    assert list(book.facts().disagreements()) == [("lot_used", "dialyser")]


def test_what_was_taken_back_no_longer_holds_and_stays_readable() -> None:
    book = Book()
    tick = book.add(Tick(step="S1"))
    book.add(Withdrawn(of=tick.id), replaces=(tick.id,))
    facts = book.facts()
    assert facts.of("tick") == ()
    assert facts.fact(tick.id) is not None
    assert facts.not_understood() == ()


def test_an_unknown_kind_that_must_be_understood_bars_and_a_plain_one_does_not() -> None:
    """Source: design section 5 (a program that doesn't know such a kind keeps every gate closed)."""
    book = Book()
    book.strange("weather")
    assert book.facts().not_understood() == ()
    strange = book.strange("lot_swapped", must_understand=True)
    newer = book.strange("withdrawn", b'{"of":"x","until":3}', version=2, must_understand=True)
    facts = book.facts()
    assert [entry.id for entry in facts.not_understood()] == [strange.id, newer.id]
    assert {"weather", "lot_swapped"} <= facts.live.keys()


def test_what_an_unknown_entry_replaces_no_longer_holds() -> None:
    book = Book()
    first = book.add(weight("64.8"))
    book.strange("reweighed", replaces=(first.id,), must_understand=True)
    assert book.facts().of("measured") == ()


def test_an_erased_body_is_not_there_and_bars_nothing() -> None:
    book = Book()
    event = book.add(Event(what="cramp", words="a name"))
    stop = book.elsewhere(Corrected(of=event.id, changes={"words": "another name"}), replaces=(event.id,))
    book.erase(event)
    book.erase(stop)
    facts = book.facts()
    assert facts.not_understood() == ()
    assert [fact.entry.body_bytes for facts in facts.live.values() for fact in facts] == [None]


def test_a_correction_of_an_erased_or_unknown_entry_says_nothing() -> None:
    book = Book()
    event = book.add(Event(what="cramp"))
    correction = book.add(Corrected(of=event.id, changes={"what": "cramps"}), replaces=(event.id,))
    book.erase(event)
    assert book.facts().of("event") == ()
    assert [entry.id for entry in book.facts().not_understood()] == [correction.id]


def test_corrections_that_name_each_other_say_nothing() -> None:
    book = Book()
    one, two = book.ids.new(), book.ids.new()
    book.elsewhere(Corrected(of=two, changes={"value": "1"}), id=one, replaces=(two,))
    book.elsewhere(Corrected(of=one, changes={"value": "2"}), id=two, replaces=(one,))
    facts = book.facts()
    assert facts.live == {}
    assert {entry.id for entry in facts.not_understood()} == {one, two}
    assert facts.fact(one) is None


@pytest.mark.parametrize(
    "changes",
    [{"value": "64.8", "asked": "no list"}, {"value.x": "1"}, {"at": "soon"}, {"at": "2026-04-29T17:00"}],
)
def test_a_correction_that_does_not_fit_says_nothing_and_bars(changes: dict[str, str]) -> None:
    book = Book()
    first = book.add(weight("46.8"))
    wrong = book.elsewhere(Corrected(of=first.id, changes=changes), replaces=(first.id,))
    facts = book.facts()
    assert facts.of("measured") == ()
    assert [entry.id for entry in facts.not_understood()] == [wrong.id]


def test_taking_an_entry_in_twice_changes_nothing() -> None:
    book = Book()
    first = book.add(weight("64.8"))
    facts = book.facts()
    facts.step(first)
    assert len(facts) == 1
    assert list(facts) == [first]


def test_a_copy_goes_its_own_way() -> None:
    book = Book()
    first = book.add(weight("46.8"))
    facts = book.facts()
    assert value_of(facts) == "46.8"
    copy = facts.copy()
    copy.step(book.add(Corrected(of=first.id, changes={"value": "64.8"}), replaces=(first.id,)))
    assert (value_of(facts), value_of(copy)) == ("46.8", "64.8")


def test_one_value_of_a_row_is_changed_and_the_others_stay() -> None:
    body = Reading(values={"pulse": "70", "systolic": "130"}, missing={"venous_pressure": "dark"})
    right = changed(body, {"values.pulse": "78", "missing.venous_pressure": "screen dark"})
    assert right == Reading(
        values={"pulse": "78", "systolic": "130"}, missing={"venous_pressure": "screen dark"}
    )
    with pytest.raises(msgspec.ValidationError):
        changed(body, {"values": "78"})


def test_an_instant_needs_its_zone() -> None:
    assert instant("2026-04-29T19:30:00+02:00") == datetime(2026, 4, 29, 17, 30, tzinfo=UTC)
    assert instant("2026-04-29T19:30:00") is None
    assert instant("half past seven") is None
