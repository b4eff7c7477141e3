"""Where the course of a substance begins: at its own newest result, on a night of the pattern as it is now."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from ebbwell.core.errors import DomainError
from ebbwell.core.text import say
from ebbwell.review.basis import Pattern
from ebbwell.web.pages.outlook.gathered import first_night, told
from tests.review.bases import usual
from tests.review.test_own_numbers import LAST, summary

ZONE = "Europe/Dublin"
NOW = datetime(2026, 4, 1, 10, 0, tzinfo=UTC)
OTHER = Pattern("", (0,), 2, 8.0, 250, 300)
WEEK = Pattern("", (0, 2, 4), 7, 8.0, 250, 300)
NEWEST = [summary(LAST)]


def test_a_course_begins_with_the_night_of_the_bloods() -> None:
    assert first_night(LAST, OTHER, NEWEST, NOW, ZONE) == (LAST, 0)
    assert first_night(LAST - timedelta(days=28), OTHER, NEWEST, NOW, ZONE) == (LAST - timedelta(days=28), 0)
    assert first_night(LAST - timedelta(days=3), WEEK, NEWEST, NOW, ZONE) == (LAST - timedelta(days=3), 2)


def test_after_nights_moved_by_a_day_it_begins_with_the_next_one_that_is_on_the_pattern() -> None:
    long_ago, lately = LAST - timedelta(days=27), LAST - timedelta(days=3)
    assert first_night(long_ago, OTHER, NEWEST, NOW, ZONE) == (long_ago + timedelta(days=1), 0)
    tuesday = LAST - timedelta(days=27)
    assert first_night(tuesday, WEEK, NEWEST, NOW, ZONE) == (tuesday + timedelta(days=1), 1)
    with pytest.raises(DomainError) as caught:
        first_night(lately, OTHER, NEWEST, NOW, ZONE)
    assert caught.value.key == "review.start_in_pattern"


def test_levels_are_told_from_each_result_on_and_a_refusal_stands_in_its_place() -> None:
    basis = replace(usual(OTHER), before={"urea": 15.0, "phosphate": 1.5, "potassium": 5.0}, present=OTHER)
    days = {"urea": LAST, "phosphate": LAST - timedelta(days=28), "potassium": LAST - timedelta(days=280)}
    found = {one.key: one for one in told(basis, days, LAST, NEWEST, NOW, ZONE)}
    urea, late = found["urea"].ahead, found["phosphate"].ahead
    assert urea is not None
    assert late is not None
    assert len(urea.levels) == len(late.levels) == 14
    assert urea.levels[0].at_min == 2 * 1440
    assert late.levels[0].at_min == 30 * 1440
    assert found["potassium"].ahead is None
    assert found["potassium"].why == say("review.bloods_too_old", most=26)
    assert found["bicarbonate"].drawn_on is None
    assert found["bicarbonate"].ahead is not None
    assert found["bicarbonate"].ahead.why_not == "review.not_known.no_result"
