"""Solutes: figures with range and source, words that say what a model is good for, bodies that keep their balance."""

from __future__ import annotations

import pytest

from ebbwell.core.errors import DomainError
from ebbwell.core.text import has_text, say
from ebbwell.rulebook.load import load_rulebook
from ebbwell.science.pools import Pools
from ebbwell.science.schedule import WEEK_MIN, Body, Part, Treatment, settled
from ebbwell.science.solutes import (
    BETA_2,
    CREATININE,
    MEMORY,
    PHOSPHATE,
    POTASSIUM,
    SOLUTES,
    UREA,
    Solute,
    beta_2_body,
    in_all_water,
    mobilised,
    phosphate_body,
)

NIGHTS = [Treatment(60.0 * start, (Part(480, 0.1),)) for start in (0, 24, 72, 120)]


@pytest.mark.parametrize("solute", SOLUTES, ids=lambda one: one.key)
def test_each_figure_has_a_range_and_a_source_and_each_solute_its_words(solute: Solute) -> None:
    sources = {source.key for source in load_rulebook().sources()}
    for figure in solute.figures.values():
        assert 0 < figure.low <= figure.value <= figure.high
        assert figure.source in sources or figure.source.startswith(MEMORY)
        assert figure.checked == (figure.source in sources)
    assert has_text(solute.good)
    assert has_text(solute.limits)
    if not all(figure.checked for figure in solute.figures.values()):
        assert "from memory, not checked" in say(solute.limits)


@pytest.mark.source("kinetics:A8", detail="removed in a cycle is what is made in it")
@pytest.mark.parametrize(
    "body",
    [in_all_water(UREA, 40, 0.24), in_all_water(CREATININE, 40, 0.007), phosphate_body(40, 0.01)],
    ids=["urea", "creatinine", "phosphate"],
)
def test_a_settled_week_removes_what_is_made(body: Body) -> None:
    course = settled(body, NIGHTS, WEEK_MIN)
    removed = sum(one.removed for one in course.sessions)
    assert removed == pytest.approx(body.generation_per_min * WEEK_MIN, rel=1e-12)


@pytest.mark.source(
    "kinetics:A9 beta-2", detail="volume 25-36 % of water, V/V1 = 4.4, 3 mg/kg/day, 3 mL/min elsewhere"
)
def test_beta_2_microglobulin_takes_its_volume_from_the_water_and_its_generation_from_the_weight() -> None:
    body = beta_2_body(40, 66)
    assert isinstance(body.water, Pools)
    assert body.volume_l == pytest.approx(12)
    assert body.water.shares[0] == pytest.approx(1 / 4.4)
    assert body.generation_per_min == pytest.approx(3 * 66 / 1440)
    course = settled(body, NIGHTS, WEEK_MIN)
    elsewhere = body.other_l_min[0] * course.mean * WEEK_MIN
    removed = sum(one.removed for one in course.sessions)
    assert removed + elsewhere == pytest.approx(body.generation_per_min * WEEK_MIN, rel=1e-12)


def test_ones_own_figure_takes_the_place_of_the_middle_one() -> None:
    slow = phosphate_body(40, 0.01, release_l_min=0.045)
    usual = phosphate_body(40, 0.01)
    assert settled(slow, NIGHTS, WEEK_MIN).peak > settled(usual, NIGHTS, WEEK_MIN).peak
    for wrong in (0.0, -1.0, float("nan")):
        with pytest.raises(DomainError):
            phosphate_body(40, 0.01, near_l=wrong)


@pytest.mark.source(
    "kinetics:A9 phosphate",
    detail="a store without end: 8 h takes off 77 % more than 4 h, by the model alone",
)
def test_a_store_without_end_takes_more_off_in_a_long_night_than_one_that_empties() -> None:
    def removed(minutes: float) -> float:
        return mobilised(
            start=1.8, near_l=11.9, release_l_min=0.099, clearance_l_min=0.15, minutes=minutes
        ).removed

    assert removed(480) / removed(240) == pytest.approx(1.77, abs=0.005)
    figures = PHOSPHATE.figures
    assert figures["release_l_min"].value == 0.099
    assert POTASSIUM.figures["release_l_min"].value == 0.158
    assert BETA_2.figures["between_l_min"].value == 0.055


def test_fluid_taken_off_leaves_less_behind() -> None:
    dry = mobilised(start=1.8, near_l=11.9, release_l_min=0, clearance_l_min=0.1, minutes=240, removal_l=2)
    wet = mobilised(start=1.8, near_l=11.9, release_l_min=0, clearance_l_min=0.1, minutes=240)
    assert dry.removed + dry.end * 9.9 == pytest.approx(1.8 * 11.9, rel=1e-12)
    assert dry.end < wet.end
