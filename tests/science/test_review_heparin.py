"""The heparin curve: doses add up, the band is a band, and no room of the bedside reaches it."""

import re
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.core.errors import DomainError
from ebbwell.core.text import say
from ebbwell.science import review_heparin
from ebbwell.science.catalogue import formulas, names
from ebbwell.science.review_heparin import (
    Given,
    relative_effect,
    review_heparin_left,
    review_heparin_plateau,
)

D = Decimal
SRC = Path(review_heparin.__file__).parents[1]
HOURS = st.decimals(0, 12, places=2)
DOSES = st.builds(Given, st.integers(1, 5000).map(Decimal), st.just(D(1)), st.just(D(1)))
RUNS = st.builds(
    lambda units, start, run: Given(D(units), start, start + run),
    st.integers(1, 9000),
    HOURS,
    st.decimals("0.05", 8, places=2),
)
ROOMS = ("rulebook", "state", "plan", "procedure", "deeds", "papers", "sim", "web", "house.py")


def left(elapsed: str, run: str = "6.5", half_life: str = "0.9") -> Decimal:
    return review_heparin_left(
        first_dose_units=D(1500),
        rate_units_h=D(900),
        run_time_h=D(run),
        elapsed_h=D(elapsed),
        half_life_h=D(half_life),
    )


@given(one=RUNS | DOSES, other=RUNS | DOSES, at=HOURS)
def test_what_was_given_adds_up(one: Given, other: Given, at: Decimal) -> None:
    life = D("0.9")
    both = review_heparin._left([one, other], at, life)
    alone = review_heparin._left([one], at, life) + review_heparin._left([other], at, life)
    assert abs(both - alone) <= D("1e-15") * max(1, both)
    assert 0 <= both <= one.units + other.units


@given(given=st.lists(RUNS | DOSES, min_size=1, max_size=5), hours=st.lists(HOURS, min_size=1, max_size=9))
def test_the_band_is_a_band_and_the_studied_line_keeps_under_100(
    given: list[Given], hours: list[Decimal]
) -> None:
    for point in relative_effect(given, hours):
        assert 0 <= point.least <= point.studied <= point.most
        assert point.studied <= D("100.0000001")
        assert point.most.is_finite()


@given(at=st.decimals("0.01", 12, places=2))
def test_the_curve_and_the_formula_agree(at: Decimal) -> None:
    given = [Given(D(1500), D(0), D(0)), Given(D(5850), D(0), D("6.5"))]
    ours = review_heparin._left(given, at, D("0.9"))
    assert abs(ours - left(str(at))) < D("1e-15")


def test_no_leap_where_the_infusion_stops() -> None:
    hair = D("1e-9")
    at = left("6.5")
    assert abs(left(str(D("6.5") - hair)) - at) < D("0.001")
    assert abs(left(str(D("6.5") + hair)) - at) < D("0.001")


@given(rate=st.integers(100, 3000), life=st.decimals("0.5", 2, places=2))
def test_a_long_infusion_tends_to_its_plateau_from_below(rate: int, life: Decimal) -> None:
    plateau = review_heparin_plateau(rate_units_h=D(rate), half_life_h=life)
    hours = [D(at) for at in (1, 4, 14)]
    levels = [
        review_heparin_left(
            first_dose_units=D(0), rate_units_h=D(rate), run_time_h=D(14), elapsed_h=at, half_life_h=life
        )
        for at in hours
    ]
    assert levels == sorted(levels)
    assert levels[-1] < plateau


def test_nothing_given_makes_no_curve() -> None:
    for nothing in ([], [Given(D(0), D(0), D(0))]):
        with pytest.raises(DomainError) as caught:
            relative_effect(nothing, [D(1)])
        assert say(caught.value.key, **caught.value.params)


@pytest.mark.parametrize(
    "given",
    [
        Given(D(-1), D(0), D(0)),
        Given(D(1), D(2), D(1)),
        Given(D(1), D(0), D(73)),
        Given(D("NaN"), D(0), D(1)),
    ],
)
def test_refused_outside(given: Given) -> None:
    with pytest.raises(DomainError) as caught:
        relative_effect([given], [D(1)])
    assert say(caught.value.key, **caught.value.params)
    with pytest.raises(DomainError):
        relative_effect([Given(D(1), D(0), D(0))], [D(73)])


def test_before_it_is_given_nothing_is_left() -> None:
    assert relative_effect([Given(D(100), D(2), D(2))], [D(1)])[0].most == 0


@pytest.mark.source(
    "arithmetic", detail="fluids 3.2: same doses, 7-fold spread at the end of the night (162 to 1,213)"
)
def test_the_spread_is_as_wide_as_the_words_say() -> None:
    ratio = left("7.5", half_life="1.5") / left("7.5", half_life="0.5")
    assert 7 <= ratio < 8


def test_the_lists_that_pages_show_leave_it_out() -> None:
    hidden = set(names(review=True)) - set(names())
    assert {"review_heparin_left", "review_heparin_plateau"} <= hidden
    assert hidden == {one.name for one in formulas(review=True) if one.review_only}
    assert {one.name for one in formulas()} == set(names())


def speaks_of_it(text: str) -> bool:
    return re.search(r"review_heparin|relative_effect", text) is not None


def test_no_room_of_the_bedside_names_the_curve() -> None:
    files = [
        f for room in ROOMS for f in ([SRC / room] if room.endswith(".py") else (SRC / room).rglob("*.py"))
    ]
    assert len(files) > 100
    assert [str(file.relative_to(SRC)) for file in files if speaks_of_it(file.read_text("utf-8"))] == []
    assert speaks_of_it('work("review_heparin_left", {})')
