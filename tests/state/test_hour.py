"""Own values at the same hour of other nights."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from ebbwell.state.own_past import NightSummary, at_hour

START = datetime(2026, 4, 1, 20, 0, tzinfo=UTC)


def night(day: int, *rows: tuple[int, str]) -> NightSummary:
    """A night with readings so many minutes after first blood."""
    opened = START + timedelta(days=day)
    return NightSummary(
        treatment=f"t{day}",
        night=opened.date().isoformat(),
        phase="closed",
        opened_at=opened,
        first_blood=opened,
        pump_stopped=opened + timedelta(hours=8),
        values={},
        first={},
        packs=(),
        unsettled=False,
        rows=tuple((at, {"venous_pressure": value}) for at, value in rows),
    )


@pytest.mark.source("practice:a0", detail="own = the last 10 nights; which row is at this hour: arithmetic")
def test_of_each_night_the_nearest_row_counts_and_a_far_one_does_not() -> None:
    past = {n.treatment: n for n in (night(1, (0, "118"), (60, "121"), (80, "125")), night(2, (200, "140")))}
    later = START + timedelta(days=20)
    assert at_hour(past, "venous_pressure", 65, before=later) == (Decimal(121),)
    assert at_hour(past, "venous_pressure", 75, before=later) == (Decimal(125),)
    assert at_hour(past, "venous_pressure", 120, before=later) == (Decimal(125),)
    assert at_hour(past, "venous_pressure", 130, before=later) == ()
    assert at_hour(past, "pulse", 65, before=later) == ()


@pytest.mark.source("practice:a0", detail="own = the last 10 nights")
def test_ten_nights_newest_first_and_none_after_this_one() -> None:
    past = {n.treatment: n for n in (night(day, (60, str(100 + day))) for day in range(1, 15))}
    held = at_hour(past, "venous_pressure", 60, before=START + timedelta(days=13))
    assert held == tuple(Decimal(100 + day) for day in range(12, 2, -1))
