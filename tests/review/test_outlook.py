"""If nothing changes: against the printed weeks after a missed night, a general solver, and what must hold of any."""

from __future__ import annotations

from dataclasses import replace
from math import inf, log, nan
from typing import Any

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from ebbwell.core.errors import DomainError
from ebbwell.core.text import has_text, say
from ebbwell.review.basis import Basis
from ebbwell.review.clearance import IN_BODY
from ebbwell.review.doubt import Doubts
from ebbwell.review.models import PLASMA_FLOW, clearances_l_min
from ebbwell.review.outlook import Ahead, outlook
from ebbwell.rulebook.load import load_rulebook
from ebbwell.science.bands import Band
from ebbwell.science.solutes import BICARBONATE, PHOSPHATE, POTASSIUM
from tests.review.bases import EVERY_OTHER, FOUR, PERSON, SIX, THRICE, certain, koa, usual

PLASMA = 0.93
LEVELS = {"phosphate": 1.5, "potassium": 5.2, "bicarbonate": 22.0}
RUN_B = {"litres": 40.0, "kilos": 66.0, "made": 0.24, "cleared_ml": 180.0, "gain": 0.9}


def person(**change: Any) -> Basis:
    return replace(usual(), before=LEVELS, **change)


def of(found: tuple[Ahead, ...], key: str) -> Ahead:
    return next(one for one in found if one.key == key)


def befores(ahead: Ahead) -> list[float]:
    return [one.before.middle for one in ahead.levels]


@pytest.mark.source(
    "kinetics:C", detail="case F, weeks 4 and 5: what a missed night leaves, by DOP853 and Radau"
)
def test_the_weeks_after_a_missed_night_come_out_from_the_level_before_them() -> None:
    """To 1.5 %: the printed run's outer pool takes all the fluid, and its pools stood a little otherwise."""
    printed = [20.25824624, 10.06108649, 16.56691461, 17.60689294, 17.76384789, 9.67629030, 16.51088780]
    ended = [3.95489324, 2.48448477, 3.44308441, 3.58727901]
    basis = replace(certain(FOUR, **RUN_B), before={"urea": PLASMA * printed[0]})
    found = of(outlook(basis, first=0, weeks=2), "urea")
    assert befores(found)[:7] == pytest.approx([PLASMA * one for one in printed], rel=0.015)
    assert [one.after.middle for one in found.levels][:4] == pytest.approx(
        [PLASMA * e for e in ended], rel=0.015
    )


@pytest.mark.source(
    "kinetics:C", detail="case F: what is off shrinks some 1950 times in a full week of pattern B"
)
def test_a_level_that_is_off_comes_back_as_fast_as_printed() -> None:
    basis = certain(FOUR, **RUN_B)
    settled = befores(of(outlook(basis, first=2, weeks=3), "urea"))
    off = replace(basis, before={"urea": settled[0] * 1.3})
    found = befores(of(outlook(off, first=2, weeks=3), "urea"))
    first, second = (found[n] - settled[n] for n in (4, 8))
    assert first / second == pytest.approx(1950, rel=0.05)


@pytest.mark.parametrize("pattern", [FOUR, EVERY_OTHER, THRICE, SIX], ids=lambda one: one.name)
def test_where_nothing_has_changed_the_pattern_repeats_itself(pattern: Any) -> None:
    basis = certain(pattern, **PERSON)
    first = basis.months[-1].which
    found = of(outlook(basis, first=first, weeks=4), "urea")
    count = len(pattern.days)
    assert befores(found)[count:] == pytest.approx(befores(found)[:-count], rel=1e-9)
    assert found.levels[0].before.middle == pytest.approx(PLASMA * basis.months[-1].before, rel=1e-9)
    assert len(found.levels) == (14 if pattern is EVERY_OTHER else 4 * count)
    cycle = [one.at_min % pattern.cycle_min for one in found.levels]
    starts = pattern.nights.starts_min()
    assert cycle == [(starts[one.number] - starts[first]) % pattern.cycle_min for one in found.levels]


def test_a_new_pattern_moves_urea_to_where_that_pattern_holds_it() -> None:
    old = usual(THRICE, cleared_ml=220.0)
    new = replace(old, present=SIX)
    found = befores(of(outlook(new, first=0, weeks=4), "urea"))
    assert found[0] == pytest.approx(PLASMA * old.months[-1].before, rel=1e-9)
    assert found[6] < 0.75 * found[0]
    assert found[-6:] == pytest.approx(found[-12:-6], rel=1e-6)


def test_weeks_are_told_from_now_on_and_go_by_the_same_course() -> None:
    basis = person()
    all_weeks = outlook(basis, first=1, weeks=6)
    later = outlook(basis, first=1, since_min=2 * 10080 + 700.0, weeks=4)
    for whole, part in zip(all_weeks, later, strict=True):
        rest = [one for one in whole.levels if one.at_min >= 2 * 10080 + 700]
        assert len(rest) in (len(part.levels), len(part.levels) - 1)
        for one, two in zip(rest, part.levels, strict=False):
            assert one.at_min == two.at_min
            assert one.number == two.number
            assert one.before.middle == pytest.approx(two.before.middle, rel=1e-12)


@pytest.mark.source(
    "kinetics:A8", detail="solve_ivp, DOP853 at 1e-11: V dC/dt = release (C0 - C) - clearance (C - bath)"
)
@pytest.mark.parametrize("solute", [POTASSIUM, BICARBONATE], ids=lambda one: one.key)
def test_one_night_of_an_ion_is_what_a_general_solver_finds(solute: Any) -> None:
    basis = person()
    start, bath = LEVELS[solute.key], basis.bath[solute.key]
    release = solute.figures["release_l_min"].value
    litres = solute.figures["near_l"].value if solute is POTASSIUM else 0.40 * basis.weight_kg
    cleared = float(
        clearances_l_min(IN_BODY * basis.koa_ml_min["urea"], PLASMA_FLOW * FOUR.blood_flow_ml_min, 300.0)
    )

    def change(t: float, level: np.ndarray) -> np.ndarray:
        return (release * (start - level) - cleared * (level - bath)) / litres

    end = solve_ivp(change, (0, 480), [start], "DOP853", rtol=1e-11, atol=1e-12).y[0, -1]
    night = of(outlook(basis), solute.key).levels[0]
    assert night.before.middle == pytest.approx(start, rel=1e-12)
    assert night.after.middle == pytest.approx(end, rel=1e-9)


@pytest.mark.source(
    "kinetics:B51", detail="potassium 5.2 with bath 2 ends at 3.66 after 4 h of 150 mL/min in 15.6 L"
)
def test_potassium_ends_where_the_worked_example_does() -> None:
    basis = replace(person(), present=replace(THRICE, blood_flow_ml_min=300.0))
    own = koa(150.0, basis.present, PLASMA_FLOW) / IN_BODY
    basis = replace(basis, koa_ml_min={"urea": 500.0, "potassium": own})
    found = of(outlook(basis), "potassium")
    assert found.levels[0].after.middle == pytest.approx(3.65519808, rel=0.01)
    assert "review.rests.leaflet" in found.rests


@pytest.mark.source(
    "kinetics:B52", detail="bicarbonate 22 with bath 35 tends to 28.88 at 0.18 and 0.16 L/min"
)
def test_bicarbonate_tends_to_the_plateau_of_the_worked_example() -> None:
    """The example's release is 0.16 L/min and ours 0.152: the plateau is then (0.18 x 35 + 0.152 x 22) / 0.332."""
    basis = replace(person(), present=replace(FOUR, hours=23.0, days=(0, 2)), bath={"bicarbonate": 35.0})
    own = koa(180.0, replace(FOUR, blood_flow_ml_min=400.0, fluid_flow_ml_min=300.0), PLASMA_FLOW) / IN_BODY
    present = replace(basis.present, blood_flow_ml_min=400.0)
    basis = replace(basis, present=present, koa_ml_min={"urea": 500.0, "bicarbonate": own})
    end = of(outlook(basis), "bicarbonate").levels[0].after.middle
    assert end == pytest.approx((0.18 * 35 + 0.152 * 22) / 0.332, rel=1e-4)
    assert end == pytest.approx(28.88235294, rel=0.01)


@pytest.mark.source(
    "kinetics:A9", detail="phosphate comes back from a store while it is taken off, and within the hour"
)
def test_phosphate_falls_in_a_night_and_is_back_before_the_next() -> None:
    found = of(outlook(person(), first=2), "phosphate")
    assert found.levels[0].before.middle == pytest.approx(1.5, rel=1e-9)
    assert befores(found)[4:8] == pytest.approx(befores(found)[8:12], rel=1e-9)
    assert all(one.after.middle < 0.6 * one.before.middle for one in found.levels)
    assert found.limits == PHOSPHATE.limits


def test_bands_widen_from_the_result_to_the_weeks_ahead() -> None:
    for ahead in outlook(person(), first=2):
        width = [log(one.before.high / one.before.low) for one in ahead.levels]
        assert width[0] == pytest.approx(2 * 1.6449 * 0.03, rel=0.01)
        assert width[-4] > 2 * width[0]
        for one in ahead.levels:
            for band in (one.before, one.after):
                assert 0 < band.low < band.middle < band.high


@pytest.mark.source("arithmetic", detail="2,000 draws of all parameters (NumPy), quantiles of what comes out")
def test_bands_of_the_weeks_are_those_of_chance_draws(monkeypatch: pytest.MonkeyPatch) -> None:
    """Within 6 %, and 8 % for phosphate as nights end, where release and clearance bend the slopes."""
    linear = outlook(person(), first=2, weeks=2)
    dice = np.random.default_rng(13)

    def drawn(self: Doubts) -> dict[str, np.ndarray]:
        logs = dice.multivariate_normal(np.log(self.middles), self.spread, 2000, method="eigh")
        return {name: np.exp(logs[:, i]) for i, name in enumerate(self.names)}

    def quantiles(self: Doubts, figures: np.ndarray) -> tuple[Band, ...]:
        return tuple(Band(*np.quantile(row, [0.05, 0.5, 0.95])) for row in figures)

    monkeypatch.setattr(Doubts, "points", drawn)
    monkeypatch.setattr(Doubts, "bands", quantiles)
    for line, chance in zip(linear, outlook(person(), first=2, weeks=2), strict=True):
        for one, other in zip(line.levels, chance.levels, strict=True):
            for band, true in ((one.before, other.before), (one.after, other.after)):
                within = 0.085 if line.key == "phosphate" else 0.06
                assert (band.low, band.high) == pytest.approx((true.low, true.high), rel=within), line.key


def test_what_is_not_known_says_why() -> None:
    def why(basis: Basis) -> dict[str, str]:
        return {one.key: one.why_not.removeprefix("review.not_known.") for one in outlook(basis)}

    assert why(person()) == {"urea": "", "phosphate": "", "potassium": "", "bicarbonate": ""}
    assert why(person(koa_ml_min={})) == dict.fromkeys(why(person()), "no_clearance")
    assert why(person(koa_ml_min={"urea": 500.0}))["phosphate"] == "no_clearance"
    assert why(person(bath={}))["potassium"] == "no_bath"
    none = why(replace(person(), before={}))
    assert none == {
        "urea": "",
        "phosphate": "no_result",
        "potassium": "no_result",
        "bicarbonate": "no_result",
    }
    changed = why(replace(person(), other_nights=frozenset({"urea", "phosphate", "potassium"})))
    assert changed == {
        "urea": "",
        "phosphate": "other_nights",
        "potassium": "other_nights",
        "bicarbonate": "",
    }
    for reason in ("no_bath", "other_nights"):
        assert has_text(f"review.not_known.{reason}")


def test_each_says_in_words_what_it_rests_on() -> None:
    sources = {one.key for one in load_rulebook().sources()}
    for ahead in outlook(person()):
        assert set(ahead.sources) <= sources
        assert ahead.rests
        assert all(map(has_text, (*ahead.rests, ahead.good, ahead.limits)))
    stood_in = of(outlook(person()), "potassium")
    assert "review.rests.stand_in" in stood_in.rests


@pytest.mark.parametrize(
    ("asked", "key"),
    [
        ({"first": 4}, "review.start_in_pattern"),
        ({"first": -1}, "review.start_in_pattern"),
        ({"weeks": 0}, "review.weeks_ahead"),
        ({"weeks": 13}, "review.weeks_ahead"),
        ({"weeks": 1.5}, "review.weeks_ahead"),
        ({"since_min": -1.0}, "review.bloods_too_old"),
        ({"since_min": nan}, "review.bloods_too_old"),
        ({"since_min": inf}, "review.bloods_too_old"),
        ({"since_min": 27 * 10080.0}, "review.bloods_too_old"),
    ],
)
def test_weeks_and_starts_that_cannot_be_are_refused_in_words(asked: dict[str, Any], key: str) -> None:
    with pytest.raises(DomainError) as caught:
        outlook(person(), **asked)
    assert caught.value.key == key
    assert "{" not in say(key, **caught.value.params)


def test_a_pattern_or_numbers_that_cannot_be_are_refused() -> None:
    with pytest.raises(DomainError) as caught:
        outlook(person(present=replace(FOUR, hours=0.0)))
    assert caught.value.key == "review.pattern_hours"
    with pytest.raises(DomainError) as caught:
        outlook(person(weight_kg=-1.0))
    assert caught.value.key == "review.basis_not_above_zero"
