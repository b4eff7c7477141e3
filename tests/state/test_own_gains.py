"""Gains between nights that followed each other, by the days between them."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal

from ebbwell.state.own_gains import OwnGain, own_gains, usual_gap
from ebbwell.state.own_past import NightSummary

D = Decimal


def night(day: str, before: str, after: str) -> NightSummary:
    values = {"weight_before": before, "weight_after": after}
    return NightSummary(
        treatment=day,
        night=day,
        phase="closed",
        opened_at=datetime.fromisoformat(day).replace(tzinfo=UTC),
        first_blood=None,
        pump_stopped=None,
        values={name: value for name, value in values.items() if value},
        first={},
        packs=(),
        unsettled=False,
    )


def test_gains_come_oldest_first_with_their_days() -> None:
    newest_first = [
        night("2026-04-27", "66.4", "64.6"),
        night("2026-04-24", "67.1", "64.5"),
        night("2026-04-22", "66.2", "64.6"),
    ]
    assert own_gains(newest_first) == (OwnGain(2, D("2.5")), OwnGain(3, D("1.9")))


def test_a_weight_that_is_missing_makes_no_gain() -> None:
    nights = [
        night("2026-04-27", "66.4", "64.6"),
        night("2026-04-24", "", "64.5"),
        night("2026-04-22", "66.2", ""),
        night("2026-04-22", "66.2", "64.0"),
    ]
    assert own_gains(nights) == (OwnGain(3, D("1.9")),)


def test_the_usual_gap_is_the_most_frequent_and_of_two_the_longer() -> None:
    assert usual_gap([OwnGain(2, D(1)), OwnGain(3, D(1)), OwnGain(2, D(1))]) == 2
    assert usual_gap([OwnGain(2, D(1)), OwnGain(3, D(1))]) == 3
    assert usual_gap([]) is None
