"""Controls that only a real browser can show: a dead server, what sounds and when, and how big a target is."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect

from ebbwell.deeds import comeoff, night
from tests.browser.conftest import Opened
from tests.browser.site import Site
from tests.browser.wait import until
from tests.web.site import up_to

GONE = re.compile(r"\bgone\b")

EARS = """
window.heard = [];
HTMLMediaElement.prototype.play = function () { window.heard.push(this.volume); return Promise.resolve(); };
window.shaken = [];
window.lit = 0;
document.addEventListener("animationstart", (e) => { if (e.target.id === "remind-now") window.lit += 1; });
navigator.vibrate = (ms) => { window.shaken.push(ms); return true; };
"""
"""Notes each sound with its loudness, and each shake, instead of making it."""


@contextmanager
def killed(site: Site) -> Iterator[None]:
    """The server is gone."""
    site.stop()
    try:
        yield
    finally:
        site.start()


def reach(site: Site, state: str) -> str:
    """A night up to a state. The address that is open then."""
    if state in ("S30a", "S30", "S31"):
        site.open_night()
        site.act(lambda house: up_to(house, site.clock, state))
        return "/setup"
    site.connect()
    if state == "stopping":
        site.do(night.stop_now)
    if state == "off":
        site.do(comeoff.come_off)
    return "/night" if state == "running" else "/off"


@pytest.mark.hazard("H34")
@pytest.mark.hazard("H35")
@pytest.mark.source(
    "practice:e",
    detail="H34: the server is killed at each step; H35: under 1 s, targets of 56 px, server down",
)
@pytest.mark.parametrize("state", ["S30a", "S30", "S31", "running", "stopping", "off"])
def test_with_the_server_killed_first_actions_open_and_say_that_it_is_gone(
    site: Site, browse: Opened, state: str
) -> None:
    address = reach(site, state)
    page = browse(phone=True)
    page.goto(site.url + address)
    with killed(site):
        link = page.get_by_role("link", name="Something is wrong")
        box = link.bounding_box()
        assert box is not None
        assert box["height"] >= 56
        before = time.monotonic()
        link.click()
        expect(page.locator("#wrong")).to_be_visible(timeout=1_000)
        assert time.monotonic() - before < 1
        expect(page.locator("#wrong")).to_contain_text("Stop. Clamp. Call")
        button = page.locator("#wrong button")
        size = button.bounding_box()
        assert size is not None
        assert size["height"] >= 56
        button.click()
        expect(page.locator(".away")).to_be_visible(timeout=6_000)
        expect(page.locator(".away")).to_contain_text("this screen has lost its computer")
        expect(page.locator("#wrong")).to_be_visible()


def reminded(site: Site, browse: Opened) -> Page:
    """A screen with reminders on, with its own clock set to the night's, that notes what it would sound."""
    site.connect()
    site.do(night.read, values={"venous_pressure": "124"}, when="start")
    site.clock.pass_time(timedelta(minutes=5))
    site.do(night.read, values={"venous_pressure": "126"}, when="min5")
    page = browse()
    page.add_init_script(EARS)
    page.clock.install(time=site.clock.now().at)
    page.goto(f"{site.url}/reminders")
    page.get_by_role("button", name="Play it").click()
    until(page, lambda: bool(page.evaluate("window.heard.length") == 1))
    page.locator("input[name=heard][value=yes]").check(force=True)
    page.fill("#device", "tablet by the bed")
    page.get_by_role("button", name="Turn reminders on at this screen").click()
    page.wait_for_url("**/reminders?kept=*")
    page.goto(f"{site.url}/night")
    return page


def pass_time(site: Site, page: Page, minutes: int) -> None:
    """Time goes by at the server and at the screen."""
    for _ in range(minutes):
        site.clock.pass_time(timedelta(minutes=1))
        page.clock.run_for(60_000)
        page.wait_for_timeout(60)


@pytest.mark.hazard("H53")
@pytest.mark.source(
    "practice:e", detail="H53: own loudness test, shaking, the second is louder; audio events"
)
@pytest.mark.hazard("H59")
def test_a_reminder_sounds_twice_the_second_time_louder_and_never_again(site: Site, browse: Opened) -> None:
    page = reminded(site, browse)
    pass_time(site, page, 8)
    assert page.evaluate("window.heard") == [], "nothing is due yet"
    pass_time(site, page, 3)
    first = page.evaluate("window.heard")
    assert len(first) == 1
    assert page.evaluate("window.shaken.length") == 1
    assert page.evaluate("window.lit") == 1, "the words light up with the sound"
    expect(page.locator("#remind-now")).to_contain_text("reading at 15 minutes")
    pass_time(site, page, 5)
    both = page.evaluate("window.heard")
    assert len(both) == 2
    assert both[1] > both[0]
    pass_time(site, page, 5)
    assert page.evaluate("window.heard") == both


@pytest.mark.hazard("H64")
@pytest.mark.source("practice:e", detail="H64: no sound while first actions are open; the reminder waits")
def test_while_first_actions_are_open_no_reminder_sounds(site: Site, browse: Opened) -> None:
    page = reminded(site, browse)
    page.get_by_role("link", name="Something is wrong").click()
    pass_time(site, page, 11)
    assert page.evaluate("window.heard") == []
    page.get_by_role("link", name="Back to the page").click()
    pass_time(site, page, 1)
    assert len(page.evaluate("window.heard")) == 1


@pytest.mark.hazard("H14")
@pytest.mark.source("practice:e", detail="H14: server stopped: grey within 30 s on all pages")
@pytest.mark.parametrize("address", ["/", "/night", "/plan", "/prescription", "/reminders"])
def test_each_page_greys_within_30_s_of_a_dead_server(site: Site, browse: Opened, address: str) -> None:
    site.connect()
    page = browse()
    page.clock.install()
    page.goto(site.url + address)
    dim = "[...document.querySelectorAll('.row>.m, .stale')].map(e => Number(getComputedStyle(e).opacity))"
    assert min(page.evaluate(dim)) == 1
    with killed(site):
        page.clock.run_for(31_500)
        expect(page.locator("html")).to_have_class(GONE)
        expect(page.locator(".away")).to_contain_text("not fresh")
        assert min(page.evaluate(dim)) < 0.6
