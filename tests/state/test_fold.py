"""The fold and its checkpoint: the same state whichever way it was come by."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import msgspec
import pytest

from ebbwell.core.clock import SetClock
from ebbwell.core.ids import SeededIds
from ebbwell.deeds import night, setup
from ebbwell.house import House
from ebbwell.journal.kinds import Body, Unknown, decode_body
from ebbwell.journal.kinds.marks import Corrected, Tick
from ebbwell.journal.kinds.night import Closed
from ebbwell.journal.kinds.orders import Pinned
from ebbwell.journal.upcasts import UPCASTS, upcast
from ebbwell.sim.household import BRAM, ZONE, move_in
from ebbwell.state import checkpoint
from ebbwell.state.facts import Facts
from ebbwell.state.fold import SETTLE_EVERY, State, fold
from tests.hazards.home import EVENING, Home, moved_in
from tests.state.book import START, TONIGHT, Book, pinned, weight

LAST_NIGHT = TONIGHT[:-1] + "9"


def same(one: State, other: State) -> bool:
    """Whether two states say the same."""
    return (
        one.row == other.row
        and one.past == other.past
        and one.standing.entries.keys() == other.standing.entries.keys()
        and said(one.standing) == said(other.standing)
    )


def said(facts: Facts) -> list[tuple[str, str, Body, datetime]]:
    """What holds; a checkpoint keeps no salts, so entries aren't compared whole."""
    return [(fact.id, fact.kind, fact.body, fact.at) for held in facts.live.values() for fact in held]


def three_nights() -> Home:
    home = moved_in()
    for _ in range(2):
        home.whole_night()
        home.clock.pass_time(timedelta(hours=30))
    home.do(setup.open_night)
    home.until("S5")
    return home


def test_one_by_one_in_one_go_and_kept_by_the_house_are_the_same(tmp_path: Path) -> None:
    home = three_nights()
    store = home.house.store
    whole = fold(store.after(0), store.of_treatment)
    assert same(home.house.state, whole)
    step = State()
    for entry in store.after(0):
        step.step(entry)
        step.settle(store.of_treatment)
    assert same(step, whole)
    assert {s.phase for s in whole.past.values()} == {"closed", "setting_up"}
    assert whole.open_treatments() == (home.look().treatment_id,)


def test_from_any_checkpoint_on_the_rest_gives_the_whole(tmp_path: Path) -> None:
    home = three_nights()
    store = home.house.store
    entries = list(store.after(0))
    whole = fold(entries, store.of_treatment)
    for row in range(1, len(entries), 17):
        path = tmp_path / "state"
        part = entries[:row]
        checkpoint.save(
            path,
            fold(part, lambda t, part=part: [e for e in part if e.envelope.treatment == t]),
            entries[row - 1].hash,
        )
        kept = checkpoint.load(path)
        assert kept is not None
        state, newest = kept
        assert (state.row, newest) == (row, entries[row - 1].hash)
        for entry in entries[row:]:
            state.step(entry)
        state.settle(store.of_treatment)
        assert same(state, whole)


def test_a_checkpoint_of_other_code_is_passed_over(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "state"
    checkpoint.save(path, State(), b"newest")
    monkeypatch.setattr(checkpoint, "fold_digest", lambda: "another program")
    assert checkpoint.load(path) is None


def test_a_checkpoint_of_another_record_is_passed_over(tmp_path: Path) -> None:
    clock = SetClock(EVENING, ZONE)
    paths = [tmp_path / name / "record.ebbwell" for name in ("one", "two")]
    for seed, path in enumerate(paths, start=1):
        path.parent.mkdir()
        with House.open(path, clock, SeededIds(seed)) as house:
            move_in(house, clock)
            house.do(setup.open_night, by=BRAM)
            if seed == 2:
                house.do(night.stop_now, by=BRAM)
    beside = [path.with_name(path.name + ".state") for path in paths]
    assert all(path.exists() for path in beside)
    beside[1].write_bytes(beside[0].read_bytes())
    with House.open(paths[1], clock, SeededIds(3)) as house:
        assert house.look().phase.value == "stopping"
        assert same(house.state, fold(house.store.after(0), house.store.of_treatment))


def test_a_lost_checkpoint_loses_nothing(tmp_path: Path) -> None:
    clock = SetClock(EVENING, ZONE)
    path = tmp_path / "record.ebbwell"
    with House.open(path, clock, SeededIds(1)) as house:
        move_in(house, clock)
        house.do(setup.open_night, by=BRAM)
    beside = path.with_name(path.name + ".state")
    for damage in (b"", b"\x00" * 40, None):
        if damage is None:
            beside.unlink()
        else:
            beside.write_bytes(damage)
        with House.open(path, clock, SeededIds(2)) as house:
            assert house.look().phase.value == "setting_up"


def test_a_late_entry_changes_the_summary_of_a_night_long_closed() -> None:
    book = Book()
    book.add(pinned("2026-04-27"), treatment=LAST_NIGHT)
    first = book.add(weight("66.1"), treatment=LAST_NIGHT)
    book.add(Closed(), treatment=LAST_NIGHT)
    state = fold(book.entries, book.store.of_treatment)
    assert state.past[LAST_NIGHT].values == {"weight_before": "66.1"}
    assert state.treatments == {}
    late = book.elsewhere(
        Corrected(of=first.id, changes={"value": "66.3"}), replaces=(first.id,), treatment=LAST_NIGHT
    )
    state.step(late)
    state.settle(book.store.of_treatment)
    assert state.past[LAST_NIGHT].values == {"weight_before": "66.3"}
    assert same(state, fold(book.entries, book.store.of_treatment))


def test_a_night_is_not_there_until_it_was_opened_and_may_be_opened_late() -> None:
    book = Book()
    book.elsewhere(weight("66.1"))
    state = fold(book.entries, book.store.of_treatment)
    assert state.past == {}
    opened = book.elsewhere(pinned(), at=START)
    state.step(opened)
    state.settle(book.store.of_treatment)
    assert state.past[TONIGHT].values == {"weight_before": "66.1"}
    assert state.open_treatments() == (TONIGHT,)


def test_open_nights_come_oldest_first() -> None:
    book = Book()
    book.add(pinned(), at=START)
    book.add(pinned("2026-04-28"), treatment=LAST_NIGHT, at=START - timedelta(days=1))
    assert fold(book.entries, book.store.of_treatment).open_treatments() == (LAST_NIGHT, TONIGHT)


def test_a_long_record_is_summarised_on_the_way() -> None:
    book = Book()
    book.add(pinned())
    for _ in range(SETTLE_EVERY + 5):
        book.add(Tick(step="S1"))
    book.add(weight("66.3"))
    state = fold(book.entries, book.store.of_treatment)
    assert state.past[TONIGHT].values == {"weight_before": "66.3"}
    assert len(state.treatments[TONIGHT]) == SETTLE_EVERY + 7


def test_a_copy_of_the_state_goes_its_own_way() -> None:
    book = Book()
    book.add(pinned())
    state = fold(book.entries, book.store.of_treatment)
    copy = state.copy()
    copy.step(book.add(weight("66.3")))
    copy.settle(book.store.of_treatment)
    state.settle(book.store.of_treatment)
    assert copy.past[TONIGHT].values == {"weight_before": "66.3"}
    assert state.past[TONIGHT].values == {}
    assert (state.row, copy.row) == (1, 2)
    assert len(state.treatments[TONIGHT]) == 1


def test_an_older_body_is_brought_up_to_date_and_a_newer_one_is_kept_as_it_is(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(Tick, "VERSION", 3)
    monkeypatch.setitem(UPCASTS, ("tick", 1), lambda body: {"step": body["what"]})
    monkeypatch.setitem(UPCASTS, ("tick", 2), lambda body: {**body, "note": "no note was kept then"})
    read = decode_body("tick", 1, b'{"what":"S1"}')
    assert read == Tick(step="S1", note="no note was kept then")
    assert decode_body("tick", 2, b'{"step":"S1"}') == read
    assert decode_body("tick", 4, b'{"step":"S1"}') == Unknown(raw=b'{"step":"S1"}')


def test_an_upcast_that_is_missing_is_a_fault_of_the_program() -> None:
    with pytest.raises(KeyError):
        upcast("tick", 1, 3, {}, {("tick", 2): lambda body: body})


def test_a_field_of_a_newer_program_is_passed_over_and_stays_in_the_bytes() -> None:
    book = Book()
    entry = book.strange("pinned", msgspec.json.encode({**msgspec.to_builtins(pinned()), "moon": "full"}))
    assert isinstance(entry.body, Pinned)
    assert entry.body_bytes is not None
    assert b"moon" in entry.body_bytes
