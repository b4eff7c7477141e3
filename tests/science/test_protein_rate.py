"""The protein rate is refused where no form is in print; own kidneys by the plain mean."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.core.errors import DomainError
from ebbwell.core.text import say
from ebbwell.science import protein_rate
from ebbwell.science.catalogue import formula_named, formulas, names
from ebbwell.science.protein_rate import FORMS, protein_form

D = Decimal
NITROGEN = st.integers(20, 120).map(Decimal)
DOSES = st.decimals("0.5", 2, places=2)


def calc(name: str, **inputs: Decimal | str) -> Decimal:
    return formula_named(name).function(**{key: D(value) for key, value in inputs.items()})


def own(after: str, before: str) -> Decimal:
    return calc(
        "own_kidneys",
        urine_urea_mmol_l="180",
        urine_ml="600",
        collected_min="2640",
        urea_after_mmol_l=after,
        urea_before_mmol_l=before,
    )


def test_all_are_for_looking_back() -> None:
    here = [one for one in formulas(review=True) if one.function.__module__ == protein_rate.__name__]
    assert len(here) == 12
    assert all(one.review_only for one in here)


@pytest.mark.parametrize(
    ("sessions", "place"), [(4, 1), (5, 2), (6, 1), (7, 7), (3, 4), (2, 3), (3, 0), (1, 1)]
)
def test_no_form_for_other_schedules(sessions: int, place: int) -> None:
    with pytest.raises(DomainError) as caught:
        protein_form(sessions, place)
    assert f"{sessions} sessions" in say(caught.value.key, sessions=str(sessions))


def test_each_form_is_a_formula() -> None:
    assert {protein_form(*key) for key in FORMS} <= set(names(review=True))
    assert len(set(FORMS.values())) == 5


@pytest.mark.parametrize("form", sorted(FORMS.values()))
@given(nitrogen=NITROGEN, dose=DOSES)
def test_more_nitrogen_is_more_protein(form: str, nitrogen: Decimal, dose: Decimal) -> None:
    at = calc(form, urea_nitrogen_mg_dl=nitrogen, equilibrated_factor=dose)
    more = calc(form, urea_nitrogen_mg_dl=2 * nitrogen, equilibrated_factor=dose)
    assert abs((more - D("0.168")) - 2 * (at - D("0.168"))) < D("1e-25")


@pytest.mark.parametrize("often", ["thrice", "twice"])
@given(nitrogen=NITROGEN, dose=DOSES, kidneys=st.decimals(0, 5, places=1))
def test_own_kidneys_only_raise_the_nitrogen(
    often: str, nitrogen: Decimal, dose: Decimal, kidneys: Decimal
) -> None:
    ours = calc(
        f"urea_nitrogen_with_own_{often}",
        urea_nitrogen_mg_dl=nitrogen,
        equilibrated_factor=dose,
        own_kidneys_ml_min=kidneys,
        body_water_l="36",
    )
    assert ours >= nitrogen
    assert (ours == nitrogen) is (kidneys == 0)


@given(made=st.decimals(1, 15, places=1), litres=st.decimals(20, 60, places=1))
def test_the_rate_is_the_total_over_the_weight(made: Decimal, litres: Decimal) -> None:
    """Weight is water over 0.58; the printed figures are rounded, hence 0.5 %."""
    rate = calc("protein_rate_any", nitrogen_made_mg_min=made, body_water_l=litres)
    total = calc("protein_total", nitrogen_made_mg_min=made, body_water_l=litres)
    assert abs(total * D("0.58") / litres - rate) < rate * D("0.005")


def test_urea_must_rise_between_sessions() -> None:
    with pytest.raises(DomainError) as caught:
        own("20", "19.9")
    assert "19.9" in say(caught.value.key, **{k: str(v) for k, v in caught.value.params.items()})
    assert own("20", "20") > 0


@given(after=st.integers(2, 15), rise=st.integers(0, 20))
def test_the_mean_is_the_plain_one(after: int, rise: int) -> None:
    before = after + rise
    mean = D(180) * 600 / (2640 * own(str(after), str(before)))
    assert abs(mean - D(after + before) / 2) < D("1e-20")
