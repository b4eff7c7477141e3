"""The night page counts on how long ago a screen with reminders on was heard; without script it tells the time."""

from __future__ import annotations

import httpx
import pytest
from playwright.sync_api import expect

from ebbwell.deeds.reminders import reminders_on
from tests.browser.conftest import Opened
from tests.browser.site import Site


def _heard(site: Site) -> None:
    site.connect()
    site.do(reminders_on, heard=True, wake_lock=True, device="tablet")
    answer = httpx.get(f"{site.url}/alive?reminders", cookies={"device": "tablet"}, timeout=10)
    assert answer.status_code == 200


@pytest.mark.source("design", detail="section 6: heard 12 s ago instead of armed")
def test_the_seconds_since_a_screen_was_heard_are_counted_on(site: Site, browse: Opened) -> None:
    _heard(site)
    page = browse()
    page.clock.install()
    page.goto(f"{site.url}/night")
    page.clock.run_for(12_000)
    expect(page.locator("[data-heard]")).to_have_text("That screen was last heard 12 s ago.")


def test_without_script_the_clock_time_stands_there(site: Site, browse: Opened) -> None:
    _heard(site)
    page = browse(script=False, phone=True)
    page.goto(f"{site.url}/night")
    expect(page.locator("[data-heard]")).to_contain_text("That screen was last heard at ")
