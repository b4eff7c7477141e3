"""Typed times of day and dates of labels."""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from ebbwell.core.errors import InputError
from ebbwell.core.typed_times import label_date, past_time

DUBLIN = ZoneInfo("Europe/Dublin")


@pytest.mark.source("arithmetic")
@pytest.mark.parametrize(
    ("typed", "now", "expected"),
    [
        ("21:40", datetime(2026, 4, 29, 21, 0, tzinfo=UTC), datetime(2026, 4, 29, 20, 40, tzinfo=UTC)),
        ("23.50", datetime(2026, 4, 29, 23, 10, tzinfo=UTC), datetime(2026, 4, 29, 22, 50, tzinfo=UTC)),
        ("22:01", datetime(2026, 4, 29, 21, 0, tzinfo=UTC), datetime(2026, 4, 29, 21, 1, tzinfo=UTC)),
        ("22:05", datetime(2026, 4, 29, 21, 0, tzinfo=UTC), datetime(2026, 4, 28, 21, 5, tzinfo=UTC)),
        # 25 October 2026: the clock reads 01:30 twice, at 00:30 and at 01:30 UTC
        ("01:30", datetime(2026, 10, 25, 2, 10, tzinfo=UTC), datetime(2026, 10, 25, 1, 30, tzinfo=UTC)),
        ("01:30", datetime(2026, 10, 25, 1, 10, tzinfo=UTC), datetime(2026, 10, 25, 0, 30, tzinfo=UTC)),
        # 29 March 2026: 23:50 the evening before the clock goes on
        ("23:50", datetime(2026, 3, 29, 1, 10, tzinfo=UTC), datetime(2026, 3, 28, 23, 50, tzinfo=UTC)),
    ],
)
def test_a_time_of_day_is_the_last_one_that_has_been(typed: str, now: datetime, expected: datetime) -> None:
    assert past_time(typed, now, DUBLIN) == expected


@pytest.mark.parametrize("typed", ["", "9", "24:00", "12:60", "x:10", "-1:10"])
def test_what_is_no_time_is_told(typed: str) -> None:
    with pytest.raises(InputError):
        past_time(typed, datetime(2026, 4, 29, tzinfo=UTC), DUBLIN)


@pytest.mark.source("practice:g", detail="a label without a day holds to the end of its month")
@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        ("2027-06", "2027-06-30"),
        ("2028/02", "2028-02-29"),
        ("2027.12", "2027-12-31"),
        ("2027-06-05", "2027-06-05"),
    ],
)
def test_a_date_of_a_label(typed: str, expected: str) -> None:
    assert label_date(typed) == expected


@pytest.mark.parametrize("typed", ["", "06-2027", "2027", "2027-13", "2027-02-30", "soon"])
def test_what_is_no_date_is_told(typed: str) -> None:
    with pytest.raises(InputError):
        label_date(typed)
