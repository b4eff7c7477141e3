"""Removal in shares, or with an isolated part, on the page of the plan and on the order's form."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest

from ebbwell.core.errors import InputError
from ebbwell.core.text import say
from ebbwell.deeds import setup
from ebbwell.deeds.plan import Draughted, draught
from ebbwell.procedure.reading_facts import removed_by
from ebbwell.rulebook.load import load_rulebook
from ebbwell.rulebook.typed import read_line
from ebbwell.sim.household import PRESCRIPTION
from ebbwell.web.pages.plan.uneven import uneven_words
from tests.hazards.home import Home, moved_in

D = Decimal


def planned(**lines: str) -> tuple[Home, Draughted]:
    home = moved_in({**PRESCRIPTION, **lines})
    home.do(setup.open_night)
    home.until("S26")
    return home, draught(home.look(), drink=D("0.2"), start_at=home.clock.now().at)


def rules(plan: Draughted) -> set[str]:
    return {finding.rule for finding in plan.findings}


@pytest.mark.parametrize(
    ("typed", "kept"),
    [("30 25 25 20", "30 25 25 20"), ("40%, 30%, 30%", "40 30 30"), ("33.5/33.5/33", "33.5 33.5 33")],
)
def test_shares_are_read_as_people_write_them(typed: str, kept: str) -> None:
    assert read_line(load_rulebook(), "removal_profile", typed) == kept


@pytest.mark.parametrize(("typed", "says"), [("30 30 30", "come to 90"), ("100", "You typed 1")])
def test_shares_that_arent_a_whole_are_told(typed: str, says: str) -> None:
    with pytest.raises(InputError) as caught:
        read_line(load_rulebook(), "removal_profile", typed)
    assert says in say(caught.value.key, **caught.value.params)


@pytest.mark.source("arithmetic", detail="0.5 L in an hour = 7.75 mL/kg/h at 64.5 kg, over the cap of 7")
def test_a_fast_isolated_part_is_held_against_the_cap() -> None:
    home, plan = planned(removal_way="isolated", isolated_litres="0.5", isolated_minutes="60")
    assert "removal_uneven_over_cap" in rules(plan)
    order = home.look().scene.order
    assert order is not None
    words = " ".join(uneven_words(plan, order.lines, "7 mL/kg/h", {}))
    assert (
        "0.5 L off first, in 60 min, with no dialysis fluid: 500.0 mL/h. The rest follows at 276.9" in words
    )
    assert "The highest rate is 7.75 mL/kg/h. The cap is 7 mL/kg/h." in words


def test_an_even_order_says_nothing_of_it() -> None:
    home, plan = planned()
    order = home.look().scene.order
    assert order is not None
    assert uneven_words(plan, order.lines, "7 mL/kg/h", {}) == []
    assert not {rule for rule in rules(plan) if "uneven" in rule or "isolated" in rule}


def test_more_isolated_than_fits_is_told_once() -> None:
    _, plan = planned(removal_way="isolated", isolated_litres="3", isolated_minutes="240")
    assert "isolated_over_removal" in rules(plan)
    assert "removal_uneven_unknown" not in rules(plan)


def test_both_ways_shut_the_plan_until_the_unit_says() -> None:
    _, plan = planned(
        removal_way="shares", isolated_litres="0.4", isolated_minutes="120", removal_profile="50 50"
    )
    assert "removal_uneven_unknown" in rules(plan)
    assert plan.refused


@pytest.mark.source(
    "arithmetic", detail="35 % of 2.3 L in the first 1.875 h: 0.81 L; even it would be 0.58 L"
)
def test_the_night_is_held_against_the_ordered_shares() -> None:
    home = moved_in({**PRESCRIPTION, "removal_way": "shares", "removal_profile": "35 30 20 15"})
    home.do(setup.open_night)
    home.connected()
    home.clock.pass_time(timedelta(minutes=113))
    assert removed_by(home.look().treatment, home.clock.now().at) == D("0.81")
