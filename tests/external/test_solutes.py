"""Solutes that the body gives back during a treatment, against closed forms worked in the reference."""

from __future__ import annotations

from decimal import Decimal

import pytest

from ebbwell.science.pools import ONE_POOL, Leg, Link, Pools, after
from ebbwell.science.schedule import WEEK_MIN, Body, Part, Session, Treatment, follow, settled, steps_of
from ebbwell.science.solutes import Mobilised, mobilised
from tests.external.table import Row, check, params


def phosphate(hours: float) -> Mobilised:
    return mobilised(start=1.8, near_l=11.9, release_l_min=0.099, clearance_l_min=0.150, minutes=60 * hours)


def an_hour_later(hours: float) -> float:
    """The release goes on with the dialyser off."""
    leg = Leg(60, 11.9, 0.0, (0.099,))
    return after(ONE_POOL.over(leg), (phosphate(hours).end * 11.9,), (0.099 * 1.8,))[0] / 11.9


def phosphate_followed(hours: float) -> Session:
    """The same by the engine, which keeps the level before as a number of its state."""
    body = Body(ONE_POOL, 11.9, 0.0, release_l_min=0.099)
    steps = steps_of(body, [Treatment(0.0, (Part(60 * hours, 0.150),))], 60 * hours + 120)
    return follow(body, steps, (1.8 * 11.9,)).sessions[0]


def potassium(bath: float) -> Mobilised:
    return mobilised(
        start=5.2, near_l=15.6, release_l_min=0.158, clearance_l_min=0.150, minutes=240, bath=bath
    )


def bicarbonate(minutes: float) -> float:
    return mobilised(
        start=22, near_l=17, release_l_min=0.16, clearance_l_min=0.18, minutes=minutes, bath=35
    ).end


def middle_molecule(starts: tuple[int, ...], hours: int) -> list[float]:
    """Before each treatment, after each, and the time mean [mg/L]."""
    pools = Pools((1 / 4.4, 1 - 1 / 4.4), (Link(0, 1, 0.055),))
    body = Body(pools, 12, 0.13, 0.0, (0.003, 0.0))
    course = settled(body, [Treatment(60 * h, (Part(60 * hours, 0.060),)) for h in starts], WEEK_MIN)
    return [
        *(one.before for one in course.sessions),
        *(one.end for one in course.sessions),
        *(one.evened for one in course.sessions),
        *(one.after_hour or 0.0 for one in course.sessions),
        course.mean,
    ]


def row(key: str, detail: str, ours: float, printed: str, within: str) -> Row:
    return Row(key, detail, lambda: Decimal(repr(ours)), printed, within)


ROWS = (
    row("kinetics:B49", "phosphate, 4 h: as it ends", phosphate(4).end, "0.72281096", "1e-7"),
    row("kinetics:B49", "phosphate, 8 h: as it ends", phosphate(8).end, "0.71570977", "1e-7"),
    row("kinetics:B49", "phosphate, 4 h: removed", phosphate(4).removed, "33.48587325", "1e-7"),
    row("kinetics:B49", "phosphate, 8 h: removed", phosphate(8).removed, "59.30063475", "1e-7"),
    row("kinetics:B50", "phosphate, 60 min after 4 h", an_hour_later(4), "1.14610256", "1e-7"),
    row("kinetics:B50", "phosphate, 60 min after 8 h", an_hour_later(8), "1.14179185", "1e-7"),
    row(
        "kinetics:B49",
        "phosphate, 4 h, followed: as it ends",
        phosphate_followed(4).end,
        "0.72281096",
        "1e-7",
    ),
    row(
        "kinetics:B49",
        "phosphate, 8 h, followed: removed",
        phosphate_followed(8).removed,
        "59.30063475",
        "1e-7",
    ),
    row(
        "kinetics:B50",
        "phosphate, 60 min after 4 h, followed",
        phosphate_followed(4).after_hour or 0.0,
        "1.14610256",
        "1e-7",
    ),
    row("kinetics:B51", "potassium, bath 2: as it ends", potassium(2).end, "3.65519808", "1e-7"),
    row("kinetics:B51", "potassium, bath 2: removed", potassium(2).removed, "70.83258602", "1e-7"),
    row("kinetics:B51", "potassium, bath 1: removed", potassium(1).removed, "92.96776916", "1e-7"),
    row("kinetics:B51", "potassium, bath 0: removed", potassium(0).removed, "115.10295229", "1e-7"),
    row("kinetics:B52", "bicarbonate, 4 h", bicarbonate(240), "28.82571292", "1e-7"),
    row("kinetics:B52", "bicarbonate, plateau", bicarbonate(1e6), "28.88235294", "1e-7"),
)


@pytest.mark.parametrize("row", params(ROWS))
def test_a_treatment_of_a_pool_that_fills_up(row: Row) -> None:
    check(row)


@pytest.mark.source(
    "kinetics:A9 potassium",
    detail="Zehnder, NDT 2001;16:78 (citation from memory): 117.1, 80.2, 63.3 mmol measured",
)
@pytest.mark.parametrize(("bath", "measured"), [(0.0, 117.1), (1.0, 80.2), (2.0, 63.3)])
def test_potassium_taken_off_lies_near_what_was_measured(bath: float, measured: float) -> None:
    assert abs(potassium(bath).removed / measured - 1) < 0.17


@pytest.mark.source(
    "kinetics:C", detail="case G, middle molecule, thrice weekly 4 h: DOP853 of SciPy, run for the reference"
)
def test_a_middle_molecule_thrice_weekly() -> None:
    printed = [
        32.84281355, 29.49998077, 28.67290223, 10.04207508, 9.13191218, 8.90672108,
        16.19776543, 14.58538327, 14.18645015, 16.09748408, 14.68343832, 14.33357729, 23.46768229,
    ]  # fmt: skip
    assert middle_molecule((0, 48, 96), 4) == pytest.approx(printed, rel=1e-8)


@pytest.mark.source(
    "kinetics:C", detail="case G, middle molecule, 4 x 8 h: DOP853 of SciPy, run for the reference"
)
def test_a_middle_molecule_on_four_nights() -> None:
    printed = [
        23.54992138, 15.32197010, 22.50583896, 23.43082210, 4.73877964, 3.63875844, 4.59919291, 4.72285687,
        6.80295815, 4.85419076, 6.55567012, 6.77474981, 7.85830027, 6.14925235, 7.64143134, 7.83356186, 13.96417766,
    ]  # fmt: skip
    assert middle_molecule((0, 24, 72, 120), 8) == pytest.approx(printed, rel=1e-8)
