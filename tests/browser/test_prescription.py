"""The prescription and the plan in a real Chromium: without script, drafts, two devices, double taps."""

from __future__ import annotations

from playwright.sync_api import Page

from ebbwell.deeds import setup
from ebbwell.sim.household import ILKA, PRESCRIPTION
from tests.browser.conftest import Opened
from tests.browser.site import Site
from tests.web.site import up_to


def _type(page: Page, lines: dict[str, str]) -> None:
    """Type or pick every line that has a field on the page."""
    for line, text in lines.items():
        field = page.locator(f'[name="line.{line}"]').first
        if field.count() == 0:
            continue
        if field.get_attribute("type") == "radio":
            page.locator(f'[name="line.{line}"][value="{text}"]').check()
        else:
            field.fill(text)


def _head(page: Page) -> None:
    page.locator("#number").fill("4")
    page.locator("#giver").fill("Northmere Kidney Unit")
    page.locator("#valid_from").fill("2026-04-29")


def test_typed_and_checked_without_script(site: Site, browse: Opened) -> None:
    site.move_in()
    page = browse(script=False, phone=True)
    page.goto(f"{site.url}/prescription/new")
    _head(page)
    _type(page, dict(PRESCRIPTION))
    page.get_by_role("button", name="Keep this prescription").click()
    assert "/prescription/check/" in page.url
    assert "64.5" not in page.content()
    page.locator(f'[name="reader"][value="{ILKA}"]').check()
    _type(page, dict(PRESCRIPTION))
    page.get_by_role("button", name="Compare the two readings").click()
    page.get_by_role("heading", name="Prescription 4").wait_for()
    order = site.act(lambda house: house.look().scene.order)
    assert order is not None
    assert (order.body.number, order.waiting) == ("4", ())


def test_a_draft_survives_a_reload_and_goes_once_it_is_kept(site: Site, browse: Opened) -> None:
    site.move_in()
    page = browse()
    page.goto(f"{site.url}/prescription/new")
    _head(page)
    _type(page, dict(PRESCRIPTION))
    page.reload()
    assert page.locator('[name="line.target_weight"]').input_value() == "64.5"
    assert page.locator('[name="line.anticoagulant"][value="heparin"]').is_checked()
    page.get_by_role("button", name="Keep this prescription").click()
    page.wait_for_url("**/prescription/check/*")
    page.goto(f"{site.url}/prescription/new")
    assert page.locator('[name="line.target_weight"]').input_value() == ""


def test_what_was_typed_for_one_line_is_never_offered_for_another(site: Site, browse: Opened) -> None:
    site.move_in()
    page = browse()
    page.goto(f"{site.url}/prescription/amend?line=sodium")
    page.locator("#value").fill("140")
    page.locator("#read_back").fill("140")
    page.goto(f"{site.url}/prescription/amend?line=potassium")
    assert page.locator("#value").input_value() == ""
    page.goto(f"{site.url}/prescription/amend?line=sodium")
    assert page.locator("#value").input_value() == "140"
    assert page.locator("#read_back").input_value() == ""


def test_a_second_check_in_the_middle_of_typing_outlives_what_others_write(
    site: Site, browse: Opened
) -> None:
    site.open_night()
    page = browse()
    page.goto(f"{site.url}/prescription/amend?line=sodium")
    page.locator('[name="by"][value="phone"]').check()
    page.locator("#giver").fill("Sister Aun")
    page.locator("#value").fill("140")
    page.locator("#read_back").fill("140")
    page.locator('[name="lasts"][value="on"]').check()
    page.get_by_role("button", name="Keep this line").click()
    page.wait_for_url("**/prescription/check/*")
    page.locator('[name="line.sodium"]').fill("140")
    site.do(setup.happened, what="water_restart")
    page.locator("#grown").wait_for(state="visible")
    assert page.locator('[name="line.sodium"]').input_value() == "140"


def test_a_double_tap_agrees_one_plan(site: Site, browse: Opened) -> None:
    site.open_night()
    site.act(lambda house: up_to(house, site.clock, "S26"))
    page = browse()
    page.goto(f"{site.url}/plan")
    page.locator("#drink").fill("0,2")
    page.locator("#saline").fill("0")
    page.locator("#losses").fill("0")
    page.locator("#start").fill("22:00")
    page.get_by_role("button", name="Work it out").click()
    page.get_by_role("button", name="Agree this plan").dblclick()
    page.get_by_text("Agreed at").wait_for()
    entries = site.act(lambda house: [e for e in house.look().treatment if e.envelope.kind == "plan"])
    assert len(entries) == 1
