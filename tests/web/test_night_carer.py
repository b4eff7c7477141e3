"""The carer who has to leave, on the night page: against the end as it stands once blood began late or was off."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from ebbwell.cli.tonight import tonight_lines
from ebbwell.deeds import plan
from ebbwell.deeds.connect import connect
from ebbwell.sim import hands
from ebbwell.sim.household import ZONE
from tests.web.site import Site

HOURS = timedelta(hours=7, minutes=30)
SETTLE = "Settle who is there until coming off is done. If nobody is, call your unit."


def begun(site: Site, late: timedelta, stays: timedelta) -> tuple[datetime, datetime]:
    """A night agreed with a carer who stays so long after the planned end, and begun so much later than planned.

    Gives the end counted from first blood, and when the carer has to leave.
    """
    site.until("S26")
    begins = (site.desk.now.at + timedelta(hours=1)).replace(second=0, microsecond=0)
    leaves = begins + HOURS + stays
    site.do(plan.agree_plan, drink="0.2", start_at=begins, carer_leaves=leaves)
    site.act(lambda house: hands.set_up(house, site.clock))
    site.clock.pass_time(begins + late - site.desk.now.at)
    site.act(lambda house: hands.set_up(house, site.clock))
    site.do(connect)
    return site.desk.now.at + HOURS, leaves


def at(moment: datetime) -> str:
    """A time of day on the home's clock."""
    return moment.astimezone(ZoneInfo(ZONE)).strftime("%H:%M")


@pytest.mark.source("arithmetic", detail="60 min after the planned end, 40 min late: 20 min, less than 45")
def test_a_late_start_holds_the_new_end_against_when_the_carer_leaves(site: Site) -> None:
    ends, leaves = begun(site, timedelta(minutes=40), timedelta(minutes=60))
    text = site.get("/night").text
    assert f"Ends {at(ends)}. The carer has to leave at {at(leaves)}." in text
    told = f"to when the carer has to leave there is 20 min. Coming off takes up to 45 min. {SETTLE}"
    assert told in text
    assert told in " ".join(" ".join(tonight_lines(site.desk)).split())


@pytest.mark.source("arithmetic", detail="60 min after the planned end, 90 min late: 30 min before the end")
def test_an_end_after_the_carer_has_left_is_told_in_words(site: Site) -> None:
    begun(site, timedelta(minutes=90), timedelta(minutes=60))
    text = site.get("/night").text
    assert (
        f"The carer has to leave 30 min before the end of treatment. Coming off takes up to 45 min more. {SETTLE}"
        in text
    )


@pytest.mark.source("arithmetic", detail="60 min after the planned end, begun on time: 60 min, not under 45")
def test_time_enough_is_no_finding_and_the_time_stands_there(site: Site) -> None:
    _, leaves = begun(site, timedelta(), timedelta(minutes=60))
    text = site.get("/night").text
    assert f"The carer has to leave at {at(leaves)}." in text
    assert SETTLE not in text


def test_a_plan_without_such_a_time_says_nothing(site: Site) -> None:
    site.connect()
    assert "The carer has to leave" not in site.get("/night").text
