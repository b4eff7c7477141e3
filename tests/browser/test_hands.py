"""Number pad, pedal and reading aloud: off at first, and none of them answers anything."""

from __future__ import annotations

import random
import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Opened
from tests.browser.site import Site


def _turn_on(page: Page, what: str) -> None:
    page.locator("#hands summary").click()
    page.locator(f"[data-hand={what}]").click()
    expect(page.locator(f"[data-hand={what}]")).to_have_attribute("aria-pressed", "true")


@pytest.mark.parametrize("phone", [False, True], ids=["tablet", "phone"])
def test_the_number_pad_types_into_the_field_and_goes_on(site: Site, browse: Opened, phone: bool) -> None:
    site.connect()
    page = browse(phone=phone)
    page.goto(f"{site.url}/night/reading")
    page.locator("#arterial_pressure").focus()
    expect(page.locator("#pad")).to_be_hidden()
    _turn_on(page, "pad")
    page.locator("#arterial_pressure").focus()
    expect(page.locator("#pad")).to_be_visible()
    for key in ("-", "9", "3", "back", "2"):
        page.locator(f"#pad [data-key='{key}']").click()
    expect(page.locator("#arterial_pressure")).to_have_value("-92")
    page.locator("#pad [data-key=next]").click()
    assert page.evaluate("document.activeElement.id") == "venous_pressure", "on to the next figure"
    page.locator("#arterial_pressure").focus()
    sizes = page.locator("#pad button").evaluate_all("all => all.map(b => b.getBoundingClientRect().height)")
    assert min(sizes) >= 56
    wrong = page.get_by_role("link", name="Something is wrong")
    box, pad = wrong.bounding_box(), page.locator("#pad").bounding_box()
    assert box is not None
    assert pad is not None
    assert pad["y"] + pad["height"] <= box["y"] + 1, "the pad covers nothing that is needed first"
    page.reload()
    expect(page.locator("#arterial_pressure")).to_have_value("-92")
    page.locator("#words").focus()
    expect(page.locator("#pad")).to_be_hidden()


def test_the_pedal_moves_and_presses_nothing(site: Site, browse: Opened) -> None:
    site.connect()
    page = browse()
    page.goto(f"{site.url}/night/reading")
    page.keyboard.press("PageDown")
    assert page.evaluate("document.activeElement === document.body")
    _turn_on(page, "pedal")
    page.locator("#pressure").focus()
    page.keyboard.press("PageDown")
    assert page.evaluate("document.activeElement.name") == "why.pressure"
    page.keyboard.press("PageUp")
    assert page.evaluate("document.activeElement.id") == "pressure"


@pytest.mark.source("practice:e", detail="H60: 1,000 random key sequences satisfy no hold point")
@pytest.mark.parametrize("address", ["/setup", "/connect", "/off", "/night"])
def test_random_pedal_keys_write_nothing(site: Site, browse: Opened, address: str) -> None:
    if address in ("/off", "/night"):
        site.connect()
    else:
        site.open_night()
    page = browse()
    page.goto(site.url + address)
    _turn_on(page, "pedal")
    rows = site.act(lambda house: house.store.last_row())
    chance = random.Random(7)
    for _ in range(250):
        page.keyboard.press(chance.choice(("PageDown", "PageDown", "PageUp", "F9")))
    picked = page.locator(
        "#main input[type=radio]:checked:not([checked]), #main input[type=checkbox]:checked"
    )
    assert picked.count() == 0
    assert site.act(lambda house: house.store.last_row()) == rows


def test_reading_aloud_is_off_and_uses_no_voice_from_elsewhere(site: Site, browse: Opened) -> None:
    site.connect()
    page = browse()
    page.add_init_script(
        """
        window.spoken = [];
        const voices = [{ localService: false, lang: "en-GB" }, { localService: true, lang: "en-IE", name: "own" }];
        speechSynthesis.getVoices = () => window.none ? voices.slice(0, 1) : voices;
        window.SpeechSynthesisUtterance = function (text) { this.text = text; };
        speechSynthesis.speak = (u) => window.spoken.push([u.text, u.voice.name]);
        """
    )
    page.goto(f"{site.url}/night/reading")
    page.keyboard.press("F9")
    assert page.evaluate("window.spoken") == []
    page.locator("#hands summary").click()
    page.evaluate("window.none = true")
    page.locator("[data-hand=aloud]").click()
    expect(page.locator("[data-hand=aloud]")).to_have_text(re.compile("no voice"))
    page.evaluate("window.none = false")
    page.locator("[data-hand=aloud]").click()
    page.fill("#pulse", "150")
    page.locator("#pulse").focus()
    page.keyboard.press("F9")
    text, voice = page.evaluate("window.spoken.at(-1)")
    assert voice == "own"
    assert "Pulse" in text
    assert "1 5 0" in text
    assert "/min" in text
