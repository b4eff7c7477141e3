"""Open pages that stay honest: grey when the server is silent, in step with a second device, drafts, held-back taps."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect

from ebbwell.deeds import night
from ebbwell.journal.kinds.night import Reading
from ebbwell.state.night import Phase
from tests.browser.conftest import Opened
from tests.browser.site import Site

ROW = {"pressure": "131/74", "pulse": "70", "venous_pressure": "124"}
GONE = re.compile(r"\bgone\b")


def _night(site: Site, browse: Opened, address: str = "/night", **how: bool) -> Page:
    page = browse(**how)
    page.goto(site.url + address)
    expect(page.locator("html")).not_to_have_class(GONE)
    return page


@pytest.mark.source("design", detail="gate 5: grey within 30 s")
def test_a_page_whose_server_is_gone_greys_within_30_s_and_says_so(site: Site, browse: Opened) -> None:
    site.connect()
    page = browse()
    page.clock.install()
    page.goto(f"{site.url}/night")
    site.stop()
    page.clock.run_for(29_000)
    page.clock.run_for(2_500)
    expect(page.locator("html")).to_have_class(GONE)
    expect(page.locator(".away")).to_be_visible()
    expect(page.locator(".away")).to_contain_text("not fresh")
    site.start()
    page.clock.run_for(12_000)
    expect(page.locator(".away")).to_be_hidden(timeout=15_000)
    expect(page.locator("html")).not_to_have_class(GONE)


def test_after_eight_hours_of_sleep_it_is_grey_first_and_fresh_after(site: Site, browse: Opened) -> None:
    site.connect()
    page = browse()
    page.clock.install()
    page.goto(f"{site.url}/night")
    before = page.locator("h1").inner_text()
    assert "7 h 30" in before
    site.stop()
    site.clock.pass_time(timedelta(hours=8))
    page.clock.fast_forward(8 * 3600 * 1000)
    expect(page.locator("html")).to_have_class(GONE)
    assert "As it stood at" in page.locator("main").inner_text(), "old figures say of when they are"
    site.start()
    page.clock.run_for(12_000)
    expect(page.locator("h1")).to_contain_text("past the planned end", timeout=15_000)
    expect(page.locator("html")).not_to_have_class(GONE)


@pytest.mark.source("design", detail="two devices in step within 2 s")
def test_a_second_device_sees_a_reading_within_2_s(site: Site, browse: Opened) -> None:
    site.connect()
    first, second = _night(site, browse), _night(site, browse, phone=True)
    site.do(night.read, values={"venous_pressure": "127"})
    for page in (first, second):
        expect(page.locator("main")).to_contain_text("127", timeout=2_000)


def test_what_another_writes_does_not_take_away_what_is_being_typed(site: Site, browse: Opened) -> None:
    site.connect()
    page = _night(site, browse, "/night/reading")
    page.fill("#pressure", "131/74")
    site.do(night.read, values={"venous_pressure": "127"})
    expect(page.locator("#grown")).to_be_visible(timeout=4_000)
    expect(page.locator("#pressure")).to_have_value("131/74")


@pytest.mark.source(
    "practice:e", detail="H34: first-action pages open with the server gone; H64: nothing to type"
)
@pytest.mark.parametrize("phone", [False, True], ids=["tablet", "phone"])
def test_first_actions_open_with_the_server_gone_and_the_tap_is_held_back(
    site: Site, browse: Opened, phone: bool
) -> None:
    site.connect()
    page = _night(site, browse, phone=phone)
    site.stop()
    page.get_by_role("link", name="Something is wrong").click()
    expect(page.locator("#wrong")).to_be_visible()
    expect(page.locator("#wrong")).to_contain_text("Stop. Clamp. Call")
    expect(page.locator("#main")).to_be_hidden()
    page.get_by_role("button", name="Write down the time").click()
    expect(page.locator("#wrong .held")).to_contain_text("not in the record yet", timeout=6_000)
    site.clock.pass_time(timedelta(seconds=40))
    site.start()
    expect(page.locator("#wrong .held")).to_be_empty(timeout=20_000)
    desk = site.act(lambda house: house.look())
    assert len(desk.treatment.of("stop")) == 1
    assert desk.phase is Phase.STOPPING


def test_a_reading_typed_while_the_server_is_away_is_sent_once_with_its_time(
    site: Site, browse: Opened
) -> None:
    site.connect()
    page = _night(site, browse, "/night/reading")
    site.stop()
    for name, value in ROW.items():
        page.fill(f"#{name}", value)
    page.get_by_role("button", name="Save the reading").click()
    expect(page.locator("#held")).to_contain_text("Not in the record yet", timeout=6_000)
    page.get_by_role("button", name="Save the reading").click()
    expect(page.locator("#held p")).to_have_count(1)
    site.start()
    expect(page.locator("#held")).to_be_hidden(timeout=20_000)
    readings = site.act(lambda house: house.look()).treatment.of("reading")
    assert len(readings) == 1
    body = readings[0].body
    assert isinstance(body, Reading)
    assert body.values["venous_pressure"] == "124"
    assert body.made_under


def test_a_tick_or_a_step_is_never_held_back(site: Site, browse: Opened) -> None:
    site.connect()
    page = _night(site, browse, "/off")
    site.stop()
    page.locator("input[name=blood][value=all]").check(force=True)
    page.get_by_role("button", name="Save: off the machine").click()
    expect(page.locator(".away")).to_be_visible(timeout=6_000)
    assert page.evaluate("localStorage.getItem('held back')") in (None, "[]")
    site.start()
    assert site.act(lambda house: house.look()).phase is Phase.RUNNING


def test_a_draft_survives_a_reload_and_says_when_it_is_old(site: Site, browse: Opened) -> None:
    site.connect()
    page = browse()
    page.clock.install()
    page.goto(f"{site.url}/night/reading")
    page.fill("#pressure", "131/74")
    page.reload()
    expect(page.locator("#pressure")).to_have_value("131/74")
    expect(page.locator("#at")).to_have_value("")
    page.clock.fast_forward(3600 * 1000)
    page.reload()
    expect(page.locator("#pressure")).to_have_value("131/74")
    expect(page.locator("main")).to_contain_text("did not save it")
    expect(page.locator("#at")).to_have_value(re.compile(r"^\d\d:\d\d$"))


def test_a_kept_form_leaves_no_draft(site: Site, browse: Opened) -> None:
    site.connect()
    page = _night(site, browse, "/night/reading?when=min15")
    for name, value in ROW.items():
        page.fill(f"#{name}", value)
    page.get_by_role("button", name="Save the reading").click()
    page.wait_for_url("**/night?*kept=*")
    page.goto(f"{site.url}/night/reading?when=min15")
    expect(page.locator("#pressure")).to_have_value("")


def test_taps_on_a_slow_button_are_one_reading(site: Site, browse: Opened) -> None:
    site.connect()
    page = _night(site, browse, "/night/reading")
    page.fill("#venous_pressure", "124")
    page.get_by_role("button", name="Save the reading").dblclick()
    page.wait_for_url("**/night?*kept=*")
    assert len(site.act(lambda house: house.look()).treatment.of("reading")) == 1


def test_reminders_are_turned_on_and_told_when_due(site: Site, browse: Opened) -> None:
    site.connect()
    page = _night(site, browse, "/reminders")
    page.get_by_role("button", name="Play it").click()
    page.locator("input[name=heard][value=yes]").check(force=True)
    page.fill("#device", "tablet by the bed")
    page.get_by_role("button", name="Turn reminders on at this screen").click()
    page.wait_for_url("**/reminders?kept=*")
    site.clock.pass_time(timedelta(minutes=16))
    page.goto(f"{site.url}/night")
    expect(page.locator("#remind-now")).to_contain_text("Due: reading at 15 minutes")
    site.do(night.read, values={"venous_pressure": "124"}, when="min15")
    expect(page.locator("#remind-now")).not_to_contain_text("15 minutes", timeout=4_000)


def test_the_night_page_works_without_script(site: Site, browse: Opened) -> None:
    site.connect()
    page = browse(script=False)
    page.goto(f"{site.url}/night/reading")
    page.fill("#venous_pressure", "124")
    page.get_by_role("button", name="Save the reading").click()
    assert "124" in page.locator("main").inner_text()
    page.get_by_role("link", name="Something is wrong").click()
    expect(page.locator("#wrong")).to_be_visible()
    page.get_by_role("button", name="Write down the time").click()
    assert "The time is written down:" in page.locator("h1").inner_text()
