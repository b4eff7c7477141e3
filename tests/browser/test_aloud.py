"""Reading aloud: what is said, digit by digit, and that any key or tap ends it."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Opened
from tests.browser.site import Site

MOUTH = """
window.said = [];
window.talking = false;
speechSynthesis.getVoices = () => [{ localService: true, lang: "en-IE", name: "own" }];
window.SpeechSynthesisUtterance = function (text) { this.text = text; };
speechSynthesis.speak = (words) => { window.said.push(words.text); window.talking = true; };
speechSynthesis.cancel = () => { window.talking = false; };
"""
"""Notes what is said, and whether it is still being said: it goes on until it is stopped."""


def talking(page: Page) -> bool:
    """Whether the screen is speaking."""
    return bool(page.evaluate("window.talking"))


@pytest.fixture
def page(site: Site, browse: Opened) -> Page:
    """The page of a reading, with reading aloud on."""
    site.connect()
    opened = browse()
    opened.add_init_script(MOUTH)
    opened.goto(f"{site.url}/night/reading")
    opened.keyboard.press("F9")
    assert not talking(opened), "off at first"
    opened.locator("#hands summary").click()
    opened.locator("[data-hand=aloud]").click()
    return opened


@pytest.mark.hazard("H71")
@pytest.mark.source("practice:e", detail="H71: digits singly and shown")
@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("#venous_pressure", "150", "1 5 0"),
        ("#venous_pressure", "115", "1 1 5"),
        ("#arterial_pressure", "-92", "minus 9 2"),
        ("#arterial_pressure", "\N{MINUS SIGN}105", "minus 1 0 5"),
    ],
)
def test_digits_are_said_one_by_one_and_stand_in_the_field(
    page: Page, field: str, typed: str, said: str
) -> None:
    page.fill(field, typed)
    page.locator(field).focus()
    page.keyboard.press("F9")
    words = page.evaluate("window.said.at(-1)")
    assert said in " ".join(words.split())
    assert typed not in words
    assert "mmHg" in words
    expect(page.locator(field)).to_be_focused()
    expect(page.locator(field)).to_have_value(typed)
    expect(page.locator(field)).to_be_in_viewport()


@pytest.mark.hazard("H71")
@pytest.mark.source("practice:e", detail="H71: any key stops it; audio event test")
def test_any_key_stops_it(page: Page) -> None:
    for key in ("a", "5", "Escape", " ", "Tab", "Shift", "ArrowDown", "PageDown", "Enter"):
        page.locator("#pulse").focus()
        page.keyboard.press("F9")
        assert talking(page), key
        if key == "Enter":
            page.locator("#main").evaluate("e => { e.tabIndex = -1; e.focus(); }")
        page.keyboard.down(key)
        assert not talking(page), key
        page.keyboard.up(key)


@pytest.mark.hazard("H71")
@pytest.mark.source("practice:e", detail="H71: it must not cover an alarm: a tap anywhere stops it, too")
def test_a_tap_anywhere_stops_it_and_first_actions_are_never_read_over(page: Page) -> None:
    for place in ("h1", "label", ".page"):
        page.locator("#pulse").focus()
        page.keyboard.press("F9")
        assert talking(page), place
        page.locator(place).first.click(position={"x": 3, "y": 3})
        assert not talking(page), place
    page.get_by_role("link", name="Something is wrong").click()
    expect(page.locator("#wrong")).to_be_visible()
    said = len(page.evaluate("window.said"))
    page.keyboard.press("F9")
    assert not talking(page)
    assert len(page.evaluate("window.said")) == said
