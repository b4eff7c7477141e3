"""The set-up in a real browser: accessibility of its screens, drafts, the scanner's Enter, and what Enter never does."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page

from tests.browser.conftest import Opened
from tests.browser.site import Site
from tests.browser.test_access import AA, AAA, faults

SCREENS = ("first_questions", "packs", "person", "S5", "settings")


def unnamed(page: Page) -> list[str]:
    """Things to press that are smaller than 56 px either way, by their words."""
    return page.evaluate(
        """() => [...document.querySelectorAll('main button, main .picks label, main .press, main .go')]
        .filter(e => e.offsetParent && !e.classList.contains('out'))
        .filter(e => e.getBoundingClientRect().height < 56).map(e => e.innerText)"""
    )


@pytest.mark.parametrize("phone", [False, True], ids=["tablet", "phone"])
@pytest.mark.parametrize("look", ["day", "night"])
def test_screens_of_the_set_up_keep_the_rules(site: Site, browse: Opened, phone: bool, look: str) -> None:
    site.open_night()
    page = browse(phone=phone, look=look)
    for screen in SCREENS:
        page.goto(f"{site.url}/setup/{screen}")
        assert faults(page, AAA if look == "night" else AA) == [], screen
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), screen
        assert unnamed(page) == [], screen
    for address in ("/connect", "/running", "/call-off", "/unit-said"):
        page.goto(site.url + address)
        assert faults(page, AAA if look == "night" else AA) == [], address


def test_what_was_typed_survives_a_reload_and_goes_once_it_is_kept(site: Site, browse: Opened) -> None:
    site.until("S29")
    page = browse()
    page.goto(f"{site.url}/setup/person")
    page.fill('[name="S29.weight_before"]', "66.3")
    page.reload()
    assert page.input_value('[name="S29.weight_before"]') == "66.3"
    page.click("button.go")
    page.wait_for_url("**/setup/**kept=**")
    assert site.act(lambda house: house.look().treatment.at_slot("measured", "weight_before", "")) != ()
    assert page.evaluate("Object.keys(localStorage).filter(k => k.includes('setup-person')).length") == 0


def test_enter_in_a_field_saves_and_never_answers_a_question(site: Site, browse: Opened) -> None:
    site.until("S29")
    page = browse()
    page.goto(f"{site.url}/setup/person")
    page.fill('[name="S29b.systolic"]', "210")
    page.press('[name="S29b.systolic"]', "Enter")
    page.wait_for_selector("#trouble")
    with page.expect_navigation():
        page.press('[name="S29b.systolic"]', "Enter")
    page.wait_for_selector("#trouble")
    assert site.act(lambda house: house.look().treatment.at_slot("measured", "systolic", "")) == ()
    page.click('button[name="as_typed"]')
    page.wait_for_url("**/setup/**kept=**")
    assert site.act(lambda house: house.look().treatment.at_slot("measured", "systolic", "")) != ()


def test_a_scanner_types_a_label_and_its_enter_keeps_the_pack(site: Site, browse: Opened) -> None:
    site.until("S12")
    page = browse()
    page.goto(f"{site.url}/setup/packs")
    page.click('[id="S12.dialyser"] label:has-text("Whole")')
    page.click('[name="S12.dialyser.scan"]')
    page.keyboard.insert_text("]d2240D-18\x1d10D4410\x1d17270600")
    page.keyboard.press("Enter")
    page.wait_for_url("**/setup/**kept=**")
    used = site.act(lambda house: house.look().treatment.of("lot_used"))
    assert [(b.code, b.lot, b.scanned) for f in used if (b := f.body) and b.item == "dialyser"] == [
        ("D-18", "D4410", True)
    ]


def test_the_numbers_to_set_are_near_the_top_of_the_plan_on_a_phone(site: Site, browse: Opened) -> None:
    site.until("S26")
    page = browse(phone=True)
    page.goto(f"{site.url}/plan?drink=0.2&saline=0&losses=0&start=&leaves=")
    places = page.evaluate(
        "[...document.querySelectorAll('main .fig .v')].slice(0, 6).map(e => e.getBoundingClientRect().bottom)"
    )
    height = page.viewport_size["height"] if page.viewport_size else 0
    assert len(places) == 6
    assert sum(place < height for place in places) >= 2
    assert places[-1] < 2 * height
