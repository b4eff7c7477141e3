"""From concentrates to fluid: parts, settings and the acid's share, each counted once."""

from dataclasses import astuple, replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.core.errors import DomainError, InputError
from ebbwell.core.text import say
from ebbwell.science.composition import charge_gap, chloride_by_balance
from ebbwell.science.proportioning import (
    Ions,
    acid_factor,
    after_acid,
    as_set,
    bicarbonate_factor,
    carbon_dioxide_made,
    ion_mixed,
    proportioned,
    stock,
)

D = Decimal
ACID = stock(
    {
        "sodium chloride": D(165),
        "potassium chloride": D("6.00"),
        "calcium chloride dihydrate": D("8.10"),
        "magnesium chloride hexahydrate": D("3.70"),
        "acetic acid": D("9.50"),
        "glucose": D("36.83"),
    }
)
LIQUID = stock({"sodium bicarbonate": D(66), "sodium chloride": D(24)})
FAMILY = {"acid_parts": D("36.83"), "bicarbonate_parts": D("1.83")}
DRY = {"acid_parts": D(35)}
DRY_ACID = replace(ACID, sodium=35 * D(103), chloride=35 * D(109))
SODIUM = st.integers(130, 145).map(Decimal)
BICARBONATE = st.integers(30, 42).map(Decimal)


def close(one: Decimal, other: Decimal) -> bool:
    return abs(one - other) < D("1e-25")


def test_the_acid_reacts_and_the_charges_close() -> None:
    mixed = proportioned(ACID, LIQUID, **FAMILY)
    final = after_acid(mixed)
    assert close(final.chloride, chloride_by_balance(**final.inputs()))
    assert charge_gap(**mixed.inputs(), chloride_mmol_l=mixed.chloride) < -1
    made = carbon_dioxide_made(acetic_acid_mmol_l=mixed.acetate)
    assert close(mixed.bicarbonate - final.bicarbonate, made)
    assert replace(final, bicarbonate=mixed.bicarbonate) == mixed


def test_citric_acid_takes_three_times_its_amount() -> None:
    acid = stock({"sodium chloride": D(200), "citric acid": D("5.38")})
    mixed = proportioned(acid, Ions(), **DRY, dry_bicarbonate=D(36))
    assert close(mixed.bicarbonate - after_acid(mixed).bicarbonate, 3 * mixed.citrate)


def test_dry_bicarbonate_brings_sodium_and_bicarbonate_alone() -> None:
    without = proportioned(DRY_ACID, Ions(), **DRY)
    with_dry = proportioned(DRY_ACID, Ions(), **DRY, dry_bicarbonate=D(35))
    assert with_dry == replace(without, sodium=without.sodium + 35, bicarbonate=D(35))


@given(sodium=SODIUM, bicarbonate=BICARBONATE)
def test_settings_are_met_with_liquid_bicarbonate(sodium: Decimal, bicarbonate: Decimal) -> None:
    mixed = as_set(ACID, LIQUID, **FAMILY, sodium_set=sodium, bicarbonate_set=bicarbonate)
    assert close(mixed.sodium, sodium)
    assert close(mixed.bicarbonate, bicarbonate)
    assert all(value >= 0 for value in astuple(after_acid(mixed)))


@given(sodium=SODIUM, bicarbonate=BICARBONATE)
def test_settings_are_met_with_dry_bicarbonate(sodium: Decimal, bicarbonate: Decimal) -> None:
    mixed = as_set(DRY_ACID, Ions(), **DRY, sodium_set=sodium, bicarbonate_set=bicarbonate)
    assert close(mixed.sodium, sodium)
    assert close(mixed.bicarbonate, bicarbonate)
    final = after_acid(mixed)
    assert all(value >= 0 for value in astuple(final))


@given(sodium=SODIUM)
def test_a_sodium_setting_takes_potassium_and_calcium_along(sodium: Decimal) -> None:
    at_138 = as_set(DRY_ACID, Ions(), **DRY, sodium_set=D(138), bicarbonate_set=D(35))
    mixed = as_set(DRY_ACID, Ions(), **DRY, sodium_set=sodium, bicarbonate_set=D(35))
    factor = (sodium - 35) / D(103)
    for name in ("potassium", "calcium", "magnesium", "acetate", "glucose"):
        assert close(getattr(mixed, name), factor * getattr(at_138, name))


def test_the_label_itself_is_factor_one() -> None:
    mixed = proportioned(ACID, LIQUID, **FAMILY)
    again = as_set(ACID, LIQUID, **FAMILY, sodium_set=mixed.sodium, bicarbonate_set=mixed.bicarbonate)
    assert all(close(one, other) for one, other in zip(astuple(mixed), astuple(again), strict=True))


def test_more_bicarbonate_at_the_same_sodium_means_less_acid() -> None:
    low = as_set(DRY_ACID, Ions(), **DRY, sodium_set=D(138), bicarbonate_set=D(32))
    high = as_set(DRY_ACID, Ions(), **DRY, sodium_set=D(138), bicarbonate_set=D(38))
    assert high.potassium < low.potassium


@pytest.mark.parametrize(
    ("sodium", "from_acid", "from_bicarbonate"),
    [("138", "20", "0"), ("100", "150", "60"), ("100", "100", "120")],
)
def test_a_setting_out_of_reach_is_refused(sodium: str, from_acid: str, from_bicarbonate: str) -> None:
    with pytest.raises(DomainError) as caught:
        acid_factor(
            sodium_set_mmol_l=D(sodium),
            sodium_from_acid_mmol_l=D(from_acid),
            sodium_from_bicarbonate_mmol_l=D(from_bicarbonate),
        )
    assert "0.5 to 1.5 times the label" in say(caught.value.key, **caught.value.params)
    with pytest.raises(DomainError):
        bicarbonate_factor(bicarbonate_set_mmol_l=D(60), bicarbonate_label_mmol_l=D(35))


def test_a_45x_acid_at_35_parts_puts_29_mmol_of_sodium_too_much_in() -> None:
    right = ion_mixed(acid_stock_mmol_l=D(4635), acid_parts=D(45))
    wrong = ion_mixed(acid_stock_mmol_l=D(4635), acid_parts=D(35))
    assert close(wrong * 35, right * 45)
    assert 29 < wrong - right < 30


@pytest.mark.parametrize(
    ("grams", "key"),
    [
        ({"table salt": "1"}, "science.unknown_salt"),
        ({"calcium": "1"}, "science.unknown_salt"),
        ({"glucose": "-1"}, "science.grams"),
        ({"glucose": "NaN"}, "science.grams"),
    ],
)
def test_a_label_is_not_guessed(grams: dict[str, str], key: str) -> None:
    with pytest.raises(InputError) as caught:
        stock({name: D(text) for name, text in grams.items()})
    assert caught.value.key == key
    assert next(iter(grams)) in say(caught.value.key, **caught.value.params)


def test_equal_parts_of_two_labels_add_up() -> None:
    both = stock({"sodium chloride": D(10), "sodium bicarbonate": D(10)})
    assert close(both.sodium, both.chloride + both.bicarbonate)
