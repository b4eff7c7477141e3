"""Heparin and clotting of past nights: sums of what ran, unknown left unknown, and the curve with its band."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest

from ebbwell.review.heparin import curve, thinner_nights
from ebbwell.state.night_thinner import NightThinner
from ebbwell.state.own_past import NightSummary

D = Decimal
START = datetime(2026, 4, 27, 21, 0, tzinfo=UTC)
SHOWN = {
    "anticoagulant": "heparin",
    "heparin_first_dose": "1500",
    "heparin_rate": "900",
    "heparin_stop_before_end": "60 min",
    "treatment_minutes": "450 min",
    "target_weight": "64.5",
}
FIRST = (0, "heparin_first_dose", "1500", "units")


def night(minutes: int | None = 450, rows: Any = (), values: Any = None, **thinner: Any) -> NightSummary:
    """A night with this thinner that ran so many minutes."""
    return NightSummary(
        treatment="t",
        night="2026-04-27",
        phase="closed",
        opened_at=START,
        first_blood=START,
        pump_stopped=None if minutes is None else START + timedelta(minutes=minutes),
        values=values or {},
        first={},
        packs=(),
        unsettled=False,
        rows=rows,
        thinner=NightThinner(**{"shown": SHOWN, "given": (FIRST,), **thinner}),
    )


@pytest.mark.source("fluids:3.3", detail="0.9 mL/h x 6.5 h = 5.85 mL, total 1,500 + 5,850 = 7,350 units")
def test_the_whole_night_adds_up() -> None:
    (one,) = thinner_nights([night()])
    assert (one.first, one.pumped, one.total) == (D(1500), D(5850), D(7350))
    assert one.stop_at == START + timedelta(hours=6, minutes=30)


@pytest.mark.source("arithmetic", detail="off the machine after 4 h: 4 x 900 = 3,600 units")
def test_coming_off_early_ends_the_pump_too() -> None:
    (one,) = thinner_nights([night(240)])
    assert (one.pumped, one.total) == (D(3600), D(5100))
    assert one.stop_at == START + timedelta(hours=4)


@pytest.mark.source(
    "arithmetic", detail="20 min off after 60 min: 390 min of pump end 410 min after first blood"
)
def test_time_off_is_no_time_of_the_pump_and_moves_its_stop() -> None:
    (one,) = thinner_nights([night(470, off=((60, 80),))])
    assert one.pumped == D(5850)
    assert one.stop_at == START + timedelta(minutes=410)
    assert [(g.from_h, g.until_h) for g in one.given[1:]] == [(D(0), D(1)), (D(80) / 60, D(410) / 60)]


def test_what_nobody_wrote_down_is_not_known_and_never_taken_from_the_order() -> None:
    (one,) = thinner_nights([night(given=())])
    assert (one.first, one.total) == (None, None)
    assert one.pumped == D(5850)
    assert curve(one) == ()
    (open_end,) = thinner_nights([night(None)])
    assert (open_end.pumped, open_end.total, open_end.stop_at) == (None, None, None)
    (twice,) = thinner_nights([night(given=(FIRST, FIRST))])
    assert twice.first is None, "two first doses stand, so neither is taken"


def test_other_nights_have_no_sum_and_no_curve() -> None:
    low = {"anticoagulant": "low_molecular", "low_molecular_dose": "4000 IU at the start"}
    given = ((5, "low molecular heparin", "4000", "IU"),)
    (one,) = thinner_nights([night(shown=low, given=given)])
    assert (one.kind, one.ordered, one.medicines) == (
        "low_molecular",
        "4000 IU at the start",
        (given[0][1:],),
    )
    assert (one.first, one.pumped, one.total, one.stop_at, curve(one)) == (None, None, None, None, ())
    (none,) = thinner_nights([night(shown={"anticoagulant": "none"}, given=())])
    assert (none.kind, none.total, curve(none)) == ("none", None, ())
    assert thinner_nights([night(shown={}, given=())]) == (), "a night without an order to hold it beside"


def test_looks_and_bleeding_stand_as_they_were_picked() -> None:
    made = night(
        rows=((60, {"heparin_given": "0.9"}), (420, {"heparin_given": "5.8"}), (430, {"pulse": "70"})),
        values={"bleeding_minutes@arterial": "8"},
        looks={"blood_return": "normal", "rinse_back_line": "clotted"},
        events=("clots seen", "cramp"),
        clotted_sets=1,
    )
    (one,) = thinner_nights([made])
    assert one.looks == {"blood_return": "normal", "rinse_back_line": "clotted"}
    assert (one.clots, one.clotted_sets, one.pump_ml) == (("clots seen",), 1, D("5.8"))
    assert one.bleeding == {"arterial": D(8)}


@pytest.mark.source(
    "fluids:3.2",
    detail="half-life 0.9 h: 1,322 units left at 1 h, 1,240 at 2 h, 1,184 at 4 h, 1,171 at 6.5 h, 542 at 7.5 h",
)
@pytest.mark.parametrize(
    ("hour", "left"), [("1", 1322), ("2", 1240), ("4", 1184), ("6.5", 1171), ("7.5", 542)]
)
def test_the_curve_goes_by_the_published_half_life(hour: str, left: int) -> None:
    (one,) = thinner_nights([night()])
    found = {point.at_h: point for point in curve(one)}
    point = found[D(hour)]
    assert abs(point.studied - D(left) / 15) < D("0.05")
    assert point.least < point.studied < point.most, "a band, never a line alone"


def test_the_curve_ends_with_the_treatment() -> None:
    (one,) = thinner_nights([night()])
    assert curve(one)[-1].at_h == D("7.5"), "nothing is shown of the time when needles come out"


@pytest.mark.source("fluids:3.3", detail="7,350 units = 114 units/kg at 64.5 kg")
def test_the_score_stands_beside_the_dose_for_each_kg() -> None:
    (one,) = thinner_nights([night(scores=(("streaks", "bram"),))])
    assert one.score == (1, "bram")
    assert one.per_kg is not None
    assert round(one.per_kg) == 114
    (twice,) = thinner_nights([night(scores=(("streaks", "bram"), ("clean", "ana")))])
    assert twice.score is None, "two that differ are no score"
    (bare,) = thinner_nights([night(shown={**SHOWN, "target_weight": ""})])
    assert (bare.score, bare.per_kg) == (None, None)
    (odd,) = thinner_nights([night(shown={**SHOWN, "target_weight": "6.45"})])
    assert odd.per_kg is None, "a weight that nobody has"
