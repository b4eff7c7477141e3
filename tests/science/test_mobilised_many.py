"""Nights of a solute that is brought back: as one body alone has them, as printed, and refusals."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from ebbwell.core.errors import DomainError
from ebbwell.science.mobilised_many import mobilised_nights
from ebbwell.science.pools import ONE_POOL
from ebbwell.science.schedule import Body, Part, Treatment, follow, steps_of
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


def test_each_is_what_it_is_alone() -> None:
    before, end = mobilised_nights(**NIGHTS)
    for i in range(3):
        litres, release = NIGHTS["litres"][i], NIGHTS["release_l_min"][i]
        body = Body(ONE_POOL, litres, 0.0, release_l_min=release)
        part = Part(240.0, NIGHTS["clearance_l_min"][i], bath=NIGHTS["bath"][i])
        at, nights = 0.0, []
        for gap in GAPS:
            nights.append(Treatment(at, (part,)))
            at += 240 + gap
        start = NIGHTS["start"][i]
        course = follow(body, steps_of(body, nights, at), (start * litres,), start).sessions
        assert before[:, i] == pytest.approx([one.before for one in course], rel=1e-12)
        assert end[:, i] == pytest.approx([one.end for one in course], rel=1e-12)
        once = mobilised(
            start=start, near_l=litres, release_l_min=release, clearance_l_min=part.clearance_l_min,
            minutes=240.0, bath=part.bath,
        )  # fmt: skip
        assert end[0][i] == pytest.approx(once.end, rel=1e-12)


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
