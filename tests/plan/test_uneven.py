"""Removal that the order doesn't want even: lines only where it is prescribed, held against the cap."""

from __future__ import annotations

from decimal import Decimal

import pytest

from ebbwell.core.worked import Outcome
from ebbwell.plan.inputs import Word
from ebbwell.plan.tonight import TonightPlan, plan_tonight
from ebbwell.plan.uneven import HIGHEST
from ebbwell.science.catalogue import shown
from tests.plan.nights import number, usual

D = Decimal
NAMES = ("isolated_rate", "rate_beside_isolated", "profile_top_rate", HIGHEST)


def text(plan: TonightPlan, name: str) -> str:
    line = plan.line(name)
    return "" if line is None else shown(line)


def isolated(litres: str | None, minutes: str | None, **more: object) -> TonightPlan:
    given = {
        "isolated_litres": None if litres is None else number("isolated_litres", litres, "L"),
        "isolated_minutes": None if minutes is None else number("isolated_minutes", minutes, "min"),
    }
    return plan_tonight(usual(**given, **more))


def test_an_order_without_it_has_no_line_of_it() -> None:
    plan = plan_tonight(usual())
    assert not [name for name in NAMES if plan.line(name) is not None or name in plan.facts]


@pytest.mark.source("arithmetic", detail="500 mL/h, 1.8 L in 6.5 h = 276.9 mL/h; 500 / 64.5 = 7.75 mL/kg/h")
def test_an_isolated_part() -> None:
    plan = isolated("0.5", "60")
    assert [text(plan, n) for n in NAMES] == ["500.0 mL/h", "276.9 mL/h", "", "7.75 mL/kg/h"]
    assert text(plan, "removal_rate") == "306.7 mL/h"


@pytest.mark.source(
    "arithmetic", detail="0.1 L in 120 min = 50 mL/h; 2.2 L in 5.5 h = 400 mL/h is the faster"
)
def test_the_rest_may_be_the_faster_part() -> None:
    assert text(isolated("0.1", "120"), HIGHEST) == "6.20 mL/kg/h"


@pytest.mark.source("arithmetic", detail="805 mL in 1.875 h = 429.3 mL/h = 6.66 mL/kg/h")
def test_a_profile() -> None:
    plan = plan_tonight(usual(removal_profile=Word("35 30 20 15", "entry-profile")))
    assert [text(plan, n) for n in NAMES] == ["", "", "429.3 mL/h", "6.66 mL/kg/h"]
    assert "entry-profile" in plan.rests_on


def test_equal_shares_at_the_cap_stay_at_the_cap() -> None:
    plan = plan_tonight(
        usual(removal_profile=Word("25 25 25 25"), weight_before=number("weight_before", "68.9", "kg"))
    )
    fact = plan.facts[HIGHEST]
    assert fact is not None
    assert fact.value == 7


def test_half_of_it_ordered_gives_no_rate_and_says_what_is_missing() -> None:
    line = isolated("0.5", None).line(HIGHEST)
    assert line is not None
    assert line.outcome is Outcome.MISSING


def test_more_isolated_than_there_is_to_remove_gives_no_rate() -> None:
    plan = isolated("2.5", "60")
    rest = plan.line("rate_beside_isolated")
    assert rest is not None
    assert (rest.outcome, rest.why) == (Outcome.OUT_OF_RANGE, "science.isolated_over")
    assert plan.facts[HIGHEST] is None


def test_both_ways_at_once_are_not_guessed() -> None:
    line = isolated("0.5", "60", removal_profile=Word("50 50")).line(HIGHEST)
    assert line is not None
    assert (line.value, line.why) == (None, "plan.two_ways")


def test_nothing_to_remove_is_nothing_here_too() -> None:
    plan = isolated("0.5", "60", weight_before=number("weight_before", "63.9", "kg"))
    fact = plan.facts[HIGHEST]
    assert fact is not None
    assert fact.value == 0


@pytest.mark.parametrize(("way", "why"), [("shares", "plan.no_shares"), ("isolated", "science.missing")])
def test_a_way_without_its_figures_is_never_taken_as_even(way: str, why: str) -> None:
    plan = plan_tonight(usual(removal_way=Word(way)))
    reasons = {line.why for line in plan.lines}
    assert why in reasons
    assert plan.facts[HIGHEST] is None


def test_even_beside_figures_of_another_way_is_not_guessed() -> None:
    line = isolated("0.5", "60", removal_way=Word("even")).line(HIGHEST)
    assert line is not None
    assert (line.value, line.why) == (None, "plan.two_ways")


def test_an_order_that_says_even_is_even() -> None:
    assert plan_tonight(usual(removal_way=Word("even"))).line(HIGHEST) is None
