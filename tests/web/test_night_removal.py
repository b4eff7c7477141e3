"""Removal on the night page: what is left, the rate that would finish it by the cap, what went in by the plan."""

from __future__ import annotations

from datetime import timedelta

import pytest

from ebbwell.deeds import night
from ebbwell.papers.removal_now import finish_findings
from tests.web.site import Site
from tests.web.test_night import ROW


def _at(site: Site, hours: float, removed: str) -> str:
    site.clock.pass_time(timedelta(hours=hours))
    site.do(night.read, values={**ROW, "fluid_removed": removed}, sure=("past_limit", "outside_expected"))
    return site.get("/night").text


@pytest.mark.source("arithmetic", detail="2.3 - 0.6 = 1.7 L in 5.5 h: 309.1 mL/h, 4.79 mL/kg/h at 64.5 kg")
def test_what_is_left_stands_with_its_rate_and_the_cap(site: Site) -> None:
    site.connect()
    text = _at(site, 2, "0.60")
    assert "1.7" in text
    assert "still to come off, in 5 h 30 min" in text
    assert "it needs 309" in text
    assert "The cap is 7 mL/kg/h." in text
    assert "To take off all that is left by the end" not in text


@pytest.mark.source(
    "arithmetic", detail="2.3 - 0.6 = 1.7 L in 3 h: 566.7 mL/h, 8.79 mL/kg/h, over the cap of 7"
)
def test_a_rate_that_crept_past_the_cap_is_told_and_what_holds(site: Site) -> None:
    site.connect()
    text = _at(site, 4.5, "0.60")
    assert "To take off all that is left by the end it needs 8.79 mL/kg/h." in text
    assert (
        "The clinic's cap is 7 mL/kg/h. Call your unit about what will stay in. The cap still holds." in text
    )


@pytest.mark.source(
    "arithmetic", detail="the last digit of a reading: 1.30 L may be 1.309, so 1.0 L left may be 0.991"
)
def test_the_last_digit_of_a_reading_alone_raises_nothing(site: Site) -> None:
    site.connect()
    hours = 7.5 - 1.0 / (7 * 64.5 / 1000) + 0.01
    _at(site, hours, "1.30")
    assert finish_findings(site.desk) == ()


def test_past_the_end_no_rate_is_made_up(site: Site) -> None:
    site.connect()
    text = _at(site, 7.6, "2.00")
    assert "How much time is left for it is not known, or none is." in text


def test_all_of_it_off_is_said_as_of_its_reading(site: Site) -> None:
    site.connect()
    assert "all of the 2.3" in _at(site, 7, "2.30")


def test_saline_in_the_night_stands_beside_the_plans_figure(site: Site) -> None:
    site.connect()
    site.do(night.give, what="saline", typed="100", unit="mL")
    site.do(night.give, what="saline", typed="100", unit="mL")
    text = site.get("/night").text
    assert "0.2 L written down tonight, 0 L in the plan." in text


def test_a_pause_is_no_time_for_removal(site: Site) -> None:
    site.connect()
    site.clock.pass_time(timedelta(hours=2))
    site.do(night.read, values={**ROW, "fluid_removed": "0.61"}, sure=("past_limit",))
    before = site.get("/night").text
    site.do(night.go_off)
    site.clock.pass_time(timedelta(minutes=30))
    site.do(night.go_on)
    after = site.get("/night").text
    assert "still to come off, in 5 h 30 min" in before
    assert "still to come off, in 5 h 30 min" in after
