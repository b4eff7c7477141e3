"""Ticks: round numbers that cover the values, and hours that are right on the nights when clocks change."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.draw.ticks import (
    clock_changes,
    clock_label,
    day_label,
    drawable,
    number_label,
    number_ticks,
    time_ticks,
)

NUMBERS = st.decimals(min_value=-999_999, max_value=999_999, places=4)
ZONES = ("Europe/Dublin", "America/Santiago", "Australia/Lord_Howe", "Asia/Kathmandu", "UTC")
INSTANTS = st.integers(946_684_800, 2_114_380_800).map(lambda s: datetime.fromtimestamp(s, UTC))


def local(text: str, zone: str = "Europe/Dublin", fold: int = 0) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=ZoneInfo(zone), fold=fold).astimezone(UTC)


@given(a=NUMBERS, b=NUMBERS, most=st.integers(3, 12))
def test_ticks_are_round_even_few_and_cover(a: Decimal, b: Decimal, most: int) -> None:
    low, high = min(a, b), max(a, b)
    ticks = number_ticks(low, high, most)
    assert 2 <= len(ticks) <= most
    assert ticks[0] <= low
    assert high <= ticks[-1]
    steps = {later - earlier for earlier, later in pairwise(ticks)}
    (step,) = steps
    assert step.normalize().as_tuple().digits in {(1,), (2,), (5,)}
    assert all(tick % step == 0 for tick in ticks)
    if low < high:
        assert ticks[1] > low
        assert ticks[-2] < high


@given(a=NUMBERS, b=NUMBERS, most=st.integers(3, 12))
def test_a_label_says_exactly_its_tick(a: Decimal, b: Decimal, most: int) -> None:
    ticks = number_ticks(min(a, b), max(a, b), most)
    labels = [number_label(tick, ticks) for tick in ticks]
    assert [Decimal(label) for label in labels] == list(ticks)
    assert len(set(labels)) == len(labels)
    assert "-0" not in labels
    assert not any("E" in label for label in labels)


@pytest.mark.source("arithmetic")
@pytest.mark.parametrize(
    ("low", "high", "wanted"),
    [
        ("-93", "124", ["-100", "-50", "0", "50", "100", "150"]),
        ("0", "2.30", ["0.0", "0.5", "1.0", "1.5", "2.0", "2.5"]),
        ("13.7", "13.9", ["13.70", "13.75", "13.80", "13.85", "13.90"]),
        ("120", "120", ["110", "115", "120", "125", "130"]),
        ("0", "0", ["-1.0", "-0.5", "0.0", "0.5", "1.0"]),
    ],
)
def test_ticks_of_a_night(low: str, high: str, wanted: list[str]) -> None:
    ticks = number_ticks(Decimal(low), Decimal(high))
    assert [number_label(tick, ticks) for tick in ticks] == wanted


@pytest.mark.parametrize("value", ["NaN", "Infinity", "1E12", "-1E12", "1E-13"])
def test_a_value_that_is_no_bedside_figure_has_no_ticks(value: str) -> None:
    assert not drawable(Decimal(value))
    with pytest.raises(ValueError, match="no ticks"):
        number_ticks(Decimal(0), Decimal(value))


def test_a_range_turned_round_and_too_few_ticks_are_refused() -> None:
    with pytest.raises(ValueError, match="no ticks"):
        number_ticks(Decimal(2), Decimal(1))
    with pytest.raises(ValueError, match="no ticks"):
        number_ticks(Decimal(1), Decimal(2), 2)


@pytest.mark.source("from memory", detail="Dublin, 29 March 2026: from 00:59 the clock goes to 02:00")
def test_hours_of_the_night_when_clocks_go_forward() -> None:
    ticks = time_ticks(local("2026-03-28T22:00"), local("2026-03-29T06:00"), "Europe/Dublin", 9)
    assert [t.label for t in ticks] == [
        "22:00",
        "23:00",
        "00:00",
        "02:00",
        "03:00",
        "04:00",
        "05:00",
        "06:00",
    ]
    apart = {later.at - earlier.at for earlier, later in pairwise(ticks)}
    assert apart == {timedelta(hours=1)}
    assert [t.label for t in ticks if t.midnight] == ["00:00"]


@pytest.mark.source("from memory", detail="Dublin, 25 October 2026: 01:00 to 02:00 comes twice")
def test_hours_of_the_night_when_clocks_go_back() -> None:
    start, end = local("2026-10-24T23:00"), local("2026-10-25T03:00")
    ticks = time_ticks(start, end, "Europe/Dublin", 8)
    assert [t.label for t in ticks] == ["23:00", "00:00", "01:00", "01:00 again", "02:00", "03:00"]
    assert end - start == timedelta(hours=5)
    assert clock_label(local("2026-10-25T01:30", fold=1), "Europe/Dublin") == "01:30 again"


@pytest.mark.source("arithmetic", detail="the instants at which these zones change, 01:00 UTC in Dublin")
def test_the_change_itself_is_found() -> None:
    night = local("2026-03-28T22:00"), local("2026-03-29T06:00")
    assert clock_changes(*night, "Europe/Dublin") == (datetime(2026, 3, 29, 1, 0, tzinfo=UTC),)
    assert clock_changes(*night, "UTC") == ()


@given(
    start=INSTANTS, minutes=st.integers(6, 60 * 24 * 90), zone=st.sampled_from(ZONES), most=st.integers(2, 12)
)
def test_time_ticks_lie_inside_rise_and_say_the_wall_clock(
    start: datetime, minutes: int, zone: str, most: int
) -> None:
    end = start + timedelta(minutes=minutes)
    ticks = time_ticks(start, end, zone, most)
    assert len(ticks) <= most
    assert all(start <= t.at <= end for t in ticks)
    assert all(a.at < b.at for a, b in pairwise(ticks))
    for tick in ticks:
        wall = tick.at.astimezone(ZoneInfo(zone))
        assert tick.label in (f"{wall:%H:%M}", f"{wall:%H:%M} again", day_label(tick.at, zone))
        assert tick.label.endswith("again") <= bool(wall.fold)


@pytest.mark.source("arithmetic")
def test_long_spans_are_marked_by_days() -> None:
    start = local("2026-04-01T00:00")
    week = time_ticks(start, start + timedelta(days=6), "Europe/Dublin", 8)
    assert [t.label for t in week] == [f"{n} Apr" for n in range(1, 8)]
    years = time_ticks(start, start + timedelta(days=3650), "Europe/Dublin", 8)
    assert 2 <= len(years) <= 8
    assert years[0].label == "1 Apr 2026"


def test_a_stretch_without_length_or_zone_is_refused() -> None:
    now = datetime(2026, 4, 29, tzinfo=UTC)
    with pytest.raises(ValueError, match="end after"):
        time_ticks(now, now, "UTC")
    with pytest.raises(ValueError, match="zone"):
        time_ticks(datetime(2026, 4, 29), now, "UTC")  # noqa: DTZ001


@pytest.mark.source("examples:E18.1", detail="04:30 to 04:30 over the change of 14 March 2010 is 23 h")
def test_a_day_that_is_an_hour_short_has_a_tick_less() -> None:
    zone = "America/New_York"
    start, end = local("2010-03-13T04:30", zone), local("2010-03-14T04:30", zone)
    ticks = time_ticks(start, end, zone, 24)
    assert len(ticks) == 23
    assert ticks[-1].at - ticks[0].at == timedelta(hours=22)
    assert "02:00" not in [t.label for t in ticks]
