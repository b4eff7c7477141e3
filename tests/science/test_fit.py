"""One person's own numbers from bloods: found again where they were put in, said plainly where they can't be."""

from __future__ import annotations

from math import exp, inf, log, nan
from typing import Any

import pytest
from tools import fit_study
from tools.fit_study import DOCS, WORLDS, page, person, picture, whole

from ebbwell.core.errors import DomainError
from ebbwell.science.fit import KNOWN, Known, MonthBloods, expected, fit

EXACT = Known(lab_doubt=1e-4, water_doubt=5.0, clearance_doubt=1e-4)
"""Bloods without error and a clearance that is known: then two unknowns meet two figures."""


def month(**change: Any) -> MonthBloods:
    """Bloods that the model itself makes of 0.56 L/kg and 0.22 mmol/min, four nights of 8 h."""
    plain = MonthBloods(1, 0.5, 66, 0.175, 0.9 / 1440, (0, 1440, 4320, 7200), 480, 10080, 2)
    asked = plain._replace(**change)
    told = expected(asked, 0.56, 1.0)
    return asked._replace(before=0.22 * exp(told.before), post=0.22 * exp(told.post))


@pytest.mark.source("kinetics:A8", detail="pre and post: two equations for V and G, where K is known")
@pytest.mark.parametrize(
    "change",
    [
        {},
        {"which": 1},
        {"drawn_after_min": 25.0},
        {"drawn_after_min": -40.0},
        {"residual_l_min": 0.002},
        {"minutes": 300.0},
    ],
)
def test_what_was_put_in_is_found_again(change: dict[str, Any]) -> None:
    found = fit([month(**change)], EXACT)
    assert found.water_share.middle == pytest.approx(0.56, rel=1e-5)
    assert found.generation[0].middle == pytest.approx(0.22, rel=1e-5)
    assert found.odd == ()


@pytest.mark.source("kinetics:A8", detail="an error in K passes 1:1 into V and G; Kt/V is safe")
def test_an_error_of_the_clearance_passes_into_water_and_generation_and_not_into_the_dose() -> None:
    true = month()
    wrong = true._replace(clearance_l_min=true.clearance_l_min * 1.1)
    right, off = fit([true], EXACT), fit([wrong], EXACT)
    assert off.water_share.middle / right.water_share.middle == pytest.approx(1.1, rel=0.01)
    assert off.generation[0].middle / right.generation[0].middle == pytest.approx(1.1, rel=0.01)
    assert off.standard[0].middle == pytest.approx(right.standard[0].middle, rel=0.005)


def test_more_months_narrow_what_the_bloods_can_tell() -> None:
    one, year = fit([month()]), fit([month()] * 12)
    dose = [found.standard[0].high / found.standard[0].low for found in (one, year)]
    assert log(dose[0]) / 12**0.5 < log(dose[1]) < log(dose[0]) / 2
    water = [found.water_share.high / found.water_share.low for found in (one, year)]
    assert water[1] > 1.2, "water alone leans on what was put in, however many the bloods"


def test_doubts_that_share_a_ratio_alike_do_not_lean() -> None:
    """Bloods that hold clearance over water leave each of two equal doubts 1 / sqrt 2 of itself, under four fifths."""
    found = fit([month()] * 12, Known(water_doubt=0.1, clearance_doubt=0.1))
    for left in (found.spread.water, found.spread.over):
        assert left**0.5 / 0.1 == pytest.approx(2**-0.5, rel=0.05)
    assert found.leans == ()


def test_what_the_bloods_cannot_tell_is_named() -> None:
    loose = fit([month()] * 12, Known(water_doubt=0.5, clearance_doubt=0.1))
    assert loose.leans == ("clearance_over",)
    assert fit([month()] * 12, Known(water_doubt=0.1, clearance_doubt=0.5)).leans == ("water_share",)


def test_the_profile_agrees_with_the_slopes_where_they_are_straight() -> None:
    found = fit([month()] * 6)
    assert found.water_profile.low == pytest.approx(found.water_share.low, rel=0.01)
    assert found.water_profile.high == pytest.approx(found.water_share.high, rel=0.01)
    assert found.water_profile.low < found.water_profile.middle < found.water_profile.high


def test_a_pair_that_does_not_sit_with_the_others_is_called_odd() -> None:
    months = [month()] * 12
    months[4] = months[4]._replace(post=months[4].post * 1.3)
    assert fit(months).odd == (4,)


@pytest.mark.parametrize(("deviations", "odd"), [(2.7, ()), (3.3, (4,))])
def test_a_pair_is_odd_from_three_deviations_on(deviations: float, odd: tuple[int, ...]) -> None:
    """The fit follows one pair of twelve by about a twelfth of how far that lies off."""
    months = [month()] * 12
    off = deviations * KNOWN.lab_doubt * 2**0.5 * 12 / 11
    months[4] = months[4]._replace(post=months[4].post * exp(off))
    found = fit(months)
    assert found.residuals[4] == pytest.approx(deviations, abs=0.1)
    assert found.odd == odd


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"before": 0.0}, "science.bloods_not_above_zero"),
        ({"post": -1.0}, "science.bloods_not_above_zero"),
        ({"drawn_after_min": -480.0}, "science.bloods_not_above_zero"),
        ({"before": nan}, "science.bloods_not_above_zero"),
        ({"weight_kg": inf}, "science.bloods_not_above_zero"),
        ({"before": 4.0, "post": 4.0}, "science.bloods_not_falling"),
        ({"before": 4.0, "post": 17.0}, "science.bloods_not_falling"),
        ({"which": 4}, "science.no_treatments"),
        ({"starts_min": (0.0, 100.0, 4320.0, 7200.0)}, "science.treatments_overlap"),
    ],
)
def test_bloods_that_cannot_be_are_refused(change: dict[str, Any], key: str) -> None:
    with pytest.raises(DomainError) as caught:
        fit([month(), month()._replace(**change)])
    assert caught.value.key == key


def test_no_bloods_and_no_doubt_are_refused() -> None:
    with pytest.raises(DomainError) as caught:
        fit([])
    assert caught.value.key == "science.no_bloods"
    with pytest.raises(DomainError) as caught:
        fit([month()], KNOWN.__class__(lab_doubt=0.0))
    assert caught.value.key == "science.leg_not_above_zero"


def test_the_published_study_is_fresh_and_its_bands_hold_the_truth() -> None:
    counts = whole()
    assert (DOCS / "fit_study.md").read_text("utf-8") == page(counts)
    assert (DOCS / "fit_study.svg").read_text("utf-8") == picture(counts) + "\n"
    same = counts[0][1]
    assert fit_study.PEOPLE == 1000
    assert [87 <= one.held <= 93 for one in same] == [True] * len(same)
    assert all(abs(one.off) < 1 for one in same)


def test_made_up_people_differ_and_are_the_same_on_each_run() -> None:
    first, again, second = person(WORLDS[0], 1), person(WORLDS[0], 1), person(WORLDS[0], 2)
    assert first == again
    assert first != second
