"""Nights of a solute that is brought back: as printed, as SciPy has them, and refusals."""

from __future__ import annotations

from math import exp
from typing import Any

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from ebbwell.core.errors import DomainError
from ebbwell.science.mobilised_many import mobilised_nights
from ebbwell.science.solutes import mobilised

GAPS = (960.0, 2400.0, 300.0, 2400.0)
NIGHTS: dict[str, Any] = {
    "start": np.array([5.2, 22.0, 1.8]),
    "litres": np.array([15.6, 17.0, 11.9]),
    "release_l_min": np.array([0.158, 0.16, 0.01]),
    "clearance_l_min": np.array([0.15, 0.18, 0.15]),
    "bath": np.array([2.0, 35.0, 0.0]),
    "minutes": 240.0,
    "gaps_min": GAPS,
}


@pytest.mark.source(
    "kinetics:B51", detail="5.2 ends at 3.65519808 after 4 h; kinetics:B52: 22 ends at 28.82571292"
)
def test_the_first_night_ends_as_printed() -> None:
    before, end = mobilised_nights(**NIGHTS)
    assert before.shape == end.shape == (4, 3)
    assert end[0][0] == pytest.approx(3.65519808, abs=1e-8)
    assert end[0][1] == pytest.approx(28.82571292, abs=1e-8)


@pytest.mark.source(
    "kinetics:A9 bicarbonate",
    detail="V dC/dt = D (Cd - C) - Hm (C - C0), one C0 for all nights, by SciPy's DOP853",
)
def test_nights_in_a_row_are_what_the_equation_makes_of_them() -> None:
    before, end = mobilised_nights(**NIGHTS)
    for i in range(3):
        start, litres, release = (NIGHTS[key][i] for key in ("start", "litres", "release_l_min"))
        clearance, bath = NIGHTS["clearance_l_min"][i], NIGHTS["bath"][i]

        def over(level: float, minutes: float, cleared: float) -> float:
            return float(
                solve_ivp(
                    lambda _, c: (release * (start - c) - cleared * (c - bath)) / litres,  # noqa: B023
                    (0.0, minutes),
                    [level],
                    method="DOP853",
                    rtol=1e-12,
                    atol=1e-12,
                ).y[0, -1]
            )

        level = start
        for night, gap in enumerate(GAPS):
            assert before[night][i] == pytest.approx(level, rel=1e-9)
            level = over(level, 240.0, clearance)
            assert end[night][i] == pytest.approx(level, rel=1e-9)
            level = over(level, gap, 0.0)
        once = mobilised(
            start=start, near_l=litres, release_l_min=release, clearance_l_min=clearance, minutes=240.0, bath=bath
        )  # fmt: skip
        assert end[0][i] == pytest.approx(once.end, rel=1e-12)


@pytest.mark.source(
    "kinetics:A9 bicarbonate",
    detail="settled level of the two legs' affine map, by hand: arithmetic of exponentials",
)
def test_a_short_gap_does_not_add_up_over_the_weeks() -> None:
    """110 kg (44 L), every night, 10 h: 84 nights on, the level before stays near the measured one."""
    before, _ = mobilised_nights(
        start=np.array([22.0]), litres=44.0, release_l_min=0.152, clearance_l_min=0.12, bath=34.0,
        minutes=600.0, gaps_min=[840.0] * 84,
    )  # fmt: skip
    on, off = exp(-(0.152 + 0.12) / 44 * 600), exp(-0.152 / 44 * 840)
    rise = (0.12 / 0.272) * (34 - 22) * (1 - on) * off
    assert float(before[-1][0]) == pytest.approx(22 + rise / (1 - on * off), rel=1e-12)


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"litres": 0.0}, "science.leg_not_above_zero"),
        ({"release_l_min": -0.1}, "science.leg_not_above_zero"),
        ({"release_l_min": 0.0, "clearance_l_min": 0.0}, "science.leg_not_above_zero"),
        ({"minutes": 0.0}, "science.leg_not_above_zero"),
        ({"gaps_min": (10.0, -1.0)}, "science.leg_not_above_zero"),
        ({"bath": float("nan")}, "science.leg_not_a_number"),
        ({"start": np.array([5.0, np.inf, 1.0])}, "science.leg_not_a_number"),
    ],
)
def test_what_cannot_be_is_refused(change: dict[str, Any], key: str) -> None:
    with pytest.raises(DomainError) as caught:
        mobilised_nights(**NIGHTS | change)
    assert caught.value.key == key
