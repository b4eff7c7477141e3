"""When no projection is shown: a night missed, called off or cut short; and when nothing speaks against one."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from msgspec import structs

from ebbwell.core.text import has_text
from ebbwell.review.basis import Pattern
from ebbwell.review.outlook_hidden import night_begins, why_hidden
from ebbwell.state.night_fluid import NightFluid
from ebbwell.state.night_thinner import NightThinner
from ebbwell.state.own_past import NightSummary
from tests.review.test_own_numbers import LAST, summary

ZONE = "Europe/Dublin"
OTHER = Pattern("", (0,), 2, 7.5, 230, 300, 22 * 60.0)
WEEK = Pattern("", (0, 2, 4), 7, 7.5, 230, 300, 22 * 60.0)
"""Mondays, Wednesdays, Fridays; LAST is a Monday."""
MORNING = datetime(2026, 3, 31, 9, 0, tzinfo=UTC)


def nights(*back: int, **last: object) -> list[NightSummary]:
    """Nights so many days before the last one, newest first; more: of the last."""
    return [summary(LAST, **last), *(summary(LAST - timedelta(days=n)) for n in back)]


def called_off(day: date) -> NightSummary:
    return structs.replace(summary(day, first_blood=None, pump_stopped=None), phase="called_off")


USUAL = nights(2, 4, 6, 8)


def key(name: str) -> str:
    assert has_text(f"review.hidden.{name}")
    return f"review.hidden.{name}"


def test_where_all_nights_ran_it_is_shown() -> None:
    assert LAST.weekday() == 0
    assert why_hidden(USUAL, OTHER, MORNING, ZONE) == ""
    assert why_hidden(nights(3, 5, 7, 10), WEEK, MORNING, ZONE) == ""
    assert why_hidden(nights(2, 4, 6, first_blood=MORNING, pump_stopped=None), OTHER, MORNING, ZONE) == ""


@pytest.mark.parametrize(
    ("hours", "shown"),
    [(24, True), (48, True), (48 + 12, True), (48 + 14, False), (96, False)],
)
def test_a_night_counts_as_missed_half_a_day_after_its_usual_start(hours: int, shown: bool) -> None:
    """Blood usually begins at 22:00 in Ireland, 21:00 UTC from 29 March on."""
    now = datetime(2026, 3, 30, 21, 0, tzinfo=UTC) + timedelta(hours=hours)
    assert why_hidden(USUAL, OTHER, now, ZONE) == ("" if shown else key("missed"))


@pytest.mark.hazard("H62")
@pytest.mark.source("practice:e", detail="H62: a gap of 73 h hides the projection")
def test_a_gap_of_73_hours_hides_it() -> None:
    """Mondays alone: no night is missed, and the gap by itself is too long."""
    weekly = replace(WEEK, days=(0,))
    held = nights(7, 14)
    stopped = held[0].pump_stopped
    assert stopped is not None
    assert why_hidden(held, weekly, stopped + timedelta(hours=72), ZONE) == ""
    assert why_hidden(held, weekly, stopped + timedelta(hours=73), ZONE) == key("long_gap")


def test_on_days_of_the_week_the_next_one_due_counts() -> None:
    wednesday = datetime(2026, 4, 1, 21, 0, tzinfo=UTC)
    held = nights(3, 5, 7)
    assert why_hidden(held, WEEK, wednesday + timedelta(hours=11), ZONE) == ""
    assert why_hidden(held, WEEK, wednesday + timedelta(hours=13), ZONE) == key("missed")


def test_a_night_missed_in_the_week_before_the_last_one_still_shows() -> None:
    assert why_hidden(nights(2, 6, 8), OTHER, MORNING, ZONE) == key("missed_lately")
    assert why_hidden(nights(3, 7, 10), WEEK, MORNING, ZONE) == key("missed_lately")
    assert why_hidden(nights(2, 4, 6, 10), OTHER, MORNING, ZONE) == "", "over a week ago"
    assert why_hidden(nights(2), OTHER, MORNING, ZONE) == "", "the record begins there"


def test_a_night_called_off_since_the_last_one_hides_it() -> None:
    off = called_off(date(2026, 3, 31))
    assert why_hidden([off, *USUAL], OTHER, MORNING, ZONE) == key("called_off")
    before = called_off(LAST - timedelta(days=1))
    assert why_hidden([USUAL[0], before, *USUAL[1:]], OTHER, MORNING, ZONE) == ""


@pytest.mark.parametrize(
    ("ran", "ordered", "said"),
    [
        (450, "450 min", ""),
        (390, "450 min", ""),
        (389, "450 min", "cut_short"),
        (389, "", "cut_short"),
        (389, "420 min", ""),
        (60, "450 min", "cut_short"),
        (None, "450 min", "end_not_known"),
    ],
)
def test_a_night_that_ended_over_an_hour_early_hides_it(ran: int | None, ordered: str, said: str) -> None:
    thinner = NightThinner(shown={"treatment_minutes": ordered} if ordered else {})
    held = nights(2, 4, 6, fluid=NightFluid(minutes=ran), thinner=thinner)
    assert why_hidden(held, OTHER, MORNING, ZONE) == (key(said) if said else "")


def test_without_a_night_there_is_none() -> None:
    assert why_hidden([], OTHER, MORNING, ZONE) == key("no_nights")


def test_nights_begin_by_the_clock_on_the_wall_over_a_change_of_clocks() -> None:
    saturday = date(2026, 3, 28)
    first, second = (night_begins(saturday, n, OTHER, ZONE) for n in (0, 1))
    assert second.astimezone(UTC) - first.astimezone(UTC) == timedelta(hours=23)
    late = replace(OTHER, start_min=25 * 60.0)
    assert night_begins(date(2026, 3, 30), 0, late, ZONE).astimezone(UTC) == datetime(
        2026, 3, 31, 0, 0, tzinfo=UTC
    )
