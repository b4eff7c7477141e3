"""The two nights on which the clocks change, at a real screen: hours that really pass, and which 01:30 it is."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import NamedTuple

import pytest
from playwright.sync_api import Page

from ebbwell.deeds import night
from ebbwell.journal.kinds.night import Reading
from ebbwell.sim.household import READING
from tests.browser.conftest import Opened
from tests.browser.site import Site
from tests.browser.wait import until


class Change(NamedTuple):
    """opens: when the night is opened. end: planned end as the home's clock shows it, from tables of the zone.

    first, second: an instant before and one after the change, with what the clock shows.
    """

    opens: datetime
    end: str
    first: tuple[datetime, str]
    second: tuple[datetime, str]


CHANGES = {
    "forward": Change(
        datetime(2026, 3, 28, 18, 59, tzinfo=UTC),
        "04:00 UTC+01:00",
        (datetime(2026, 3, 29, 0, 40, tzinfo=UTC), "00:40"),
        (datetime(2026, 3, 29, 1, 10, tzinfo=UTC), "02:10 UTC+01:00"),
    ),
    "back": Change(
        datetime(2026, 10, 24, 17, 59, tzinfo=UTC),
        "02:00 UTC+00:00",
        (datetime(2026, 10, 25, 0, 40, tzinfo=UTC), "01:40"),
        (datetime(2026, 10, 25, 1, 10, tzinfo=UTC), "01:10 UTC+00:00"),
    ),
}
"""Summer time begins at 01:00 UTC on the last Sunday of March and ends at 01:00 UTC on the last one of October."""

PLANNED = timedelta(hours=7, minutes=30)


@pytest.fixture(params=CHANGES)
def change(request: pytest.FixtureRequest) -> Change:
    return CHANGES[request.param]


@pytest.fixture
def site(change: Change, tmp_path: Path) -> Iterator[Site]:
    """Served on that evening, at a home in Dublin."""
    made = Site(tmp_path, change.opens, "Europe/Dublin")
    yield made
    made.close()


def _to(site: Site, at: datetime) -> None:
    site.clock.pass_time(at - site.clock.now().at)


def _minutes(words: str) -> int:
    """``2 h 31 min`` or ``31 min`` as minutes."""
    found = re.match(r"(?:(\d+) h)? ?(?:(\d+)(?: min)?)?", words)
    assert found is not None
    assert found.group(0).strip(), words
    return int(found.group(1) or 0) * 60 + int(found.group(2) or 0)


def _hours(page: Page, site: Site, start: datetime) -> None:
    """Done and left on the night page are the minutes that really passed and are to come."""
    heading = page.locator("h1").inner_text()
    main = page.locator("main").inner_text()
    done = re.search(r"([\d h]+min) done\.", main)
    assert done is not None, main
    passed = (site.clock.now().at - start) / timedelta(minutes=1)
    assert abs(_minutes(done[1].strip()) - passed) <= 1
    left = PLANNED / timedelta(minutes=1) - passed
    assert abs(_minutes(heading.partition("left")[0].strip()) - left) <= 1
    assert "left" in heading


@pytest.mark.source("examples:E18.1", detail="elapsed in UTC; 7 h 30 min that really pass on both nights")
@pytest.mark.source("practice:e", detail="H17: the clocks change in the night")
def test_hours_stay_true_and_each_time_says_on_which_clock(
    site: Site, browse: Opened, change: Change
) -> None:
    site.connect()
    start = site.clock.now().at
    for name, minutes in (("start", 0), ("min5", 5), ("min15", 15), ("min60", 60)):
        _to(site, start + timedelta(minutes=minutes))
        site.do(night.read, values=dict(READING), when=name)
    page = browse(phone=True, look="night")
    values = {}
    for (at, clock), venous in ((change.first, "121"), (change.second, "127")):
        _to(site, at)
        page.goto(f"{site.url}/night")
        _hours(page, site, start)
        main = page.locator("main").inner_text()
        assert f"As it stood at {clock}." in main
        assert f"Ends {change.end}." in main
        assert "The clocks change tonight" in main
        assert page.locator(".finding.care:has-text('late')").count() == 0
        assert "overdue" not in main.lower()
        page.goto(f"{site.url}/night/reading?when=")
        page.fill("#venous_pressure", venous)
        page.get_by_role("button", name="Save the reading").click()
        page.wait_for_url("**/night?*kept=*")
        values[venous] = clock
        newest = page.locator(".row", has_text="Venous pressure").first.inner_text()
        assert venous in newest
        assert clock in " ".join(newest.split())
    read = [f for f in site.desk.treatment.of("reading") if isinstance(f.body, Reading)]
    assert [f.body.values["venous_pressure"] for f in read[-2:]] == ["121", "127"]  # type: ignore[union-attr]
    assert read[-1].at - read[-2].at == timedelta(minutes=30)

    page.goto(f"{site.url}/sheet/{site.desk.treatment_id}")
    rows = [" ".join(row.split()) for row in page.locator("table tr").all_inner_texts()]
    told = [row for row in rows if re.search(r"\b12[17]\b", row)]
    assert len(told) == 2
    assert "121" in told[0]
    assert "127" in told[1]
    for row, clock in zip(told, values.values(), strict=True):
        assert row.startswith(clock), rows


@pytest.mark.source("practice:e", detail="H17: a time on the home page can't be taken for the other one")
def test_the_home_page_tells_now_and_the_end_on_one_clock(site: Site, browse: Opened, change: Change) -> None:
    site.connect()
    _to(site, change.second[0])
    page = browse()
    page.goto(f"{site.url}/")
    margin = " ".join(page.locator(".row.stale .m").first.inner_text().split())
    assert margin.startswith(change.second[1])
    assert "min done" in page.locator("main").inner_text()


@pytest.mark.source("arithmetic", detail="an hour ago on the wall clock may be now, or two hours ago")
def test_a_time_typed_after_the_change_is_taken_for_an_instant_that_has_been(
    site: Site, browse: Opened, change: Change
) -> None:
    """Ten minutes before the second instant, typed as its clock shows it, never lands in the future or before blood."""
    site.connect()
    start = site.clock.now().at
    at, clock = change.second
    _to(site, at)
    page = browse()
    page.goto(f"{site.url}/night/reading?when=")
    page.fill("#venous_pressure", "127")
    hour, minute = clock[:5].split(":")
    page.fill("#at", f"{hour}:{int(minute) - 5:02d}")
    page.get_by_role("button", name="Save the reading").click()
    page.wait_for_load_state()
    until(page, lambda: "kept" in page.url or page.locator("#trouble").count() > 0)
    if page.locator("#trouble").count():
        assert "UTC" in page.locator("main").inner_text(), "asked which of the two it is"
        return
    read = site.desk.treatment.of("reading")[-1]
    assert start <= read.at <= at
    assert at - read.at in (timedelta(minutes=5), timedelta(minutes=65))
