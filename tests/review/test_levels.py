"""The newest level of each substance, and whether nights went then as they go now."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from ebbwell.journal.kinds.bloods import BloodLine, BloodResult
from ebbwell.review.levels import newest_levels
from ebbwell.review.nights_ran import NightsRan
from ebbwell.review.own_numbers import own_numbers
from ebbwell.state.night_fluid import NightFluid
from ebbwell.state.own_past import NightSummary
from tests.review.test_own_numbers import LAST, LEAFLET, NOW, PAIR, every_other, facts, result, summary

EARLIER = LAST - timedelta(days=28)


def phosphate(day: date, **more: object) -> BloodResult:
    line = BloodLine(substance="phosphate", value="1.6", unit="mmol/L", **more)  # type: ignore[arg-type]
    return result(day, "before", "18.0", lines=(line,))


def test_each_substance_has_its_own_newest_result_and_the_night_of_it() -> None:
    standing, _ = facts(phosphate(EARLIER), result(LAST, "before", "17.0"), result(LAST, "after", "5.0"))
    found = newest_levels(standing, every_other())
    assert found == {"urea": (17.0, LAST), "phosphate": (1.6, EARLIER)}
    assert newest_levels(standing, {})["phosphate"].night == EARLIER, "the day, where the night isn't known"


@pytest.mark.parametrize("sign", ["below", "above"])
def test_a_bound_is_passed_over_for_an_older_figure(sign: str) -> None:
    standing, _ = facts(phosphate(LAST, **{sign: True}), phosphate(EARLIER))
    assert newest_levels(standing, every_other())["phosphate"].night == EARLIER


def test_two_figures_of_one_night_that_differ_are_passed_over_until_one_is_taken_back() -> None:
    other = result(
        LAST, "before", "18.0", lines=(BloodLine(substance="phosphate", value="2.1", unit="mmol/L"),)
    )
    standing, _ = facts(phosphate(EARLIER), phosphate(LAST), other)
    found = newest_levels(standing, every_other())
    assert (found["phosphate"], found["urea"]) == ((1.6, EARLIER), (18.0, LAST))


def thrice_before(change: date, minutes: int = 450) -> dict[str, NightSummary]:
    """Every other night from a day on; before it Monday, Wednesday and Friday."""
    days = [LAST - timedelta(days=2 * n) for n in range(60)]
    lately = [day for day in days if day >= change]
    first = min(days)
    early = [first + timedelta(days=n) for n in range((change - first).days)]
    thrice = [day for day in early if day.weekday() in (0, 2, 4)]
    made = [summary(day) for day in lately]
    made += [summary(day, fluid=NightFluid(minutes=minutes)) for day in thrice]
    return {one.treatment: one for one in made}


@pytest.mark.parametrize(("days_before_change", "otherwise"), [(-26, False), (1, True), (20, True)])
def test_nights_went_otherwise_up_to_the_change(days_before_change: int, otherwise: bool) -> None:
    change = LAST - timedelta(days=60)
    nights = NightsRan(thrice_before(change), NOW)
    present = nights.present(facts()[1])
    assert present is not None
    assert nights.otherwise(change - timedelta(days=days_before_change), present) is otherwise


def test_a_day_that_the_record_does_not_reach_counts_as_otherwise() -> None:
    nights = NightsRan(every_other(), NOW)
    present = nights.present(facts()[1])
    assert present is not None
    assert nights.otherwise(LAST - timedelta(days=300), present)
    assert not nights.otherwise(LAST, present)


def test_longer_nights_are_other_nights() -> None:
    past = every_other()
    for one in list(past.values()):
        if date.fromisoformat(one.night) < LAST - timedelta(days=30):
            past[one.treatment] = summary(date.fromisoformat(one.night), fluid=NightFluid(minutes=490))
    nights = NightsRan(past, NOW)
    present = nights.present(facts()[1])
    assert present is not None
    assert present.hours == 7.5, "the middle of the last two weeks"
    assert nights.otherwise(LAST - timedelta(days=40), present)
    assert not nights.otherwise(LAST - timedelta(days=10), present)


def test_a_level_of_other_nights_is_named_and_a_newer_one_ends_that() -> None:
    old = LAST - timedelta(days=64)
    past = thrice_before(LAST - timedelta(days=60))
    then = max(date.fromisoformat(one.night) for one in past.values() if date.fromisoformat(one.night) <= old)
    for bodies, named in (((phosphate(then),), {"phosphate"}), ((phosphate(then), phosphate(LAST)), set())):
        standing, order = facts(LEAFLET, *PAIR, *bodies)
        found = own_numbers(standing, past, order, NOW)
        assert found.basis is not None
        assert found.basis.other_nights == named


def test_where_in_its_cycle_a_level_was_drawn_is_told_by_its_day() -> None:
    standing, order = facts(LEAFLET, *PAIR, phosphate(LAST))
    found = own_numbers(standing, every_other(), order, NOW)
    assert found.basis is not None
    assert found.basis.drawn_before == {"urea": 0, "phosphate": 0}
    days = [LAST - timedelta(days=n) for n in range(70) if (LAST - timedelta(days=n)).weekday() in (0, 2, 4)]
    past = {one.treatment: one for one in map(summary, days)}
    friday = max(day for day in days if day.weekday() == 4)
    standing, order = facts(LEAFLET, *PAIR, phosphate(friday))
    found = own_numbers(standing, past, order, NOW)
    assert found.basis is not None
    assert (LAST.weekday(), found.basis.drawn_before) == (0, {"urea": 0, "phosphate": 2})
