"""Lawful erasure: the words go, from the file and from every copy; the chain stays provable."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from ebbwell.core.clock import SetClock
from ebbwell.core.errors import InputError
from ebbwell.core.ids import SeededIds
from ebbwell.deeds.night import stop_now
from ebbwell.deeds.orders import advise
from ebbwell.deeds.setup import open_night
from ebbwell.house import House
from ebbwell.sim.household import BRAM, ZONE, move_in

WORDS = "words-that-have-to-go"


@pytest.fixture
def house(tmp_path: Path) -> House:
    clock = SetClock(datetime(2026, 4, 29, 17, 0, tzinfo=UTC), ZONE)
    house = House.open(tmp_path / "record.ebbwell", clock, SeededIds(1))
    move_in(house, clock)
    house.do(open_night, by=BRAM)
    return house


def test_an_erased_body_is_in_no_file_and_the_chain_still_holds(house: House, tmp_path: Path) -> None:
    done = house.do(advise, by=BRAM, who="the unit", words=WORDS)
    house.save()
    house.erase(
        done.entries[0], ground="asked for by the person", authority="the unit's data officer", by=BRAM
    )
    assert house.store.verify().holds
    held = house.store.held(done.entries[0])
    assert held is not None
    assert held.body_bytes is None
    assert [fact.id for fact in house.look().treatment.of("advice")] == [done.entries[0]]
    assert house.look().treatment.not_understood() == ()
    house.close()
    for path in tmp_path.iterdir():
        assert WORDS.encode() not in path.read_bytes(), path.name


@pytest.mark.parametrize(("ground", "authority"), [("", "somebody"), ("asked for", " ")])
def test_erasure_needs_a_ground_and_an_authority(house: House, ground: str, authority: str) -> None:
    done = house.do(advise, by=BRAM, who="the unit", words=WORDS)
    before = house.store.count()
    with pytest.raises(InputError) as why:
        house.erase(done.entries[0], ground=ground, authority=authority)
    assert why.value.key == "enter.erasure"
    assert house.store.count() == before


def test_the_rules_of_a_night_are_not_erased(house: House) -> None:
    pinned = house.look().standing.of("pinned")[0]
    with pytest.raises(InputError) as why:
        house.erase(pinned.id, ground="asked for", authority="somebody")
    assert why.value.key == "enter.not_erased"


def test_lost_rules_keep_the_gate_shut_and_nothing_else(house: House) -> None:
    other = replace(house.procedure, digest="0" * 64)
    later = House(house.store, house.clock, house.ids, procedure=other)
    later.state.standing.replaced[later.look().standing.of("pinned")[0].id] = frozenset({"x"})
    later.state.standing._live = None
    desk = later.look()
    assert "bar.rules_lost" in [bar.key for bar in desk.bars]
    assert later.do(stop_now, by="somebody").entries
