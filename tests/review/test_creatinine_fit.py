"""Creatinine beside urea: what the two say of one body, and when they say nothing together."""

from __future__ import annotations

from dataclasses import replace
from math import exp, log

import pytest

from ebbwell.core.text import has_text, say
from ebbwell.review.clearance import clearance_l_min, creatinine_clearance_l_min
from ebbwell.review.creatinine_fit import WithCreatinine, with_creatinine
from ebbwell.review.estimate import Estimate
from ebbwell.review.pair_fit import fit_person
from ebbwell.review.pairs import CreatininePair, Pair, creatinine_month_of
from ebbwell.science.fit import Split, expected
from ebbwell.science.solutes import CREATININE
from tests.review.test_pairs import FLOWS, pair

CLEARED, MADE = 0.140, 0.0075
"""L/min of water; mmol/min, about that of a person of 66 kg: both made up."""
FLOW = CREATININE.figures["between_per_min"].value


def with_both(number: int = 0, *, over: float = 1.0, after: float = 1.0, **change: float) -> Pair:
    """A pair that the model makes, with creatinine of the same person; figures of plasma."""
    one = pair(number, share=change.get("share", 0.56))
    blank = replace(one, creatinine=CreatininePair(1.0, 0.5, CLEARED))
    month = creatinine_month_of(blank)
    assert month is not None
    told = expected(month, change.get("share", 0.56), over, Split(1 / 3, FLOW))
    before, later = (MADE * 0.93 * exp(end) for end in (told.before, told.post))
    return replace(one, creatinine=CreatininePair(before, later * after, CLEARED))


def beside(*pairs: Pair) -> WithCreatinine:
    found = with_creatinine(fit_person(pairs))
    assert found is not None
    return found


def figures(found: WithCreatinine) -> dict[str, Estimate]:
    return {one.name: one for one in found.figures}


@pytest.mark.source("kinetics:A8", detail="figures made by the model with known numbers come back")
def test_what_made_the_figures_is_found_again() -> None:
    told = figures(beside(*(with_both(n) for n in range(6))))
    assert told["creatinine_clearance"].value == pytest.approx(1000 * CLEARED, rel=0.02)
    assert told["creatinine_made"].value == pytest.approx(1440 * MADE, rel=0.02)
    assert told["water_share"].value == pytest.approx(0.56, rel=0.02)
    assert told["water"].value == pytest.approx(told["water_share"].value * 66.0)
    for one in told.values():
        assert one.low < one.value < one.high
        assert has_text(f"estimate.{one.name}")
        assert has_text(f"model.{one.model}")
        assert all(has_text(key) for key in one.rests_on)


def test_creatinine_narrows_what_urea_says_of_the_water() -> None:
    def width(low: float, high: float) -> float:
        return log(high / low)

    pairs = [with_both(n) for n in range(6)]
    alone = fit_person(pairs).figures[0]
    both = figures(beside(*pairs))["water_share"]
    assert width(both.low, both.high) < 0.95 * width(alone.low, alone.high)


@pytest.mark.source(
    "kinetics:A5", detail="the exchange equations with plasma alone, and with all the blood's water"
)
@pytest.mark.parametrize("carried", [0.67, 0.86])
@pytest.mark.parametrize("share", [0.53, 0.56, 0.60])
def test_the_band_of_the_water_holds_either_flow_of_creatinine(carried: float, share: float) -> None:
    """Were creatinine's flow taken as urea's, the band of people whose red cells give none up would miss 0.53."""
    true = clearance_l_min(850, *FLOWS, carried)
    put_in = creatinine_clearance_l_min(850, *FLOWS)
    pairs = [with_both(n, over=true / CLEARED, share=share) for n in range(6)]
    pairs = [
        replace(one, creatinine=one.creatinine._replace(clearance_l_min=put_in))
        for one in pairs
        if one.creatinine
    ]
    water = figures(beside(*pairs))["water_share"]
    assert water.low < share < water.high


def test_pairs_without_creatinine_go_in_with_their_urea_alone() -> None:
    found = beside(*(with_both(n) for n in range(2)), pair(2), pair(3))
    assert found.count == 2
    assert figures(found)["creatinine_made"].value == pytest.approx(1440 * MADE, rel=0.03)


@pytest.mark.parametrize("after", [1.4, 0.7], ids=["too high", "too low"])
def test_creatinine_far_off_is_named_and_nothing_is_told_of_the_two(after: float) -> None:
    pairs = [with_both(n) for n in range(5)] + [with_both(5, after=after)]
    found = beside(*pairs)
    assert found.figures == ()
    assert [one.night for one in found.odd] == [pairs[5].night]
    assert "Creatinine lies far off for" in say(found.cannot, nights="x")


def test_a_clearance_that_cannot_be_gives_no_figure() -> None:
    found = beside(*(with_both(n, over=2.2) for n in range(6)))
    assert (found.figures, found.odd, found.cannot) == ((), (), "fit.creatinine_apart")
    assert has_text(found.cannot)


def test_own_kidneys_keep_creatinine_out_and_that_is_said() -> None:
    found = beside(*(replace(with_both(n), own_kidneys_ml_min=1.0, own_kidneys_by="told") for n in range(3)))
    assert (found.count, found.figures, found.cannot) == (0, (), "fit.creatinine_kidneys")
    assert has_text(found.cannot)


def test_without_creatinine_or_without_a_fit_there_is_nothing_to_say() -> None:
    assert with_creatinine(fit_person([pair(), pair(1)])) is None
    scattered = [
        replace(with_both(n), urea_after=with_both(n).urea_after * (2 if n % 2 else 1)) for n in range(6)
    ]
    own = fit_person(scattered)
    assert own.fit is None
    assert with_creatinine(own) is None
