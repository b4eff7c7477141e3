"""Total chlorine: method and step decide what a test shows, and each road through the rule is walked."""

from dataclasses import replace
from decimal import Decimal
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.core.errors import DomainError
from ebbwell.core.quantity import Quantity
from ebbwell.core.text import say
from ebbwell.science.chlorine import ChlorineLevel, ChlorineStep, ChlorineTest, chlorine_level, chlorine_step

D = Decimal
LIMIT, RISING = D("0.10"), D("0.05")
UNDER, HELD, NOT_HELD, OVER, NO_TEST = ChlorineLevel
S = ChlorineStep


def meter(value: str, **more: object) -> ChlorineTest:
    return test(value, "meter", **more)


def strip(value: str, step: str | None = "0.1") -> ChlorineTest:
    return test(value, "strip", step=None if step is None else D(step))


def test(value: str, method: str, **more: object) -> ChlorineTest:
    below = value.startswith("<")
    reading = Quantity(D(value.removeprefix("<")), "mg/L", below)
    given = {"reagent_in_date": True, "control_coloured": True, **more}
    return ChlorineTest(reading, method, **given)  # type: ignore[arg-type]


test.__test__ = False  # type: ignore[attr-defined]


def level(one: ChlorineTest) -> ChlorineLevel:
    return chlorine_level(one, limit_mg_l=LIMIT)


def step(tank1: ChlorineTest, **more: object) -> ChlorineStep:
    return chlorine_step(tank1, limit_mg_l=LIMIT, rising_mg_l=RISING, **more)  # type: ignore[arg-type]


@pytest.mark.hazard("H8")
@pytest.mark.source(
    "fluids:W1", detail="row 49: 0.10 by strip at the limit, handle as fail; by photometer pass; 0.13 fail"
)
@pytest.mark.parametrize(
    ("one", "shows", "fails"),
    [
        (strip("0.10"), NOT_HELD, True),
        (meter("0.10"), HELD, False),
        (meter("0.13"), OVER, True),
        (strip("0.13"), OVER, True),
    ],
)
def test_row_49(one: ChlorineTest, shows: ChlorineLevel, fails: bool) -> None:
    assert level(one) is shows
    assert shows.fails is fails


@pytest.mark.source(
    "common practice", detail="no source: a strip of 0, 0.1, 0.5 can't tell 0.09 from 0.12 (fluids 1.3)"
)
@pytest.mark.parametrize(
    ("one", "shows"),
    [
        (strip("0.09"), NOT_HELD),
        (strip("0.05"), NOT_HELD),
        (strip("0"), UNDER),
        (strip("<0.1"), UNDER),
        (strip("0.12"), OVER),
        (strip("0", "0.5"), NO_TEST),
        (strip("<0.5", "0.5"), NO_TEST),
        (strip("0", None), NO_TEST),
        (strip("0.5", None), OVER),
        (test("0.05", "drops", step=D("0.05")), UNDER),
        (test("0.1", "drops", step=D("0.05")), NOT_HELD),
        (meter("0.09"), UNDER),
        (meter("0.1"), NOT_HELD),
        (meter("0.10", step=D("0.02")), NOT_HELD),
        (meter("0"), NO_TEST),
        (meter("0", step=D("0.01")), UNDER),
        (meter("<0.1"), UNDER),
        (meter("<0.2"), NO_TEST),
        (meter("2.2"), OVER),
    ],
)
def test_what_a_method_can_show(one: ChlorineTest, shows: ChlorineLevel) -> None:
    assert level(one) is shows


@pytest.mark.source("fluids:W5", detail="free chlorine alone is never an answer")
@pytest.mark.parametrize(
    "spoilt",
    [
        {"of_total": False},
        {"reagent_in_date": False},
        {"reagent_in_date": None},
        {"control_coloured": False},
        {"control_coloured": None},
    ],
)
def test_no_colour_from_a_spoilt_test_shows_nothing_but_colour_stands(spoilt: dict[str, object]) -> None:
    assert level(meter("0.02", **spoilt)) is NO_TEST
    assert level(meter("0.10", **spoilt)) is NO_TEST
    assert level(meter("0.13", **spoilt)) is OVER
    assert step(meter("0.02", **spoilt)) is S.NEW_TEST


@pytest.mark.hazard("H8")
@pytest.mark.source(
    "fluids:W5", detail="decision rule of fluids 1.3: two tanks, common practice where not W5"
)
@pytest.mark.parametrize(
    ("tank1", "more", "found"),
    [
        (meter("0.02"), {}, S.GO_ON),
        (meter("0.02"), {"tank2": meter("0.00")}, S.GO_ON),
        (meter("0.10"), {}, S.GO_ON),
        (meter("0.13"), {}, S.DRAW_AGAIN),
        (strip("0.1"), {}, S.DRAW_AGAIN),
        (meter("0.13"), {"tank2": meter("0.02")}, S.DRAW_AGAIN),
        (meter("0.13"), {"again": meter("0.12")}, S.DRAW_TANK_2),
        (meter("0.13"), {"again": meter("0.08")}, S.DRAW_TANK_2),
        (meter("0.13"), {"again": meter("0.08"), "tank2": meter("0.02")}, S.ORDER_CARBON),
        (meter("0.13"), {"again": meter("0.12"), "tank2": meter("0.02")}, S.NEW_TANK_1),
        (
            meter("0.13"),
            {"again": meter("0.12"), "tank2": meter("0.02"), "second_tank_in_writing": True},
            S.AS_WRITTEN,
        ),
        (meter("0.13"), {"again": meter("0.12"), "tank2": meter("0.11")}, S.CALL_OFF),
        (
            meter("0.13"),
            {"again": meter("0.12"), "tank2": meter("0.11"), "second_tank_in_writing": True},
            S.CALL_OFF,
        ),
        (meter("0.13"), {"again": meter("0.12"), "tank2": strip("0.1")}, S.CALL_OFF),
        (meter("0.02"), {"tank2": meter("0.11")}, S.CALL_OFF),
        (strip("0", None), {"tank2": meter("0.11")}, S.CALL_OFF),
        (meter("0.13"), {"again": strip("0", None)}, S.NEW_TEST),
        (meter("0.13"), {"again": meter("0.12"), "tank2": strip("0", None)}, S.NEW_TEST),
        (meter("0.02"), {"again": meter("0.12")}, S.DRAW_TANK_2),
    ],
)
def test_each_road_through_the_rule(
    tank1: ChlorineTest, more: dict[str, object], found: ChlorineStep
) -> None:
    assert step(tank1, **more) is found


@pytest.mark.source(
    "common practice", detail="no source: three in a row over 0.05 mg/L, order carbon (fluids 1.3, rule 1)"
)
@pytest.mark.parametrize(
    ("earlier", "tonight", "found"),
    [
        (("0.06", "0.07"), "0.08", S.ORDER_CARBON),
        (("0.06", "0.07", "0.04"), "0.08", S.GO_ON),
        (("0.05", "0.07"), "0.08", S.GO_ON),
        (("0.06", "0.07"), "0.05", S.GO_ON),
        (("0.07",), "0.08", S.GO_ON),
        (("<0.1", "<0.1"), "0.08", S.GO_ON),
        (("0.01", "0.06", "0.06"), "0.06", S.ORDER_CARBON),
    ],
)
def test_rising_but_under(earlier: tuple[str, ...], tonight: str, found: ChlorineStep) -> None:
    assert step(meter(tonight), earlier=[meter(value) for value in earlier]) is found


@pytest.mark.hazard("H7")
@pytest.mark.parametrize(("one", "other"), [("0.15", "0.015"), ("0.015", "0.15")])
def test_a_slipped_point_is_asked_and_never_taken(one: str, other: str) -> None:
    for tank2 in (None, meter("0.02")):
        assert step(meter(one), again=meter(other), tank2=tank2) is S.READ_AGAIN
    assert step(meter("0.15"), again=meter("0.016"), tank2=meter("0.02")) is S.ORDER_CARBON


TESTS = st.builds(
    ChlorineTest,
    st.builds(Quantity, st.decimals(0, 1, places=2), st.just("mg/L"), st.booleans()),
    st.sampled_from(["meter", "strip", "drops"]),
    st.sampled_from([None, D("0.01"), D("0.05"), D("0.1"), D("0.5")]),
    st.booleans(),
    st.sampled_from([None, True, False]),
    st.sampled_from([None, True, False]),
)


@given(one=TESTS, more=st.decimals("0.01", 1, places=2))
def test_more_chlorine_never_reads_better(one: ChlorineTest, more: Decimal) -> None:
    worse = replace(one, reading=replace(one.reading, value=one.reading.value + more))
    if level(one) not in (UNDER, HELD):
        assert level(worse) not in (UNDER, HELD)


@given(tank1=TESTS, again=st.none() | TESTS, tank2=st.none() | TESTS, written=st.booleans())
def test_the_set_up_goes_on_only_where_the_last_draws_are_sound_and_under(
    tank1: ChlorineTest, again: ChlorineTest | None, tank2: ChlorineTest | None, written: bool
) -> None:
    found = step(tank1, again=again, tank2=tank2, second_tank_in_writing=written)
    if found in (S.GO_ON, S.ORDER_CARBON):
        last = again or tank1
        assert level(last) in (UNDER, HELD)
        assert last.of_total
        assert last.reagent_in_date is True
        assert last.control_coloured is True
        assert tank2 is None or level(tank2) in (UNDER, HELD)
        assert level(tank1) in (UNDER, HELD) or tank2 is not None


@pytest.mark.parametrize(
    "wrong",
    [
        replace(meter("0.05"), reading=Quantity(D("0.05"), "ug/L")),
        replace(meter("0.05"), method="nose"),
        meter("21"),
        meter("0.05", step=D(0)),
        replace(meter("0.05"), reading=Quantity(D("NaN"), "mg/L")),
    ],
)
def test_refused_outside(wrong: ChlorineTest) -> None:
    with pytest.raises(DomainError) as caught:
        level(wrong)
    assert say(caught.value.key, **caught.value.params)


@pytest.mark.parametrize(("limit", "rising"), [("0", "0.05"), ("1.1", "0.05"), ("0.1", "0")])
def test_limits_outside_are_refused(limit: str, rising: str) -> None:
    with pytest.raises(DomainError):
        chlorine_step(meter("0.05"), limit_mg_l=D(limit), rising_mg_l=D(rising))


def test_a_units_own_lower_limit_is_the_one_that_counts() -> None:
    own = [chlorine_level(meter(v), limit_mg_l=D("0.05")) for v in ("0.04", "0.06")]
    assert own == [UNDER, OVER]


def test_every_step_is_reached() -> None:
    values = [None, meter("0.02"), meter("0.13"), meter("0.012"), strip("0", None)]
    earlier = [meter("0.06")] * 2
    found = {
        step(tank1, again=again, tank2=tank2, earlier=earlier, second_tank_in_writing=written)
        for tank1, again, tank2, written in product(
            [meter("0.08"), meter("0.02"), meter("0.12"), strip("0", None)], values, values, (True, False)
        )
    }
    assert found == set(S)
