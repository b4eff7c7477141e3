"""Body water and surface: what no body can hold is refused, grown-ups' rules refuse a child."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.core.errors import DomainError
from ebbwell.core.text import say
from ebbwell.science import body, body_surface
from ebbwell.science.catalogue import formula_named, formulas

D = Decimal
HERE = {body.__name__, body_surface.__name__}
NAMES = [one.name for one in formulas(review=True) if one.function.__module__ in HERE]
ADULT = [name for name in NAMES if any(i.name == "age_years" for i in formula_named(name).inputs)]
AGES = st.integers(16, 100).map(Decimal)
HEIGHTS = st.integers(150, 195).map(Decimal)
WEIGHTS = st.integers(50, 100).map(Decimal)
SODIUM = st.decimals(125, 150, places=1)


def water(name: str, **inputs: str | Decimal) -> Decimal:
    return formula_named(name).function(**{key: D(value) for key, value in inputs.items()})


def test_all_are_for_looking_back() -> None:
    assert len(NAMES) == 26
    assert all(formula_named(name).review_only for name in NAMES)


@pytest.mark.parametrize("name", ADULT)
def test_refuses_a_child(name: str) -> None:
    with pytest.raises(DomainError) as caught:
        water(name, age_years="15", height_cm="160", weight_kg="50")
    assert caught.value.params["name"] == "age_years"
    assert len(ADULT) == 8


@pytest.mark.parametrize("name", ADULT)
@given(age=AGES, height=HEIGHTS, weight=WEIGHTS)
def test_a_plain_body_holds_a_plain_share(name: str, age: Decimal, height: Decimal, weight: Decimal) -> None:
    litres = water(name, age_years=age, height_cm=height, weight_kg=weight)
    assert D("0.3") * weight < litres < D("0.9") * weight


def test_water_that_no_body_holds_is_refused() -> None:
    with pytest.raises(DomainError) as caught:
        water("body_water_watson_man", age_years="20", height_cm="220", weight_kg="20")
    assert "20 kg" in say(caught.value.key, **{k: str(v) for k, v in caught.value.params.items()})


@pytest.mark.parametrize("litres", ["0", "-1", "70", "70.1"])
def test_the_check_of_the_litres(litres: str) -> None:
    with pytest.raises(DomainError):
        body.possible_water(D(litres), D(70))
    assert body.possible_water(D("69.9"), D(70)) == D("69.9")


@given(height=st.integers(140, 200), weight=st.integers(40, 120))
def test_the_rules_for_surface_agree_roughly(height: int, weight: int) -> None:
    rules = ("dubois", "gehan_george", "haycock", "mosteller")
    each = [water(f"body_surface_{rule}", height_cm=D(height), weight_kg=D(weight)) for rule in rules]
    assert max(each) <= min(each) * D("1.2")


@given(
    litres=st.integers(20, 60).map(Decimal), after=SODIUM, before=SODIUM, gained=st.decimals(0, 5, places=2)
)
def test_salt_and_water_make_the_gain(
    litres: Decimal, after: Decimal, before: Decimal, gained: Decimal
) -> None:
    taken = water(
        "sodium_taken_in",
        body_water_l=litres,
        sodium_after_mmol_l=after,
        sodium_before_mmol_l=before,
        fluid_gained_l=gained,
    )
    try:
        salt = water("gain_with_salt", sodium_taken_mmol=taken, sodium_after_mmol_l=after)
    except DomainError:
        assert taken < -1000
        return
    plain = water("gain_as_water", fluid_gained_l=gained, sodium_taken_mmol=taken, sodium_after_mmol_l=after)
    assert abs(salt + plain - gained) < D("1e-25")
    own = water(
        "gain_by_thirst",
        body_water_l=litres,
        sodium_after_mmol_l=after,
        own_sodium_mmol_l=before,
        sodium_taken_mmol=taken,
    )
    assert abs(own - gained) < D("1e-25"), "the level before, as own level, gives the gain back"
