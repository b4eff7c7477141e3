"""Heat: a ramp lies between its ends, gaps and missing readings give nothing, order matters."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.core.errors import DomainError
from ebbwell.core.text import say
from ebbwell.science.disinfection import HeatReading, a0_hold, a0_of_readings, a0_ramp, hold_for_a0

D = Decimal
HEAT = st.decimals(min_value=40, max_value=110, places=2)
SECONDS = st.integers(1, 7200).map(Decimal)


def row(*pairs: tuple[int, str | None]) -> list[HeatReading]:
    return [HeatReading(D(at), None if heat is None else D(heat)) for at, heat in pairs]


@given(low=HEAT, high=HEAT, seconds=SECONDS)
def test_a_ramp_lies_between_holds_at_its_ends(low: Decimal, high: Decimal, seconds: Decimal) -> None:
    ramp = a0_ramp(from_c=low, to_c=high, ramp_s=seconds)
    ends = sorted(a0_hold(temperature_c=heat, hold_s=seconds) for heat in (low, high))
    hair = ends[1] * D("1e-20")
    assert ends[0] - hair <= ramp <= ends[1] + hair
    assert ramp == a0_ramp(from_c=high, to_c=low, ramp_s=seconds)
    assert ramp <= sum(ends) / 2 + hair


@pytest.mark.parametrize("rise", ["1e-8", "1e-9", "1e-10", "1e-30", "0"])
def test_no_leap_where_a_ramp_becomes_a_hold(rise: str) -> None:
    hold = a0_hold(temperature_c=D(85), hold_s=D(1200))
    assert abs(a0_ramp(from_c=D(85), to_c=D(85) + D(rise), ramp_s=D(1200)) / hold - 1) < D("1e-7")


@given(a0=st.integers(1, 3000).map(Decimal), heat=st.decimals(min_value=66, max_value=110, places=1))
def test_hold_there_and_back(a0: Decimal, heat: Decimal) -> None:
    assert abs(a0_hold(temperature_c=heat, hold_s=hold_for_a0(a0_s=a0, temperature_c=heat)) - a0) < D("1e-20")


@given(heats=st.lists(HEAT, min_size=2, max_size=30), step=st.integers(1, 120))
def test_more_is_never_credited_than_the_hottest_reading_all_along(heats: list[Decimal], step: int) -> None:
    readings = [HeatReading(D(at * step), heat) for at, heat in enumerate(heats)]
    found = a0_of_readings(readings)
    whole = readings[-1].at_s
    assert 0 <= found.a0_s <= a0_hold(temperature_c=max(heats), hold_s=whole) * D("1.0000001")
    assert found.without_s == (whole if step > 60 else 0)
    assert a0_of_readings(readings, sensor_high_c=D(1)).a0_s <= found.a0_s


@pytest.mark.source("design", detail="fluids 6, traps: no credit for a gap longer than 60 s, never filled in")
def test_a_missing_reading_widens_the_gap() -> None:
    whole = a0_of_readings(row((0, "85"), (40, "85"), (80, "85"), (120, "85")))
    holed = a0_of_readings(row((0, "85"), (40, None), (80, "85"), (120, "85")))
    assert whole.without_s == 0
    assert holed.without_s == 80
    assert abs(holed.a0_s * 3 - whole.a0_s) < D("1e-20")


def test_too_few_readings_credit_nothing() -> None:
    for readings in ([], row((0, "90")), row((0, None), (30, "90"))):
        assert a0_of_readings(readings).a0_s == 0


@pytest.mark.parametrize("second", [0, 30])
def test_readings_out_of_order_are_refused(second: int) -> None:
    with pytest.raises(DomainError) as caught:
        a0_of_readings(row((30, "80"), (second, "80")))
    assert "order" in say(caught.value.key, **caught.value.params)


@pytest.mark.parametrize("heat", ["185", "-1", "NaN", "inf"])
def test_a_temperature_in_another_unit_is_refused(heat: str) -> None:
    with pytest.raises(DomainError):
        a0_of_readings(row((0, "80"), (30, heat)))
    with pytest.raises(DomainError):
        a0_of_readings(row((0, "80")), sensor_high_c=D("10.1"))
