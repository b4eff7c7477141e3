"""Figures over past nights: counted as said, unknown left out, nothing from too few."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from ebbwell.review.weights import scale_beside_machine, spread, weight_nights, weight_signs
from ebbwell.state.night_fluid import NightFluid
from ebbwell.state.own_past import NightSummary

D = Decimal
FIRST = datetime(2026, 3, 1, 22, 0, tzinfo=UTC)


def night(
    n: int, *, phase: str = "closed", after: str = "64.5", before: str = "66.3", **fluid: object
) -> NightSummary:
    at = FIRST + timedelta(days=2 * n)
    usual = {
        "target": "64.5",
        "removed": "2.3",
        "went_in": "0.5",
        "minutes": 450,
        "lowest": "118",
        "after": "124",
    }
    values = {"weight_before": before, "weight_after": after, "systolic": "138"}
    return NightSummary(
        treatment=f"night-{n}",
        night=at.date().isoformat(),
        phase=phase,
        opened_at=at,
        first_blood=at,
        pump_stopped=at + timedelta(hours=7, minutes=30),
        values={name: value for name, value in values.items() if value},
        first={},
        packs=(),
        unsettled=False,
        fluid=NightFluid(**{**usual, **fluid}),  # type: ignore[arg-type]
    )


def test_nights_come_oldest_first_with_their_gain() -> None:
    found = weight_nights([night(1), night(0)])
    assert [(one.treatment, one.gain, one.off) for one in found] == [
        ("night-0", None, D(0)),
        ("night-1", D("1.8"), D(0)),
    ]


@pytest.mark.source(
    "arithmetic", detail="2.3 L in 7.5 h = 306.7 mL/h; by the weight after, 64.5 kg: 4.755 mL/kg/h"
)
def test_removal_is_told_by_the_weight_after() -> None:
    (one,) = weight_nights([night(0)])
    assert one.per_kg is not None
    assert round(one.per_kg, 3) == D("4.755")
    assert one.net == D("1.8")


def test_a_night_called_off_isnt_one() -> None:
    assert weight_nights([night(1, phase="called_off")]) == ()


@pytest.mark.source("fluids:U4", detail="missed by 1 kg or more, either way")
def test_missed_either_way_counts_from_the_limit_on() -> None:
    nights = weight_nights(
        [night(n, after=after) for n, after in enumerate(("65.5", "65.4", "63.5", "63.6", ""))][::-1]
    )
    found = weight_signs(nights, missed_kg=D(1), low_mmhg=D(90))
    assert (found.nights, found.weighed, found.over, found.under) == (5, 4, 1, 1)


def test_pressures_and_cramps_are_counted_by_night() -> None:
    nights = weight_nights(
        [
            night(2),
            night(1, lowest="89", symptoms=("cramp", "cramp")),
            night(0, lowest="", symptoms=("sick",)),
        ]
    )
    found = weight_signs(nights, missed_kg=D(1), low_mmhg=D(90))
    assert (found.cramps, found.low, found.lowest.nights) == (1, 1, 2)


@pytest.mark.source("fluids:U7", detail="1.8 of 64.5 kg is 2.8 %")
def test_the_gain_is_told_as_a_share_too() -> None:
    found = weight_signs(
        weight_nights([night(n) for n in reversed(range(8))]), missed_kg=D(1), low_mmhg=D(90)
    )
    assert found.gain_share.middle is not None
    assert round(found.gain_share.middle, 1) == D("2.8")
    assert found.gain.nights == 7


def test_too_few_have_no_band_and_say_how_many() -> None:
    assert spread([D(1), None, D(2)]).nights == 2
    assert spread([D(1), None, D(2)]).middle is None


def test_what_cant_be_is_left_out_not_shown() -> None:
    (one,) = weight_nights([night(0, removed="99", minutes=450)])
    assert one.per_kg is None
    (none,) = weight_nights([night(0, removed="", went_in="")])
    assert (none.removed, none.net, none.per_kg) == (None, None, None)


def test_the_scale_beside_the_machine_takes_ten_whole_nights() -> None:
    nights = [night(n) for n in reversed(range(12))]
    found, known = scale_beside_machine(weight_nights(nights))
    assert found is not None
    assert (known, found.apart, found.a_month.middle) == (12, D(0), D(0))
    few, known = scale_beside_machine(weight_nights([night(n, went_in="") for n in range(12)]))
    assert (few, known) == (None, 0)


def test_a_night_with_another_scale_or_other_clothes_is_left_out_of_the_scale() -> None:
    nights = weight_nights(
        [
            night(n, after="63.9" if n == 3 else "64.5", unlike=("shoes",) if n == 3 else ())
            for n in reversed(range(12))
        ]
    )
    found, known = scale_beside_machine(nights)
    assert found is not None
    assert (known, found.apart_high) == (11, D(0))
    assert nights[3].apart == D("0.6")
