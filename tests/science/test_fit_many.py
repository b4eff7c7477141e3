"""Many months at once are what each is alone, also where patterns, weights and the times of samples differ."""

from __future__ import annotations

import pytest

from ebbwell.core.errors import DomainError
from ebbwell.science.fit import KNOWN, MonthBloods, Split, expected, fit
from ebbwell.science.fit_many import Parameters, expected_many, falls, moved_by_split

WEEK = MonthBloods(17.0, 3.4, 66.0, 0.175, 0.9 / 1440, (0, 1440, 4320, 7200), 480, 10080, 2)
EVERY_OTHER = WEEK._replace(starts_min=(0.0,), cycle_min=2880.0, which=0)
MONTHS = (
    WEEK,
    EVERY_OTHER,
    WEEK._replace(weight_kg=71.5, minutes=412.0, clearance_l_min=0.21, residual_l_min=0.002),
    WEEK._replace(which=1),
    WEEK._replace(drawn_after_min=25.0),
    WEEK._replace(drawn_after_min=-35.0, which=0),
)
NUMBERS: list[Parameters] = [(0.58, 1.0, 1 / 3, 0.016), (0.49, 1.12, 0.27, 0.009), (0.66, 0.8, 0.44, 0.024)]


def test_each_month_falls_as_it_does_alone() -> None:
    found = falls(MONTHS, NUMBERS)
    for row, month in zip(found, MONTHS, strict=True):
        for value, (water, over, *split) in zip(row, NUMBERS, strict=True):
            told = expected(month, water, over, Split(*split))
            assert value == pytest.approx(told.post - told.before, rel=1e-11)


def test_each_figure_of_a_month_is_what_it_is_alone() -> None:
    for row, month in zip(expected_many(MONTHS, NUMBERS), MONTHS, strict=True):
        for told, (water, over, *split) in zip(row, NUMBERS, strict=True):
            assert told == pytest.approx(expected(month, water, over, Split(*split)), rel=1e-11)


def test_a_fit_by_arrays_is_the_fit_one_by_one(monkeypatch: pytest.MonkeyPatch) -> None:
    at_once = fit(MONTHS * 2)
    monkeypatch.setattr("ebbwell.science.fit.AT_ONCE", 10**9)
    alone = fit(MONTHS * 2)
    assert at_once.water_profile.low == pytest.approx(alone.water_profile.low, rel=1e-8)
    assert at_once.residuals == pytest.approx(alone.residuals, rel=1e-6)
    for one, other in zip(
        (*at_once.generation, *at_once.standard, at_once.water_share, at_once.clearance_over),
        (*alone.generation, *alone.standard, alone.water_share, alone.clearance_over),
        strict=True,
    ):
        assert (one.low, one.middle, one.high) == pytest.approx(
            (other.low, other.middle, other.high), rel=1e-8
        )


def test_the_move_of_a_fit_does_not_hang_on_the_order_of_months() -> None:
    found = fit(MONTHS)
    steps = Split(0.1, 0.1)
    first, second = (moved_by_split(months, KNOWN, found, steps) for months in (MONTHS, MONTHS[::-1]))
    assert first[0] == pytest.approx(second[0], rel=1e-9)
    assert first[1] == pytest.approx(second[1], rel=1e-9)


def test_a_month_that_cannot_be_is_refused() -> None:
    with pytest.raises(DomainError) as caught:
        falls([WEEK._replace(minutes=2000.0)], NUMBERS)
    assert caught.value.key == "science.treatments_overlap"
