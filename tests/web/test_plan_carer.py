"""A carer who has to leave: typed on the plan, kept with it, and told where the end comes too late for it."""

from __future__ import annotations

from datetime import timedelta
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

import pytest

from ebbwell.journal.kinds.orders import Plan
from ebbwell.sim.household import ZONE
from tests.web.site import Seen, Site

TYPED = {"drink": "0.2", "saline": "0", "losses": "0", "start": "22:00"}


def plan(site: Site, leaves: str) -> Seen:
    return site.get("/plan?" + urlencode({**TYPED, "leaves": leaves}))


@pytest.mark.source(
    "arithmetic", detail="22:00 and 7 h 30 min end at 05:30; 06:00 is 30 min later, 05:00 30 min before"
)
@pytest.mark.parametrize(("leaves", "stays"), [("06:00", "30 min"), ("05:30", "0 min"), ("06:14", "44 min")])
def test_an_end_too_late_for_the_carer_is_told(site: Site, leaves: str, stays: str) -> None:
    site.until("S26")
    text = plan(site, leaves).text.replace("\N{MINUS SIGN}", "-")
    assert f"to when the carer has to leave there is {stays}. Coming off takes up to 45 min." in text
    assert "Settle who is there until coming off is done." in text


@pytest.mark.source(
    "arithmetic", detail="22:00 and 7 h 30 min end at 05:30; 05:00 is 30 min before, 05:29 is 1 min"
)
@pytest.mark.parametrize(("leaves", "before"), [("05:00", "30 min"), ("05:29", "1 min")])
def test_a_carer_who_leaves_before_the_end_is_told_in_words(site: Site, leaves: str, before: str) -> None:
    site.until("S26")
    site.clock.pass_time(timedelta(seconds=40))
    text = plan(site, leaves).text
    assert f"The carer has to leave {before} before the end of treatment." in text
    assert "Settle who is there until coming off is done." in text


@pytest.mark.source("arithmetic", detail="the end as shown is without its seconds, and so is the difference")
def test_seconds_of_a_start_that_counts_as_now_move_no_minute(site: Site) -> None:
    site.until("S26")
    site.clock.pass_time(timedelta(seconds=59 - site.clock.now().at.second % 60))
    begins = site.clock.now().at.replace(second=0, microsecond=0)
    leaves = (begins + timedelta(minutes=420)).astimezone(ZoneInfo(ZONE)).strftime("%H:%M")
    text = site.get("/plan?" + urlencode({**TYPED, "start": "", "leaves": leaves})).text
    assert "The carer has to leave 30 min before the end of treatment." in text


@pytest.mark.parametrize("leaves", ["", "06:15", "21:00"])
def test_time_enough_says_nothing(site: Site, leaves: str) -> None:
    site.until("S26")
    assert "when the carer has to leave there is" not in plan(site, leaves).text


def test_what_isnt_a_time_is_told_beside_its_field_and_kept(site: Site) -> None:
    site.until("S26")
    page = plan(site, "half past six")
    assert "When does the carer have to leave, if they do:" in page.text
    assert 'value="half past six"' in page.html


def test_it_is_kept_with_the_plan_and_shown_again(site: Site) -> None:
    site.until("S26")
    page = plan(site, "06:00")
    site.fill(page, "/plan")
    fact = site.desk.treatment.last("plan")
    assert fact is not None
    assert isinstance(fact.body, Plan)
    assert fact.body.given["carer_leaves"] == "2026-04-30T05:00:00+00:00"
    assert "carer_leaves_early" in fact.body.findings
    assert 'name="leaves" value="06:00"' in site.get("/plan").html
