"""The next nights beside tonight: the reference's own nights, the rule of the unit, nothing where nothing is known."""

from __future__ import annotations

from decimal import Decimal

import pytest

from ebbwell.core.worked import Input
from ebbwell.plan.ahead import Ahead, look_ahead
from ebbwell.plan.tonight import plan_tonight
from tests.plan.nights import number, usual

D = Decimal
SAME = [D("1.8")] * 6
TWO = Input("nights", D(2), "nights", "entry-rule")


def heavy(kg: str, spread: Input | None = None, gains: list[Decimal] = SAME) -> Ahead | None:
    plan = plan_tonight(usual(weight_before=number("weight_before", kg, "kg")))
    return look_ahead(plan, gains, 2, spread_nights=spread)


@pytest.mark.source("arithmetic", detail="fluids 4.3: left 1.514, 0.428, 0 kg")
def test_the_worked_nights_of_the_reference() -> None:
    ahead = heavy("68.9")
    assert ahead is not None
    assert [round(one.left_kg, 3) for one in ahead.middle[:3]] == [D("1.514"), D("0.428"), D(0)]
    assert ahead.low == ahead.middle == ahead.high
    assert ahead.spread is None


@pytest.mark.source(
    "arithmetic",
    detail="3.9 over, 0.5 goes in, 1.8 gained: 3.35 L on each of two nights, 446.7 mL/h in 7.5 h, under the cap",
)
def test_the_units_rule_in_equal_parts() -> None:
    ahead = heavy("68.4", TWO)
    assert ahead is not None
    assert ahead.spread is not None
    assert ahead.spread_rate is not None
    assert (ahead.spread.value, ahead.spread_nights, ahead.over_cap) == (D("3.35"), 2, False)
    assert round(ahead.spread_rate.value or D(0), 1) == D("446.7")
    assert [one.entry for one in ahead.spread.inputs if one.name == "nights"] == ["entry-rule"]


@pytest.mark.source("arithmetic", detail="(4.4 + 1.8) / 2 + 0.5 = 3.6 L, more than the 3.386 L of the cap")
def test_a_rule_that_doesnt_fit_under_the_cap_says_so() -> None:
    ahead = heavy("68.9", TWO)
    assert ahead is not None
    assert ahead.spread is not None
    assert (ahead.spread.value, ahead.over_cap) == (D("3.6"), True)


def test_nothing_is_spread_where_tonight_fits() -> None:
    ahead = heavy("66.3", TWO)
    assert ahead is not None
    assert ahead.spread is None


def test_the_band_is_the_persons_own() -> None:
    ahead = heavy("66.3", gains=[D(one) / 10 for one in (14, 16, 18, 20, 22)])
    assert ahead is not None
    assert (ahead.band.low, ahead.band.middle, ahead.band.high) == (D("1.48"), D("1.8"), D("2.12"))
    assert ahead.low[0] == ahead.high[0]
    assert ahead.low[1].over_kg == D("1.48")
    assert ahead.high[1].over_kg == D("2.12")


@pytest.mark.parametrize("change", ["drink", "weight_before", "target_weight", "removal_cap"])
def test_what_isnt_known_tonight_gives_no_next_night(change: str) -> None:
    plan = plan_tonight(usual(**{change: None}))
    assert look_ahead(plan, SAME, 2) is None


def test_too_few_gains_give_none() -> None:
    assert heavy("68.9", gains=SAME[:4]) is None
