"""What is odd in figures of bloods: each check sees what it is for, and leaves alone what may be so."""

from __future__ import annotations

from decimal import Decimal

import pytest

from ebbwell.rulebook.substances import substance
from ebbwell.science.blood_checks import (
    Odd,
    fallen_by_half,
    odd_drawing,
    odd_pair,
    odd_ratio,
    odd_tenfold,
    odd_unit,
)
from ebbwell.science.fit import BETWEEN_PER_MIN, OUTER_SHARE
from ebbwell.science.pools import Link, Pools
from ebbwell.science.schedule import Body, Part, Treatment, settled

D = Decimal
UREA = substance("urea")
UNITS = {unit: UREA.in_kept(D(1), unit) for unit in UREA.all_units}
USUAL = (UREA.ask_low, UREA.ask_high)


def key(odd: Odd | None) -> str:
    return "" if odd is None else odd.key


@pytest.mark.source("kinetics:G1", detail="50 and 15 mg/dL: 70 % removed, a usual treatment of under 5 h")
def test_the_printed_pair_is_not_odd() -> None:
    assert odd_pair(D(50), D(15), D(4)) is None
    assert odd_pair(D(50), D(15), D(8)) is None
    assert odd_pair(D(50), D(15)) is None


@pytest.mark.source("kinetics:A1", detail="after 8 h R is 0.1 to 0.25")
@pytest.mark.parametrize("left", ["0.10", "0.25"])
def test_what_a_long_night_leaves_is_not_odd(left: str) -> None:
    assert odd_pair(D(20), D(20) * D(left), D(8)) is None


@pytest.mark.parametrize(
    ("before", "after", "hours", "wanted"),
    [
        ("5", "20", "8", "pair_swapped"),
        ("20", "20", "8", "pair_same"),
        ("0", "0", None, "pair_same"),
        ("20", "10", "8", "pair_little"),
        ("20", "1.5", "8", "pair_much"),
        ("20", "10", "3.5", ""),
        ("20", "16", "3.5", "pair_little"),
        ("20", "2.5", "3.5", "pair_much"),
        ("20", "10", "5", "pair_little"),
        ("20", "10", "4.99", ""),
        ("20", "16", None, "pair_little"),
        ("20", "2.5", None, ""),
        ("20", "0", "8", "pair_much"),
    ],
)
def test_a_pair(before: str, after: str, hours: str | None, wanted: str) -> None:
    assert key(odd_pair(D(before), D(after), None if hours is None else D(hours))) == wanted


def test_a_pair_says_the_share_and_what_was_awaited() -> None:
    odd = odd_pair(D(20), D(10), D(8))
    assert odd is not None
    assert (odd.figures["removed"], odd.figures["low"], odd.figures["high"]) == (50, 55, 92)


@pytest.mark.source("kinetics:C", detail="two pools, outer a third, 0.016 of the water a minute between them")
@pytest.mark.parametrize(
    ("hours", "clearance", "volume"),
    [(6, 0.150, 40.0), (6, 0.200, 30.0), (8, 0.120, 40.0), (8, 0.200, 36.0), (8, 0.220, 30.0)],
)
def test_the_model_s_nights_lie_inside_the_range(hours: int, clearance: float, volume: float) -> None:
    """Every other night, by the model of the engine: low to high flows, small to large bodies."""
    pools = Pools((OUTER_SHARE, 1 - OUTER_SHARE), (Link(0, 1, BETWEEN_PER_MIN * volume),))
    body = Body(pools, volume, 0.2, 0.0, (0.0, 0.0), 1.0 / 1440)
    night = Treatment(0.0, (Part(hours * 60.0, clearance, None),))
    (session,) = settled(body, (night,), 2880.0).sessions
    assert odd_pair(D(str(session.before)), D(str(session.end)), D(hours)) is None


@pytest.mark.parametrize(
    ("minutes", "slowed", "wanted"),
    [
        ("0", "slowed", []),
        ("2", "slowed", []),
        ("30", "slowed", ["drawn_late"]),
        ("-10", "slowed", ["drawn_early"]),
        ("0", "not_slowed", ["not_slowed"]),
        (None, "", ["slowed_unknown"]),
        ("5", "not_slowed", ["drawn_late", "not_slowed"]),
    ],
)
def test_how_a_sample_at_the_end_was_drawn(minutes: str | None, slowed: str, wanted: list[str]) -> None:
    found = odd_drawing(None if minutes is None else D(minutes), slowed)
    assert [one.key for one in found] == wanted


@pytest.mark.source("kinetics:A1", detail="1 mmol/L of urea is 2.8 mg/dL of nitrogen and 6.006 mg/dL of urea")
@pytest.mark.parametrize(
    ("typed", "unit", "own", "wanted", "fits"),
    [
        ("60", "mmol/L", (), "unit_by_usual", "mg/dL as nitrogen"),
        ("120", "mmol/L", (), "unit_by_usual", "mg/dL as nitrogen"),
        ("4", "mg/dL as nitrogen", (), "unit_by_usual", "mmol/L"),
        ("40", "mmol/L", ("14", "15"), "unit_by_own", "mg/dL as nitrogen"),
        ("14.5", "mg/dL as nitrogen", ("14", "15"), "unit_by_own", "mmol/L"),
        ("40", "mg/dL as urea", ("14", "15"), "unit_by_own", "mg/dL as nitrogen"),
        ("90", "mg/dL as nitrogen", ("14", "15"), "unit_by_own", "mg/dL as urea"),
        ("19", "mmol/L", ("14", "15"), "", ""),
        ("28", "mmol/L", ("20", "21"), "", ""),
        ("22", "mmol/L", (), "", ""),
        ("40", "mmol/L", ("14",), "", ""),
        ("0", "mmol/L", (), "", ""),
        ("9000", "mmol/L", (), "", ""),
    ],
)
@pytest.mark.hazard("H28")
def test_a_unit_that_sits_better(typed: str, unit: str, own: tuple[str, ...], wanted: str, fits: str) -> None:
    odd = odd_unit(D(typed), unit, UNITS, USUAL, [D(one) for one in own])
    assert key(odd) == wanted
    assert (odd.unit if odd else "") == fits


def test_a_substance_of_one_unit_has_no_other() -> None:
    assert odd_unit(D(9), "%", {"%": D(1)}, (D(10), D(60)), [D(30), D(31)]) is None


@pytest.mark.parametrize(
    ("urea", "creatinine", "own", "wanted"),
    [
        ("20", "700", (), ""),
        ("20", "1", (), "ratio_usual"),
        ("120", "700", (), "ratio_usual"),
        ("20", "700", ("0.029", "0.030"), ""),
        ("43", "700", ("0.029", "0.030"), "ratio_own"),
        ("9.3", "700", ("0.029", "0.030"), "ratio_own"),
        ("0", "700", (), ""),
    ],
)
@pytest.mark.hazard("H28")
def test_urea_and_creatinine_of_one_sample(
    urea: str, creatinine: str, own: tuple[str, ...], wanted: str
) -> None:
    assert key(odd_ratio(D(urea), D(creatinine), [D(one) for one in own])) == wanted


def test_a_ratio_that_no_other_unit_helps_is_left_alone() -> None:
    own = [D("0.029"), D("0.030")]
    others = [D("0.357"), D("2.801")]
    assert key(odd_ratio(D(42), D(700), own, factors=others)) == "ratio_own"
    assert odd_ratio(D(38), D(700), own, factors=[D(30), D("0.03")]) is None


@pytest.mark.parametrize(
    ("value", "own", "wanted"),
    [
        ("51", ("5.0", "5.2"), "tenfold"),
        ("0.51", ("5.0", "5.2"), "tenfold"),
        ("20", ("5.0", "5.2"), ""),
        ("5.5", ("5.0", "5.2"), ""),
        ("500", ("5.0", "5.2"), ""),
        ("51", ("5.0",), ""),
        ("0", ("5.0", "5.2"), ""),
    ],
)
def test_a_mark_in_the_wrong_place(value: str, own: tuple[str, ...], wanted: str) -> None:
    assert key(odd_tenfold(D(value), [D(one) for one in own])) == wanted


@pytest.mark.source("practice:h2", detail="platelets fall by half on heparin: stop, call")
def test_a_fall_by_half() -> None:
    assert fallen_by_half(D(100), D(200))
    assert not fallen_by_half(D(101), D(200))
    assert not fallen_by_half(D(5), None)
