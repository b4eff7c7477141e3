"""Deeds about people and place."""

from __future__ import annotations

import pytest

from ebbwell.deeds import people, setup
from ebbwell.sim.household import BRAM, ILKA, TOVE
from ebbwell.state.night import carer_in_charge, holder
from ebbwell.state.standing import household, signed_off
from ebbwell.state.standing import people as entered
from tests.deeds.homes import wrong
from tests.hazards.home import Home, beside, refused, rules

SIX = ("Ilka, awake", "left arm, buttonhole", "2.3 L in 7.5 h", "set up to S9", "S10 is open", "low pulse")


def test_found_household_takes_the_place_of_the_one_before(home: Home) -> None:
    home.do(people.found_household, name=" Saltmarsh Row 2 ", zone="Europe/Dublin", carbon_tanks=1)
    found = household(home.look().standing)
    assert found is not None
    assert (found.name, found.zone, found.carbon_tanks) == ("Saltmarsh Row 2", "Europe/Dublin", 1)
    assert len(home.look().standing.of("household")) == 1


def test_found_household_refuses_no_name_and_no_zone(home: Home) -> None:
    with wrong("enter.household_name"):
        home.do(people.found_household, name=" ", zone="Europe/Dublin")
    with wrong("zone.unknown"):
        home.do(people.found_household, name="Saltmarsh Row", zone="Europe/Saltmarsh")


def test_enter_person_again_changes_the_name(home: Home) -> None:
    home.do(people.enter_person, person=TOVE, name="Tove S.", roles=("stand_in", "carer"))
    assert entered(home.look().standing)[TOVE].name == "Tove S."
    assert set(entered(home.look().standing)) == {ILKA, BRAM, TOVE}


def test_a_carbon_tank_is_not_taken_away_while_a_night_is_set_up(ready: Home) -> None:
    with refused("refuse.tanks_tonight"):
        ready.do(people.found_household, name="Saltmarsh Row", zone="Europe/Dublin", carbon_tanks=1)
    assert "S5b" in ready.look().views
    ready.do(people.found_household, name="Saltmarsh Row 2", zone="Europe/Dublin")
    found = household(ready.look().standing)
    assert found is not None
    assert (found.name, found.carbon_tanks) == ("Saltmarsh Row 2", 2)


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"name": " "}, "enter.person_name"),
        ({"person": ""}, "enter.person_name"),
        ({"roles": ()}, "enter.option"),
        ({"roles": ("carer", "boss")}, "enter.option"),
    ],
)
def test_enter_person_refuses_what_is_left_out(home: Home, change: dict[str, object], key: str) -> None:
    given = {"person": "mo", "name": "Mo", "roles": ("carer",), **change}
    with wrong(key):
        home.do(people.enter_person, **given)


SIGNED = {"person": TOVE, "skill": "needle", "signed_by": "Home team", "signed_on": "2026-04-01"}


def test_sign_off_holds_until_it_is_taken_back(home: Home) -> None:
    assert not signed_off(home.look().standing, TOVE, "needle")
    home.do(people.sign_off, **SIGNED)
    assert signed_off(home.look().standing, TOVE, "needle")
    home.do(people.sign_off, signed_off=False, **SIGNED)
    assert not signed_off(home.look().standing, TOVE, "needle")


def test_sign_off_taken_back_counts_for_a_carer_too(home: Home) -> None:
    assert signed_off(home.look().standing, BRAM, "connect")
    home.do(people.sign_off, **{**SIGNED, "person": BRAM, "skill": "connect", "signed_off": False})
    assert not signed_off(home.look().standing, BRAM, "connect")


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"skill": "cook"}, "enter.option"),
        ({"signed_by": ""}, "enter.signed_by"),
        ({"signed_on": "1 April"}, "enter.signed_on"),
    ],
)
def test_sign_off_refuses_what_nobody_signed(home: Home, change: dict[str, str], key: str) -> None:
    with wrong(key):
        home.do(people.sign_off, **{**SIGNED, **change})
    with refused("refuse.no_person"):
        home.do(people.sign_off, **{**SIGNED, "person": "visitor"})


def test_offer_hand_over_leaves_the_night_with_the_giver(night: Home) -> None:
    assert carer_in_charge(night.look().treatment) == BRAM
    done = night.do(people.offer_hand_over, to_person=TOVE, six_lines=SIX)
    assert rules(done.findings) == ["hand_over_waits"]
    assert carer_in_charge(night.look().treatment) == BRAM


def test_offer_hand_over_refuses_without_a_night_and_to_nobody(home: Home, night: Home) -> None:
    with refused("refuse.no_night"):
        home.do(people.offer_hand_over, to_person=TOVE, six_lines=SIX)
    for to in ("visitor", BRAM):
        with refused("refuse.no_person"):
            night.do(people.offer_hand_over, to_person=to, six_lines=SIX)


def test_accept_hand_over_takes_the_night_on(night: Home) -> None:
    offer = night.do(people.offer_hand_over, to_person=TOVE, six_lines=SIX).entries[0]
    night.do(people.accept_hand_over, by=TOVE, offer=offer)
    assert carer_in_charge(night.look().treatment) == TOVE


def test_accept_hand_over_refuses_all_others(night: Home) -> None:
    offer = night.do(people.offer_hand_over, to_person=TOVE, six_lines=SIX).entries[0]
    for by in (ILKA, BRAM, "visitor"):
        with refused("refuse.not_offered_to_you"):
            night.do(people.accept_hand_over, by=by, offer=offer)
    with refused("refuse.no_offer"):
        night.do(people.accept_hand_over, by=TOVE, offer="nothing")
    tick = night.do(setup.answer, question="ill", answer="no").entries[0]
    with refused("refuse.no_offer"):
        night.do(people.accept_hand_over, by=TOVE, offer=tick)
    assert carer_in_charge(night.look().treatment) == BRAM


def test_take_over_here_makes_this_store_the_holder_and_reopens_all(ready: Home) -> None:
    other = beside(ready)
    with refused("refuse.not_holder"):
        other.do(setup.answer, question="ill", answer="no")
    other.do(people.take_over_here, words="the laptop broke")
    held = holder(other.look().treatment)
    assert held is not None
    assert held[0] == other.house.store.writer
    needed = {v.step.id for v in other.look().views.values() if v.step.gate == "connect" and not v.passed}
    assert {"S0", "S5", "S29"} <= needed
    other.do(setup.answer, question="ill", answer="no")


def test_take_over_here_refuses_where_it_is_held_and_without_a_reason(home: Home, night: Home) -> None:
    with refused("refuse.no_night"):
        home.do(people.take_over_here, words="the laptop broke")
    with refused("refuse.holder_already"):
        night.do(people.take_over_here, words="the laptop broke")
    with wrong("enter.reason"):
        beside(night).do(people.take_over_here, words=" ")
