"""Pairs of bloods on their way to the sums, and what one person's pairs say or can't say."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from math import exp

import pytest

from ebbwell.core.errors import DomainError
from ebbwell.core.text import has_text, say
from ebbwell.review.basis import Nights
from ebbwell.review.clearance import clearance_l_min
from ebbwell.review.pair_fit import PersonFit, fit_people, fit_person, rests_on
from ebbwell.review.pairs import OWN_BY, Pair, basis_of, doses_of, leaflet_koa, month_of, present_of
from ebbwell.review.patterns import compare
from ebbwell.rulebook.load import load_rulebook
from ebbwell.science.fit import Known, expected

NIGHTS = Nights((0, 1, 3, 5), 7)
KOA, FLOWS = 1050.0, (230.0, 300.0)
FIRST = date(2025, 5, 5)
"""A Monday."""


def pair(
    number: int = 0, *, over: float = 1.0, share: float = 0.56, after: float = 1.0, **change: object
) -> Pair:
    """The pair that the model makes of a person who makes 0.22 mmol/min, with figures of plasma."""
    plain = Pair(
        night=FIRST + timedelta(days=28 * number),
        urea_before=2.0,
        urea_after=1.0,
        weight_kg=66.0,
        minutes=480.0,
        clearance_l_min=clearance_l_min(KOA, *FLOWS),
        gain_l_day=0.9,
        nights=NIGHTS,
        blood_flow_ml_min=FLOWS[0],
        fluid_flow_ml_min=FLOWS[1],
        koa_ml_min=KOA,
        clearance_by="leaflet",
    )
    asked = replace(plain, **change)  # type: ignore[arg-type]
    told = expected(month_of(asked), share, over)
    made = 0.22 * 0.93
    return replace(asked, urea_before=made * exp(told.before), urea_after=made * exp(told.post) * after)


def figures(found: PersonFit) -> dict[str, tuple[float, float, float]]:
    return {one.name: (one.low, one.value, one.high) for one in found.figures}


@pytest.mark.source("kinetics:A1", detail="section 0: plasma water concentration is that of plasma / 0.93")
def test_a_pair_goes_to_the_model_in_water_and_minutes() -> None:
    month = month_of(replace(pair(), urea_before=18.6, urea_after=3.72, own_kidneys_ml_min=2.0, which=2))
    assert (month.before, month.post) == pytest.approx((20.0, 4.0))
    assert month.residual_l_min == pytest.approx(0.00186)
    assert month.starts_min == (0.0, 1440.0, 4320.0, 7200.0)
    assert (month.which, month.cycle_min, month.gain_l_min) == (2, 10080.0, 0.9 / 1440)


def test_fluid_is_told_or_what_came_in_since_the_last() -> None:
    assert pair().fluid_l == pytest.approx(0.9 * (2 - 480 / 1440))
    assert replace(pair(), which=1).fluid_l == pytest.approx(0.9 * (1 - 480 / 1440))
    assert replace(pair(), removed_l=1.3).fluid_l == 1.3


@pytest.mark.parametrize("flows", [(230.0, 300.0), (300.0, 500.0), (258.0, 221.88), (60.0, 1000.0)])
def test_mass_transfer_and_clearance_go_both_ways(flows: tuple[float, float]) -> None:
    assert leaflet_koa(clearance_l_min(KOA, *flows), *flows) == pytest.approx(KOA, rel=1e-6)


def test_a_comparison_without_flows_is_refused() -> None:
    one = replace(pair(), blood_flow_ml_min=None)
    found = fit_person([one])
    assert found.fit is not None
    for call in (lambda: present_of(one), lambda: basis_of([one], found.fit)):  # type: ignore[arg-type]
        with pytest.raises(DomainError) as caught:
            call()
        assert caught.value.key == "pairs.flows_needed"


@pytest.mark.parametrize("typed", [False, True])
def test_the_pattern_of_now_compares_to_what_the_fit_says_of_it(typed: bool) -> None:
    """Two ways to one figure: the fit's, one by one, and the comparison's, many at once with the dialyser anew."""
    ones = [pair(n, over=1.08, share=0.52) for n in range(4)]
    if typed:
        ones = [replace(one, koa_ml_min=None, clearance_by="") for one in ones]
    found = fit_person(ones)
    assert found.fit is not None
    basis = basis_of(found.pairs, found.fit)
    assert basis.koa_ml_min["urea"] == pytest.approx(KOA, rel=1e-9)
    (now,) = compare(basis, [basis.present])
    band = now.figures["standard_dose"].band
    assert band is not None
    low, middle, high = figures(found)["standard_by_model"]
    assert band.middle == pytest.approx(middle, rel=1e-6)
    assert band.low < low < middle < high < band.high, "the comparison carries the range of the split too"


def test_other_substances_reach_the_comparison() -> None:
    one = replace(pair(), levels=(("phosphate", 1.6),), koas=(("phosphate", 800.0),))
    found = fit_person([one])
    assert found.fit is not None
    basis = basis_of([one], found.fit)
    (now,) = compare(basis, [basis.present])
    assert now.figures["phosphate_before"].band is not None
    assert basis.drawn_before == {"phosphate": 0}
    assert 1.4 < now.figures["phosphate_before"].band.middle < 1.6, (
        "drawn after the longest gap, told as the mean"
    )
    assert now.figures["beta_2_before"].band is None


@pytest.mark.source("kinetics:A8", detail="pre and post: two equations for V and G, where K is known")
def test_what_made_the_bloods_is_found_again() -> None:
    exact = Known(lab_doubt=1e-4, water_doubt=5.0, clearance_doubt=1e-4)
    found = fit_person([pair(n) for n in range(3)], exact)
    told = figures(found)
    assert told["water_share"][1] == pytest.approx(0.56, rel=1e-4)
    assert told["water"][1] == pytest.approx(0.56 * 66, rel=1e-4)
    assert told["made"][1] == pytest.approx(0.22, rel=1e-4)
    assert told["clearance"][1] == pytest.approx(1000 * clearance_l_min(KOA, *FLOWS), rel=1e-4)
    assert (found.odd, found.cannot) == ((), "")
    assert len(found.months) == 3


def test_every_figure_has_a_band_a_model_a_source_and_what_it_rests_on() -> None:
    sources = {one.key for one in load_rulebook().sources()}
    for one in fit_person([pair()]).figures:
        assert one.low < one.value < one.high
        assert one.source in sources
        assert has_text(f"estimate.{one.name}")
        assert has_text(f"model.{one.model}")
        assert all(map(has_text, one.rests_on))


def test_what_the_clearance_and_the_urine_rest_on_is_told() -> None:
    assert {rests_on(replace(pair(), own_kidneys_by=by))[-1] for by in OWN_BY} == {
        "rests.own_told", "rests.urine", "rests.urine_day", "rests.no_urine",
    }  # fmt: skip
    assert "rests.koa" in rests_on(pair())
    assert "rests.clearance" in rests_on(replace(pair(), clearance_by=""))


def test_pairs_are_sorted_and_an_odd_one_is_named() -> None:
    ones = [pair(n, after=1.3 if n == 4 else 1.0) for n in range(12)]
    found = fit_person(ones[::-1])
    assert [one.night for one in found.pairs] == [one.night for one in ones if one is not ones[4]]
    assert found.odd == (ones[4],)
    assert found.months == fit_person([one for one in ones if one is not ones[4]]).months
    assert fit_person([pair(after=1.3)]).odd == ()


def test_doubt_left_falls_with_the_bloods_and_stays_below_what_was_put_in() -> None:
    one, year = (fit_person([pair(n) for n in range(count)]).doubt_left for count in (1, 12))
    assert 0 < year["water_share"] < one["water_share"] < 1
    loose = fit_person([pair(n) for n in range(12)], Known(water_doubt=0.5, clearance_doubt=0.1))
    assert loose.leans == ("clearance_over",)


def test_bloods_that_contradict_what_was_put_in_give_no_figure() -> None:
    found = fit_person([pair(n, over=2.2) for n in range(12)])
    assert (found.fit, found.figures, found.cannot) == (None, (), "fit.cannot_apart")
    assert "2" in found.cannot_params["times"]
    assert say(found.cannot, **found.cannot_params).startswith("The bloods can't tell.")


def test_bloods_that_lie_all_over_give_no_figure() -> None:
    found = fit_person([pair(n, after=1.35 if n % 2 else 0.8) for n in range(8)])
    assert (found.fit, found.cannot) == (None, "fit.cannot_scatter")
    assert say(found.cannot).startswith("The bloods can't tell.")


def test_bloods_that_the_model_cannot_take_say_why() -> None:
    found = fit_person(
        [replace(pair(), nights=Nights((0,), 7), gain_l_day=10.0, urea_before=30.0, urea_after=9.0)]
    )
    assert found.fit is None
    assert has_text(found.cannot)
    with pytest.raises(DomainError):
        fit_person([])


def test_people_are_told_one_by_one() -> None:
    ones = [replace(pair(n), person=who) for n in range(3) for who in ("B", "A")]
    assert [(one.person, len(one.pairs)) for one in fit_people(ones)] == [("B", 3), ("A", 3)]


@pytest.mark.source("examples:E1.10", detail="modified URR 70 %, 2.5 L, 70 kg, 4 h: equivalent to spKt/V 1.2")
def test_the_dose_of_a_pair_is_that_of_print() -> None:
    one = Pair(
        night=date(2026, 4, 29), urea_before=30.0, urea_after=30 * 0.364286, weight_kg=70.0, minutes=240.0,
        clearance_l_min=0.2, gain_l_day=1.2, nights=Nights((0, 2, 4), 7), which=1, removed_l=2.5,
    )  # fmt: skip
    found = {each.key: each for each in doses_of(one)}
    value = found["single_pool_dose"].worked.value
    assert value is not None
    assert float(value) == pytest.approx(1.2, abs=0.05)
    assert found["standard_dose_by_model"].worked.value is None
