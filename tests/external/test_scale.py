"""The scale beside the machine and the bands of past nights, against a printed table and sums by hand."""

from decimal import Decimal

import pytest

from ebbwell.science import nights_ahead, scale_check
from tests.external.table import Row, check, params

D = Decimal
NIGHTS = [D(n) for n in range(11)]


def creep_a_month() -> Decimal:
    found = scale_check.scale_check(
        days=NIGHTS, change_kg=[2 + n * D("0.01") for n in NIGHTS], net_l=[D(2)] * 11
    )
    assert found is not None
    return found.a_month.middle


def tenths(place: int) -> Decimal:
    """A line of the band of eleven gains of 0, 0.1, ... 1.0 kg, where each gain is a tenth of the way."""
    band = nights_ahead.gain_band([n / 10 for n in NIGHTS])
    assert band is not None
    return (band.low, band.middle, band.high)[place]


ROWS = (
    Row(
        "from memory",
        "tables of the normal distribution: 90 in 100 lie within 1.645",
        lambda: scale_check.NINE_IN_TEN,
        "1.645",
    ),
    Row("arithmetic", "0.01 kg a day is 0.3 kg in 30 days", creep_a_month, "0.3", "0.001"),
    *(
        Row(
            "arithmetic",
            f"eleven gains from 0 to 1.0 kg in tenths: {text} kg",
            lambda place=place: tenths(place),  # type: ignore[misc]
            text,
            "0.0005",
        )
        for place, text in enumerate(("0.1", "0.5", "0.9"))
    ),
)


@pytest.mark.parametrize("row", params(ROWS))
def test_scale(row: Row) -> None:
    check(row)
