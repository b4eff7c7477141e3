"""The dose of a week, and which measure may be quoted for which schedule."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.core.errors import DomainError
from ebbwell.core.text import say
from ebbwell.science import weekly_dose
from ebbwell.science.catalogue import formula_named, formulas, names
from ebbwell.science.weekly_dose import measures_for

D = Decimal
SESSIONS = st.integers(2, 7).map(Decimal)
MINUTES = st.integers(90, 600).map(Decimal)
DOSES = st.decimals("0.2", 3, places=2)


def calc(name: str, **inputs: Decimal | str) -> Decimal:
    return formula_named(name).function(**{key: D(value) for key, value in inputs.items()})


def standard(dose: Decimal | str, even: Decimal | str, sessions: Decimal, minutes: Decimal) -> Decimal:
    return calc(
        "standard_dose",
        dose_factor=dose,
        equilibrated_factor=even,
        sessions_per_week=sessions,
        minutes_min=minutes,
    )


def may(sessions: int, hours: str) -> set[str]:
    return {one.name for one in measures_for(sessions, D(hours)) if not one.why_not}


def test_all_are_for_looking_back() -> None:
    here = [one for one in formulas(review=True) if one.function.__module__ == weekly_dose.__name__]
    assert len(here) == 10
    assert all(one.review_only for one in here)


@given(sessions=SESSIONS, minutes=MINUTES, step=st.integers(3, 12))
def test_no_dose_is_the_limit_of_little_dose(sessions: Decimal, minutes: Decimal, step: int) -> None:
    little = D(10) ** -step
    assert standard("0", "0", sessions, minutes) == 0
    assert 0 < standard(little, little * D("0.9"), sessions, minutes) < 8 * little


@given(dose=DOSES, sessions=st.integers(2, 6).map(Decimal), minutes=MINUTES)
def test_more_sessions_or_more_dose_make_a_larger_week(
    dose: Decimal, sessions: Decimal, minutes: Decimal
) -> None:
    even = dose * minutes / (minutes + 35)
    at = standard(dose, even, sessions, minutes)
    assert standard(dose, even, sessions + 1, minutes) > at
    assert standard(dose + 1, even + 1, sessions, minutes) > at
    assert at < sessions * dose, "a week counts less than its sessions added up"


def test_an_evened_out_dose_above_the_dose_is_refused() -> None:
    with pytest.raises(DomainError) as caught:
        standard("1.2", "1.21", D(3), D(240))
    assert "1.21" in say(caught.value.key, **{k: str(v) for k, v in caught.value.params.items()})


@given(
    plain=st.decimals("1.5", 6, places=2),
    removal=st.decimals(0, 12, places=1),
    own=st.decimals(0, 5, places=1),
)
def test_removal_and_own_kidneys_only_add(plain: Decimal, removal: Decimal, own: Decimal) -> None:
    def whole(removed: Decimal, kidneys: Decimal) -> Decimal:
        return calc(
            "standard_dose_with_fluid",
            standard_per_week=plain,
            dose_factor="1.4",
            sessions_per_week="3",
            week_removal_l=removed,
            own_kidneys_ml_min=kidneys,
            body_water_l="36",
        )

    assert whole(D(0), D(0)) == plain
    assert whole(removal, own) >= plain
    assert whole(removal + 1, own) > whole(removal, own)
    assert whole(removal, own + 1) > whole(removal, own)


def test_more_removal_than_water_is_refused() -> None:
    with pytest.raises(DomainError) as caught:
        calc(
            "standard_dose_with_fluid",
            standard_per_week="2",
            dose_factor="1.4",
            sessions_per_week="2",
            week_removal_l="40",
            own_kidneys_ml_min="0",
            body_water_l="10",
        )
    assert "40 L" in say(caught.value.key, removal=str(caught.value.params["removal"]))


@given(ekr=st.decimals(1, 60, places=2), litres=st.decimals(10, 80, places=1))
def test_the_two_ways_to_tell_it_are_one(ekr: Decimal, litres: Decimal) -> None:
    of_40 = calc("renal_clearance_like_40", ekr_ml_min=ekr, body_water_l=litres)
    week = calc("renal_clearance_like_week", ekr_ml_min=ekr, body_water_l=litres)
    assert abs(of_40 * D("10.08") / 40 - week) < D("1e-25")


def test_children_and_grown_ups_are_not_merged() -> None:
    inputs = {"standard_per_week": "2.2", "body_water_l": "20", "surface_m2": "1.1"}
    ratio = calc("surface_dose_child", **inputs) / calc("surface_dose_adult", **inputs)
    assert abs(ratio - D(20) / D("17.5")) < D("1e-25")
    assert weekly_dose.SURFACE_ADULT != weekly_dose.SURFACE_CHILD


@pytest.mark.parametrize("sessions", [4, 5, 6, 7])
def test_no_figure_of_three_sessions_is_quoted_for_more_nights(sessions: int) -> None:
    quoted = may(sessions, "8")
    assert quoted == {
        "single_pool_dose_any",
        "equilibrated_dose_time",
        "standard_dose",
        "standard_dose_with_fluid",
        "renal_clearance_like",
        "protein_rate_any",
    }


def test_three_long_nights_keep_out_what_is_for_short_ones() -> None:
    quoted = may(3, "8")
    assert not quoted & {"urea_reduction", "single_pool_dose", "equilibrated_dose_fistula"}
    assert "equilibrated_dose_regression" not in quoted
    assert "renal_clearance_like_thrice" in quoted


@pytest.mark.source("kinetics:A1", detail="the share removed is a measure for under 5 h alone")
def test_the_share_removed_is_quoted_under_five_hours() -> None:
    assert "urea_reduction" in may(3, "4.99")
    assert "urea_reduction" not in may(3, "5")


def test_three_short_sessions_may_have_all_of_theirs() -> None:
    out = {one.name for one in measures_for(3, D(4)) if one.why_not}
    assert out == {"protein_rate_twice_first", "protein_rate_twice_second"}
    assert {"urea_reduction", "protein_rate_thrice_first"} & may(2, "4") == set()


@given(sessions=st.integers(2, 7), hours=st.decimals("0.5", 24, places=1))
def test_each_measure_is_a_formula_and_each_no_has_words(sessions: int, hours: Decimal) -> None:
    measures = measures_for(sessions, hours)
    assert {one.name for one in measures} <= set(names(review=True))
    assert len({one.name for one in measures}) == len(measures)
    assert all(say(one.why_not) for one in measures if one.why_not)


@pytest.mark.parametrize(("sessions", "hours"), [(1, "4"), (8, "4"), (3, "0.4"), (3, "25"), (3, "NaN")])
def test_a_schedule_outside_is_refused(sessions: int, hours: str) -> None:
    with pytest.raises(DomainError):
        measures_for(sessions, D(hours))
