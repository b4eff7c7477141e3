"""Heat disinfection against figures printed elsewhere and sums from the definition."""

from decimal import Decimal
from itertools import accumulate, pairwise

import pytest

from ebbwell.science.disinfection import HeatReading, a0_of_readings
from tests.external.table import Row, calc, check, params

D = Decimal


def readings(*pairs: tuple[str, str]) -> list[HeatReading]:
    return [HeatReading(D(at), D(heat)) for at, heat in pairs]


def credit(*pairs: tuple[str, str], high: str = "0") -> Decimal:
    return a0_of_readings(readings(*pairs), sensor_high_c=D(high)).a0_s


def whole_run(step: int) -> list[HeatReading]:
    """60 to 85 C in 600 s, 1,200 s at 85 C, down to 60 C in 900 s, read every ``step`` seconds."""
    legs = ((600, 25), (1200, 0), (900, -25))
    out = [HeatReading(D(0), D(60))]
    for length, rise in legs:
        start, heat = out[-1].at_s, out[-1].temperature_c
        assert heat is not None
        steps = accumulate([D(step)] * (length // step))
        out += [HeatReading(start + at, heat + rise * at / length) for at in steps]
    return out


ROWS = (
    *(
        Row(
            "fluids:H2",
            f"row 11: {heat} C for {seconds} s",
            lambda heat=heat, seconds=seconds: calc("a0_hold", temperature_c=heat, hold_s=seconds),  # type: ignore[misc]
            "600",
            "0.1",
        )
        for heat, seconds in (("70", "6000"), ("80", "600"), ("90", "60"))
    ),
    Row(
        "examples:E9.1",
        "forum for hospital sterile supply: 70 C for 100 min is 600 too",
        lambda: calc("a0_hold", temperature_c="70", hold_s="6000"),
        "600",
        "0.1",
    ),
    Row(
        "examples:E9.2",
        "90 C for 5 min, from memory",
        lambda: calc("a0_hold", temperature_c="90", hold_s="300"),
        "3000",
        "0.1",
    ),
    Row(
        "arithmetic",
        "fluids 6, row 12: 93 C for 10 min",
        lambda: calc("a0_hold", temperature_c="93", hold_s="600"),
        "11972",
        "1",
    ),
    *(
        Row(
            "arithmetic",
            f"fluids 6, row 13: {low} to {high} C in {seconds} s",
            lambda low=low, high=high, seconds=seconds: calc(  # type: ignore[misc]
                "a0_ramp", from_c=low, to_c=high, ramp_s=seconds
            ),
            printed,
        )
        for low, high, seconds, printed in (
            ("60", "85", "600", "328.6"),
            ("85", "85", "1200", "3794.7"),
            ("85", "60", "900", "492.8"),
        )
    ),
    Row(
        "arithmetic",
        "fluids 6, row 13: the whole run, read every 10 s, 0.5 %; the stretches under 65 C count for nothing",
        lambda: a0_of_readings(whole_run(10)).a0_s,
        "4616.2",
        "23",
    ),
    Row(
        "arithmetic",
        "fluids 6, row 14",
        lambda: calc("hold_for_a0", a0_s="600", temperature_c="85"),
        "189.7",
        "0.1",
    ),
    Row(
        "arithmetic",
        "fluids 1.11: a sensor 1 C too high hides 21 %",
        lambda: 100 - credit(("0", "80"), ("60", "80"), high="1") / 60 * 100,
        "21",
    ),
    Row(
        "arithmetic",
        "fluids 1.11: a sensor 2 C too high hides 37 %",
        lambda: 100 - credit(("0", "80"), ("60", "80"), high="2") / 60 * 100,
        "37",
    ),
    Row(
        "examples:E9.1",
        "the same page counts only above 65 C: 60 s at 65.1 C are 60 x 10 ^ -1.49",
        lambda: credit(("0", "65.1"), ("60", "65.1")),
        "1.942",
    ),
    Row(
        "examples:E9.1",
        "and at 65 C nothing",
        lambda: credit(("0", "65"), ("60", "65")),
        "0",
        "0",
    ),
    Row(
        "arithmetic",
        "fluids 6, traps: a gap of 60 s is credited",
        lambda: credit(("0", "80"), ("60", "80")),
        "60",
        "0",
    ),
    Row(
        "arithmetic",
        "fluids 6, traps: a gap longer than 60 s is not",
        lambda: credit(("0", "80"), ("60.5", "80")),
        "0",
        "0",
    ),
)


@pytest.mark.parametrize("row", params(ROWS))
def test_disinfection(row: Row) -> None:
    check(row)


@pytest.mark.source(
    "arithmetic", detail="fluids 1.11: the mean of 70 and 90 is 80, yet A0 is five times larger"
)
def test_averaging_first_is_not_what_is_done() -> None:
    halves = calc("a0_hold", temperature_c="70", hold_s="30") + calc(
        "a0_hold", temperature_c="90", hold_s="30"
    )
    assert abs(halves / calc("a0_hold", temperature_c="80", hold_s="60") - 5) < D("0.06")


@pytest.mark.source("arithmetic", detail="fluids 1.11: a trapezoid with 10 s steps agrees to under 1 %")
def test_a_trapezoid_agrees() -> None:
    run = whole_run(10)
    weights = [D(10) ** ((r.temperature_c - 80) / 10) for r in run if r.temperature_c is not None]
    trapezoid = sum((10 * (a + b) / 2 for a, b in pairwise(weights)), D(0))
    assert abs(trapezoid / D("4616.2") - 1) < D("0.01")
