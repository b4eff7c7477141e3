"""Something is wrong: the unit's signed words, the number and the address stand on the first screen of a phone."""

from __future__ import annotations

import os

import pytest
from playwright.sync_api import Page

from ebbwell.deeds.texts import enter_emergency_details, write_first_action
from tests.browser.conftest import PHONE, Opened
from tests.browser.site import Site

WORDS = {
    "bleeding": "Press on the place. Stop the pump, clamp, call us: as we taught you.",
    "air": "Clamp the line to the arm. Stop the pump. Call us.",
}
ADDRESS = "1 Saltmarsh Row, Northmere, County Down"


def signed(site: Site, *situations: str) -> None:
    for situation in situations:
        site.do(
            write_first_action,
            situation=situation,
            words=WORDS[situation],
            signed_by="Home team, Northmere",
            signed_on="2026-01-10",
        )
    site.do(enter_emergency_details, number="+00 (0) 00 0000", address=ADDRESS, how_to_find="Blue door")


def pressed(site: Site, browse: Opened, look: str) -> Page:
    page = browse(phone=True, look=look)
    page.goto(f"{site.url}/night")
    page.get_by_role("link", name="Something is wrong").click()
    return page


def on_first_screen(page: Page, words: str) -> bool:
    part = page.locator("#wrong").get_by_text(words).first
    box = part.bounding_box()
    return box is not None and box["y"] >= 0 and box["y"] + box["height"] <= PHONE["height"]


@pytest.mark.hazard("H58")
@pytest.mark.source(
    "practice:e", detail="H58: the unit's own words, nothing to choose; H36: what is read out"
)
@pytest.mark.parametrize("look", ["day", "night"])
def test_signed_words_for_bleeding_and_what_is_read_out_need_no_scrolling(
    site: Site, browse: Opened, look: str
) -> None:
    site.connect()
    signed(site, "bleeding", "air")
    page = pressed(site, browse, look)
    if folder := os.environ.get("SHOTS"):
        page.screenshot(path=f"{folder}/wrong-{look}.png")
    for words in (WORDS["bleeding"], "Number to call:", "the number your household entered", ADDRESS):
        assert on_first_screen(page, words), words
    part = page.locator("#wrong")
    text = part.inner_text()
    places = [text.index(words) for words in (WORDS["bleeding"], WORDS["air"], "Stop. Clamp. Call")]
    assert places == sorted(places)
    assert part.locator("input:not([type=hidden]), select, textarea, details").count() == 0


@pytest.mark.hazard("H58")
@pytest.mark.source("practice:e", detail="H58: without signed words no more than stop, clamp, call")
def test_without_signed_words_for_bleeding_the_three_verbs_come_first(site: Site, browse: Opened) -> None:
    site.connect()
    signed(site, "air")
    page = pressed(site, browse, "night")
    for words in ("Stop. Clamp. Call, as you were taught.", "Number to call:", ADDRESS):
        assert on_first_screen(page, words), words
    text = page.locator("#wrong").inner_text()
    assert text.index("Stop. Clamp. Call") < text.index(WORDS["air"])
    assert text.count("Stop. Clamp. Call") == 1


@pytest.mark.source("design", detail="3: first actions work with the server gone")
def test_the_number_is_dialled_by_the_phone_itself_with_the_server_gone(site: Site, browse: Opened) -> None:
    site.connect()
    signed(site, "bleeding")
    page = browse(phone=True)
    page.goto(f"{site.url}/night")
    site.server.should_exit = True
    page.get_by_role("link", name="Something is wrong").click()
    number = page.locator("#wrong").get_by_role("link", name="+00 (0) 00 0000")
    assert number.get_attribute("href") == "tel:+000000000"
    box = number.bounding_box()
    assert box is not None
    assert box["height"] >= 44


def test_the_button_says_that_it_only_writes_down_the_time(site: Site, browse: Opened) -> None:
    site.connect()
    signed(site, "bleeding")
    page = pressed(site, browse, "night")
    text = page.locator("#wrong").inner_text()
    assert "It only writes down the time. The machine is stopped by hand." in text
    assert "stop now" not in text
    page.get_by_role("button", name="Write down the time").click()
    page.get_by_text("The time is written down:").wait_for()
    stop = page.locator("main").inner_text()
    assert stop.index(WORDS["bleeding"]) < stop.index("When your hands are free")
