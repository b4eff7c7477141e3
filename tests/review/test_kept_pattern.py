"""Which pattern nights kept, and that a missed night doesn't become one."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from ebbwell.review.kept_pattern import Kept, kept_pattern

MONDAY = date(2026, 3, 2)
LONG_AGO = date(2025, 1, 1)


def every(step: int, count: int, last: date = MONDAY) -> list[date]:
    return [last - timedelta(days=step * n) for n in range(count)]


def weekly(days: tuple[int, ...], weeks: int = 6) -> list[date]:
    """The same days of so many weeks up to ``MONDAY``."""
    all_days = [MONDAY - timedelta(days=n) for n in range(7 * weeks)]
    return [day for day in all_days if day.weekday() in days]


def test_every_other_night_is_found() -> None:
    assert kept_pattern(every(2, 20), MONDAY, LONG_AGO) == Kept(2, (0,), (), 14)


@pytest.mark.parametrize("days", [(0, 2, 4), (0, 3), (0, 1, 3, 5), (0, 1, 2, 3, 4, 5), tuple(range(7))])
def test_the_same_days_each_week_are_found(days: tuple[int, ...]) -> None:
    found = kept_pattern(weekly(days), MONDAY, LONG_AGO)
    assert found == Kept(7, days, (), 4 * len(days))


def test_one_missed_night_is_named_and_the_pattern_stays() -> None:
    missed = MONDAY - timedelta(days=4)
    found = kept_pattern([day for day in every(2, 20) if day != missed], MONDAY, LONG_AGO)
    assert found == Kept(2, (0,), (missed,), 13)
    long_ago = MONDAY - timedelta(days=20)
    found = kept_pattern([day for day in every(2, 20) if day != long_ago], MONDAY, LONG_AGO)
    assert found is not None
    assert found.off == ()


def test_a_night_put_off_by_a_day_counts_as_out_of_the_pattern() -> None:
    ran = {*every(2, 20)} - {MONDAY - timedelta(days=4)} | {MONDAY - timedelta(days=3)}
    found = kept_pattern(ran, MONDAY, LONG_AGO)
    assert found is not None
    assert found.off == (MONDAY - timedelta(days=4), MONDAY - timedelta(days=3))


def test_a_pattern_that_changed_two_weeks_ago_is_found_by_the_last_two_weeks() -> None:
    new = every(2, 7)
    old = [day for day in weekly((0, 2, 4), 8) if day < new[-1]]
    assert kept_pattern([*new, *old], MONDAY, LONG_AGO) == Kept(2, (0,), (), 7)


def test_a_day_of_the_week_that_half_of_the_weeks_had_is_none_of_the_pattern() -> None:
    """Three of the four weeks make it one; two of four are a pattern neither with that day nor without it."""
    thursdays = [MONDAY - timedelta(days=4 + 7 * week) for week in range(4)]
    most = kept_pattern([*weekly((0, 1, 5)), *thursdays[:3]], MONDAY, LONG_AGO)
    assert most is not None
    assert most.days == (0, 1, 3, 5)
    assert kept_pattern([*weekly((0, 1, 5)), thursdays[1], thursdays[3]], MONDAY, LONG_AGO) is None


@pytest.mark.parametrize(("back", "off"), [(6, 1), (8, 0)])
def test_a_missed_night_counts_as_late_within_a_week(back: int, off: int) -> None:
    missed = MONDAY - timedelta(days=back)
    found = kept_pattern([day for day in every(2, 20) if day != missed], MONDAY, LONG_AGO)
    assert found is not None
    assert len(found.off) == off


def test_a_week_ago_to_the_day_is_no_longer_late() -> None:
    ran = [day for day in weekly((0, 2, 4)) if day != MONDAY - timedelta(days=7)]
    found = kept_pattern(ran, MONDAY, LONG_AGO)
    assert found is not None
    assert found.off == ()


def test_nights_without_a_pattern_have_none() -> None:
    ran = [MONDAY - timedelta(days=n) for n in (0, 3, 4, 9, 11, 12, 18, 19, 20, 26)]
    assert kept_pattern(ran, MONDAY, LONG_AGO) is None


def test_a_record_that_is_too_young_has_none() -> None:
    assert kept_pattern(every(2, 5), MONDAY, MONDAY - timedelta(days=8)) is None
    assert kept_pattern(every(2, 7), MONDAY, MONDAY - timedelta(days=13)) == Kept(2, (0,), (), 7)
    assert kept_pattern([], MONDAY, LONG_AGO) is None
