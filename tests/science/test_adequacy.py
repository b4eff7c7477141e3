"""The dose of a session: refused where there is no answer or outside its hours, and it moves the way it must."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from ebbwell.core.errors import DomainError
from ebbwell.core.text import say
from ebbwell.science import adequacy
from ebbwell.science.catalogue import formula_named, formulas

D = Decimal
RATIO = st.decimals("0.12", "0.6", places=3)
DOSES = st.decimals("0.2", 4, places=2)
HOURS = st.decimals(2, 6, places=1)
LONG = (
    "single_pool_dose",
    "single_pool_dose_by_water",
    "equilibrated_dose_fistula",
    "equilibrated_dose_catheter",
)


def calc(name: str, **inputs: Decimal | str) -> Decimal:
    return formula_named(name).function(**{key: D(value) for key, value in inputs.items()})


def dose(ratio: Decimal, hours: Decimal | str = "4", removal: Decimal | str = "0") -> Decimal:
    return calc(
        "single_pool_dose",
        urea_before_mmol_l="50",
        urea_after_mmol_l=50 * ratio,
        hours_h=hours,
        removal_l=removal,
        weight_kg="70",
    )


def bare(ratio: Decimal, hours: Decimal, removal: Decimal) -> Decimal:
    """The thrice weekly sum without the range of its results."""
    return adequacy.bare_dose(ratio, hours, adequacy.GENERATION_THRICE, removal / 70)


def any_dose(ratio: Decimal, hours: Decimal | str, days: Decimal | str) -> Decimal:
    return calc(
        "single_pool_dose_any",
        urea_before_mmol_l="50",
        urea_after_mmol_l=50 * ratio,
        hours_h=hours,
        removal_l="0",
        weight_kg="70",
        since_last_days=days,
    )


def test_all_are_for_looking_back() -> None:
    here = [one for one in formulas(review=True) if one.function.__module__ == adequacy.__name__]
    assert len(here) == 13
    assert all(one.review_only for one in here)


@pytest.mark.parametrize("name", LONG)
def test_a_long_night_is_refused_where_the_form_is_for_2_to_6_hours(name: str) -> None:
    one = formula_named(name)
    values = {i.name: min(max(D(2), i.low), i.high) for i in one.inputs} | {"hours_h": D(8)}
    with pytest.raises(DomainError) as caught:
        one.function(**values)
    assert caught.value.params["name"] == "hours_h"


@pytest.mark.parametrize("hours", ["2.4", "5.1", "8"])
def test_the_regression_is_for_2_5_to_5_hours(hours: str) -> None:
    with pytest.raises(DomainError):
        calc("equilibrated_dose_regression", dose_factor="1.4", hours_h=hours)


@pytest.mark.source("kinetics:B6", detail="R 0.06, 8 h, 0.008: 0.06 - 0.064 is under 0; refuse, don't clamp")
def test_no_answer_is_refused() -> None:
    with pytest.raises(DomainError) as caught:
        adequacy.bare_dose(D("0.06"), D(8), D("0.008"), D(0))
    assert "8 h" in say(caught.value.key, hours=str(caught.value.params["hours"]))
    with pytest.raises(DomainError):
        any_dose(D("0.06"), "8", "2")
    with pytest.raises(DomainError):
        adequacy.bare_first_generation(D("0.05"), D(4), D("0.032"))
    with pytest.raises(DomainError):
        calc(
            "single_pool_dose_error",
            urea_before_mmol_l="50",
            urea_after_mmol_l="3",
            hours_h="8",
            generation_per_h="0.0087",
            ratio_error_factor="0.01",
            generation_error_per_h="0",
        )


@pytest.mark.parametrize("name", ["urea_reduction", "single_pool_dose", "equilibrated_urea"])
def test_urea_that_rose_is_refused(name: str) -> None:
    one = formula_named(name)
    plain = {"hours_h": "4", "removal_l": "2", "weight_kg": "70"}
    given_ = {i.name: D(plain.get(i.name, "20")) for i in one.inputs} | {"urea_after_mmol_l": D("20.1")}
    with pytest.raises(DomainError) as caught:
        one.function(**given_)
    assert "20.1" in say(caught.value.key, **{k: str(v) for k, v in caught.value.params.items()})


@given(ratio=RATIO, hours=HOURS, removal=st.decimals(0, 5, places=1))
def test_lower_urea_more_hours_and_more_removal_raise_the_dose(
    ratio: Decimal, hours: Decimal, removal: Decimal
) -> None:
    at = bare(ratio, hours, removal)
    assert bare(ratio - D("0.001"), hours, removal) > at
    assert bare(ratio, hours, removal + D("0.1")) > at
    if hours < 6:
        assert bare(ratio, hours + D("0.05"), removal) > at


@given(ratio=st.decimals("0.02", 1, places=3), hours=HOURS, removal=st.decimals(0, 5, places=1))
def test_a_dose_that_the_thrice_weekly_sum_was_not_made_for_is_told_and_refused(
    ratio: Decimal, hours: Decimal, removal: Decimal
) -> None:
    """From 0.7 to 2.1 the figure stands; outside the refusal says what the sum comes to."""
    assume(ratio > D("0.009") * hours)
    at = bare(ratio, hours, removal)
    if D("0.7") <= at <= D("2.1"):
        assert abs(dose(ratio, hours, removal) - at) < D("1e-20")
        return
    with pytest.raises(DomainError) as caught:
        dose(ratio, hours, removal)
    assert caught.value.key == "science.dose_outside"
    told = D(str(caught.value.params["dose"]))
    assert abs(told - at) <= D("0.01")
    assert not D("0.7") <= told <= D("2.1")
    words = say(caught.value.key, **{k: str(v) for k, v in caught.value.params.items()})
    assert f"a dose of {told}" in words
    assert "from 0.7 to 2.1" in words


@pytest.mark.parametrize(
    ("after", "stands"),
    [("26.4292", True), ("26.4293", False), ("7.7228", False), ("7.7229", True)],
    ids=["0.7000", "0.6999", "2.1001", "2.0999"],
)
@pytest.mark.source(
    "kinetics:A1", detail="results from 0.7 to 2.1, from memory: 50 e^-0.7 + 1.6 and 50 e^-2.1 + 1.6"
)
def test_the_ends_of_what_the_thrice_weekly_sum_was_made_for(after: str, stands: bool) -> None:
    inputs = {"urea_before_mmol_l": "50", "urea_after_mmol_l": after, "hours_h": "4", "removal_l": "0"}
    for size in ({"weight_kg": "70"}, {"body_water_l": "40"}):
        name = "single_pool_dose" if "weight_kg" in size else "single_pool_dose_by_water"
        if stands:
            assert D("0.7") <= calc(name, **inputs, **size) <= D("2.1")
        else:
            with pytest.raises(DomainError):
                calc(name, **inputs, **size)


@given(ratio=RATIO, hours=HOURS)
def test_the_removed_fall_comes_back_from_the_dose(ratio: Decimal, hours: Decimal) -> None:
    back = (-bare(ratio, hours, D(0))).exp() + D("0.008") * hours
    assert abs(back - ratio) < D("1e-25")


@given(
    ratio=st.decimals("0.2", "0.6", places=3),
    hours=st.decimals(2, 8, places=1),
    days=st.decimals(1, 4, places=2),
)
def test_the_rule_by_days_runs_through_the_same_sum(ratio: Decimal, hours: Decimal, days: Decimal) -> None:
    generation = calc("generation_by_days", since_last_days=days)
    bare = adequacy.bare_dose(ratio, hours, generation, D(0))
    assert abs(any_dose(ratio, hours, days) - bare) < D("1e-20")


@given(ratio=st.decimals("0.2", "0.4", places=2), slip=st.decimals("0.0001", "0.001", places=4))
def test_the_error_is_the_slope_of_the_dose(ratio: Decimal, slip: Decimal) -> None:
    def error(of_ratio: Decimal, of_generation: Decimal) -> Decimal:
        return calc(
            "single_pool_dose_error",
            urea_before_mmol_l="50",
            urea_after_mmol_l=50 * ratio,
            hours_h="8",
            generation_per_h="0.0087",
            ratio_error_factor=of_ratio,
            generation_error_per_h=of_generation,
        )

    def at(moved: Decimal, generation: Decimal) -> Decimal:
        return adequacy.bare_dose(moved, D(8), generation, D(0))

    generation = D("0.0087")
    by_ratio = at(ratio - slip, generation) - at(ratio, generation)
    by_generation = at(ratio, generation + slip / 10) - at(ratio, generation)
    assert abs(by_ratio - error(slip, D(0))) < error(slip, D(0)) * D("0.01")
    assert abs(by_generation - error(D(0), slip / 10)) < error(D(0), slip / 10) * D("0.01")
    assert error(slip, slip / 10) == pytest.approx(error(slip, D(0)) + error(D(0), slip / 10))


@given(one=DOSES, hours=st.decimals("0.5", 24, places=1))
def test_evening_out_takes_from_the_dose_and_less_on_longer_nights(one: Decimal, hours: Decimal) -> None:
    even = calc("equilibrated_dose_time", dose_factor=one, hours_h=hours)
    assert 0 < even < one
    if hours < 23:
        assert calc("equilibrated_dose_time", dose_factor=one, hours_h=hours + 1) > even


@given(ratio=RATIO, hours=HOURS)
def test_urea_evens_out_upward(ratio: Decimal, hours: Decimal) -> None:
    after = 50 * ratio
    assume(after < 50)
    even = calc("equilibrated_urea", urea_before_mmol_l="50", urea_after_mmol_l=after, hours_h=hours)
    assert after < even < 50
    rest = 50 * (-calc("equilibrated_dose_time", dose_factor=-ratio.ln(), hours_h=hours)).exp()
    assert abs(rest - even) < D("1e-20"), "the same clearance time in both"


@pytest.mark.source("kinetics:A1", detail="R 0.20, 8 h: 2.07 with 0.008, 2.11 with 0.0087, 2.87 with 0.0174")
def test_a_wrong_generation_moves_a_night_a_lot() -> None:
    doses = [
        adequacy.bare_dose(D("0.2"), D(8), D(one), D("1.5") / 68) for one in ("0.008", "0.0087", "0.0174")
    ]
    assert [round(one, 2) for one in doses] == [D("2.07"), D("2.11"), D("2.87")]


@pytest.mark.source("kinetics:A1", detail="the wrong access shifts a 4 h dose by 0.035")
def test_the_access_matters() -> None:
    by_fistula = calc("equilibrated_dose_fistula", dose_factor="1.4", hours_h="4")
    by_catheter = calc("equilibrated_dose_catheter", dose_factor="1.4", hours_h="4")
    assert abs(by_catheter - by_fistula - D("0.0355")) < D("1e-9")


@pytest.mark.source("examples:E1.10", detail="a plus where a times belongs makes 2.99 of 0.118")
def test_the_removal_term_is_a_product() -> None:
    with_term = adequacy.bare_dose(D("0.3"), D(4), D("0.008"), D("0.04"))
    assert abs(with_term - adequacy.bare_dose(D("0.3"), D(4), D("0.008"), D(0)) - D("0.118")) < D("1e-25")
