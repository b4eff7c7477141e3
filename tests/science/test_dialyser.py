"""Dialysers: size and clearance are each other's inverse, equal flows make no leap, nothing clears more than flows."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.core.errors import DomainError
from ebbwell.core.text import say
from ebbwell.science import dialyser
from ebbwell.science.catalogue import formula_named, formulas

D = Decimal
BLOOD = st.integers(100, 500).map(Decimal)
DIALYSATE = st.integers(100, 900).map(Decimal)
SIZE = st.integers(50, 1500).map(Decimal)
SMALL = st.decimals(0, 40, places=1)


def calc(name: str, **inputs: Decimal | str) -> Decimal:
    return formula_named(name).function(**{key: D(value) for key, value in inputs.items()})


def cleared(koa: Decimal, blood: Decimal, dialysate: Decimal) -> Decimal:
    return calc(
        "clearance_of_dialyser", koa_ml_min=koa, blood_flow_ml_min=blood, dialysate_flow_ml_min=dialysate
    )


def test_all_are_for_looking_back() -> None:
    here = [one for one in formulas(review=True) if one.function.__module__ == dialyser.__name__]
    assert len(here) == 13
    assert all(one.review_only for one in here)


@given(koa=SIZE, blood=BLOOD, dialysate=DIALYSATE)
def test_size_and_clearance_are_inverse(koa: Decimal, blood: Decimal, dialysate: Decimal) -> None:
    clearance = cleared(koa, blood, dialysate)
    assert 0 < clearance < min(blood, dialysate)
    if clearance > min(blood, dialysate) * D("0.999999"):
        return
    back = calc(
        "koa_of_clearance",
        clearance_ml_min=clearance,
        blood_flow_ml_min=blood,
        dialysate_flow_ml_min=dialysate,
    )
    assert abs(back - koa) <= D("1e-15") * koa


@given(koa=SIZE, blood=BLOOD, step=st.integers(3, 18))
def test_no_leap_at_equal_flows(koa: Decimal, blood: Decimal, step: int) -> None:
    hair = D(10) ** -step
    at = cleared(koa, blood, blood)
    assert abs(at - koa * blood / (koa + blood)) < D("1e-25") * blood
    above, below = cleared(koa, blood, blood + hair), cleared(koa, blood, blood - hair)
    assert below < at < above
    assert above - below < 3 * hair
    assert abs(above + below - 2 * at) < 50 * hair * hair + D("1e-28")


@given(clearance=st.integers(20, 190), step=st.integers(3, 18))
def test_no_leap_of_the_size_at_equal_flows(clearance: int, step: int) -> None:
    hair = D(10) ** -step

    def size(dialysate: Decimal) -> Decimal:
        return calc(
            "koa_of_clearance",
            clearance_ml_min=D(clearance),
            blood_flow_ml_min="200",
            dialysate_flow_ml_min=dialysate,
        )

    at = size(D(200))
    assert abs(at - D(200) * clearance / (200 - clearance)) < D("1e-20")
    assert size(200 + hair) < at < size(200 - hair)
    assert size(200 - hair) - size(200 + hair) < 1000 * hair


@given(koa=SIZE, blood=BLOOD, dialysate=DIALYSATE)
def test_more_flow_or_size_clears_more(koa: Decimal, blood: Decimal, dialysate: Decimal) -> None:
    at = cleared(koa, blood, dialysate)
    assert at <= cleared(koa + 10, blood, dialysate)
    assert at <= cleared(koa, blood + 10, dialysate)
    assert at <= cleared(koa, blood, dialysate + 10)


@given(blood=BLOOD, removal=SMALL, went_in=st.integers(5, 60).map(Decimal), share=st.decimals(0, 1, places=3))
def test_the_two_ways_to_write_removal_agree(
    blood: Decimal, removal: Decimal, went_in: Decimal, share: Decimal
) -> None:
    came_out = went_in * share
    ours = calc(
        "clearance_with_removal",
        blood_flow_ml_min=blood,
        removal_ml_min=removal,
        urea_in_mmol_l=went_in,
        urea_out_mmol_l=came_out,
    )
    other = blood * (went_in - came_out) / went_in + removal * came_out / went_in
    assert abs(ours - other) < D("1e-20")
    assert ours <= blood + D("1e-20")


@given(blood=BLOOD, removal=SMALL, share=st.decimals("0.1", "0.98", places=2))
def test_what_is_foretold_lies_below_the_sum(blood: Decimal, removal: Decimal, share: Decimal) -> None:
    clearance = blood * share
    inputs = {"clearance_ml_min": clearance, "blood_flow_ml_min": blood, "removal_ml_min": removal}
    assert clearance <= calc("clearance_predicted", **inputs) <= min(blood, clearance + removal)
    assert clearance <= calc("clearance_predicted_by_share", **inputs) <= clearance + removal


@given(blood=BLOOD, share=st.decimals("0.1", "0.98", places=2), back=st.decimals(0, 60, places=1))
def test_recirculation_only_takes_away(blood: Decimal, share: Decimal, back: Decimal) -> None:
    def left(percent: Decimal) -> Decimal:
        return calc(
            "clearance_with_recirculation",
            clearance_ml_min=blood * share,
            blood_flow_ml_min=blood,
            recirculation_percent=percent,
        )

    assert abs(left(D(0)) - blood * share) < D("1e-25")
    assert left(back + 1) < left(back) <= blood * share


@given(pressure=st.integers(0, 390).map(Decimal))
def test_removal_rises_to_its_ceiling_and_is_nothing_at_the_offset(pressure: Decimal) -> None:
    def flow(at: Decimal) -> Decimal:
        return calc(
            "removal_flow_saturating",
            ceiling_ml_h="4500",
            steepness_factor="2",
            transmembrane_mmhg=at,
            offset_mmhg="22",
        )

    assert flow(pressure) < flow(pressure + 10) < 4500
    assert flow(D(22)) == 0


REFUSED = (
    ("koa_of_clearance", ("300", "300", "500"), "science.clearance_over_flow"),
    ("koa_of_clearance", ("200", "300", "200"), "science.clearance_over_flow"),
    ("clearance_with_removal", ("60", "60", "20", "5"), "science.removal_over_flow"),
    ("clearance_with_removal", ("200", "5", "20", "20.1"), "science.after_above_before"),
    ("clearance_predicted", ("300", "300", "10"), "science.clearance_over_flow"),
    ("clearance_predicted", ("50", "80", "80"), "science.removal_over_flow"),
    ("clearance_predicted_by_share", ("300", "300", "10"), "science.clearance_over_flow"),
    ("recirculation", ("17", "20", "6"), "science.samples_out_of_order"),
    ("recirculation", ("20", "6", "6"), "science.samples_out_of_order"),
    ("recirculation_by_dilution", ("101", "100"), "science.samples_out_of_order"),
    ("clearance_with_recirculation", ("301", "300", "5"), "science.clearance_over_flow"),
    ("clearance_heart_lung", ("250", "1000", "1000"), "science.access_over_heart"),
)


@pytest.mark.parametrize(("name", "values", "key"), REFUSED)
def test_what_cannot_be_is_refused_in_words(name: str, values: tuple[str, ...], key: str) -> None:
    one = formula_named(name)
    with pytest.raises(DomainError) as caught:
        one.function(**dict(zip((i.name for i in one.inputs), map(D, values), strict=True)))
    assert caught.value.key == key
    assert say(key, **{name: str(value) for name, value in caught.value.params.items()})
