"""Finish and heparin stop on the wall clock: hours that really pass, over both changes in six zones."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from ebbwell.core.clock import elapsed
from ebbwell.core.errors import InputError
from ebbwell.plan.clock_times import after, clocks_change, local_text, offset_text
from ebbwell.plan.tonight import plan_tonight
from tests.plan.nights import number, usual

CHANGES = [
    ("Europe/Dublin", "2026-03-28 22:00", "07:00 UTC+01:00"),
    ("Europe/Dublin", "2026-10-24 22:00", "05:00 UTC+00:00"),
    ("Europe/London", "2026-03-28 22:00", "07:00 UTC+01:00"),
    ("Europe/London", "2026-10-24 22:00", "05:00 UTC+00:00"),
    ("America/New_York", "2026-03-07 22:00", "07:00 UTC-04:00"),
    ("America/New_York", "2026-10-31 22:00", "05:00 UTC-05:00"),
    ("Australia/Sydney", "2026-10-03 22:00", "07:00 UTC+11:00"),
    ("Australia/Sydney", "2026-04-04 22:00", "05:00 UTC+10:00"),
    ("America/Santiago", "2026-09-05 22:00", "07:00 UTC-03:00"),
    ("America/Santiago", "2026-04-04 22:00", "05:00 UTC-04:00"),
    ("Australia/Lord_Howe", "2026-10-03 22:00", "06:30 UTC+11:00"),
    ("Australia/Lord_Howe", "2026-04-04 22:00", "05:30 UTC+10:30"),
]


@pytest.mark.hazard("H17")
@pytest.mark.source(
    "arithmetic", detail="8 h from 22:00, one hour (Lord Howe half an hour) given or taken by the change"
)
@pytest.mark.parametrize(("zone", "start", "shown"), CHANGES)
def test_eight_hours_stay_eight_hours(zone: str, start: str, shown: str) -> None:
    first = datetime.fromisoformat(start).replace(tzinfo=ZoneInfo(zone))
    plan = plan_tonight(
        usual(start_at=first, zone=zone, treatment_minutes=number("treatment_minutes", "480", "min"))
    )
    assert plan.finish_at is not None
    assert plan.heparin_stop_at is not None
    assert elapsed(first, plan.finish_at) == timedelta(hours=8)
    assert elapsed(plan.heparin_stop_at, plan.finish_at) == timedelta(hours=1)
    assert plan.figures()["finish_at"] == shown


def test_the_hour_that_comes_twice_is_told_apart() -> None:
    start = datetime(2026, 10, 24, 22, 0, tzinfo=ZoneInfo("Europe/Dublin"))
    first, second = after(start, Decimal(210)), after(start, Decimal(270))
    assert first != second
    assert local_text(first, "Europe/Dublin", beside=start) == "01:30"
    assert local_text(second, "Europe/Dublin", beside=start) == "01:30 UTC+00:00"


def test_a_plain_night_shows_plain_times() -> None:
    start = datetime(2026, 4, 29, 21, 0, tzinfo=UTC)
    assert local_text(after(start, Decimal(450)), "Europe/Dublin", beside=start) == "05:30"
    assert not clocks_change(start, after(start, Decimal(450)), "Europe/Dublin")


def test_offsets_of_half_an_hour_and_west() -> None:
    instant = datetime(2026, 1, 15, 12, 0, tzinfo=UTC)
    assert offset_text(instant, "Asia/Kolkata") == "UTC+05:30"
    assert offset_text(instant, "America/St_Johns") == "UTC-03:30"
    assert offset_text(instant, "UTC") == "UTC+00:00"


def test_times_need_a_zone() -> None:
    naive = datetime(2026, 4, 29, 22, 0)  # noqa: DTZ001
    with pytest.raises(ValueError, match="zone"):
        after(naive, Decimal(60))
    with pytest.raises(ValueError, match="zone"):
        local_text(naive, "UTC", beside=datetime(2026, 4, 29, tzinfo=UTC))
    with pytest.raises(ValueError, match="zone"):
        plan_tonight(usual(start_at=naive))


def test_an_unknown_zone_is_named() -> None:
    with pytest.raises(InputError):
        offset_text(datetime(2026, 4, 29, tzinfo=UTC), "Europe/Nowhere")
