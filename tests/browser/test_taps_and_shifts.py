"""Double taps are one entry each, and nothing on a page moves by itself."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page

from tests.browser.conftest import Opened
from tests.browser.site import Site

SHIFTS = """
window.moved = 0;
new PerformanceObserver((list) => { for (const e of list.getEntries()) window.moved += e.value; })
  .observe({ type: "layout-shift", buffered: true });
"""


def _twice(page: Page, address: str, form: str, site: Site, kind: str) -> None:
    """Tap a form's button twice; the record then holds one entry of the kind."""
    if address:
        page.goto(site.url + address)
    with page.expect_navigation():
        page.locator(f'form[action="{form}"] button.go').last.dblclick()
    page.wait_for_load_state()
    page.wait_for_timeout(300)
    assert len(site.desk.treatment.of(kind)) == 1, kind


@pytest.mark.source("design", detail="a double tap is one entry")
def test_each_button_of_a_night_tapped_twice_is_one_entry(site: Site, browse: Opened) -> None:
    site.set_up()
    page = browse()
    _twice(page, "/connect", "/connect", site, "connected")
    page.goto(f"{site.url}/happened/event")
    page.locator("label", has=page.locator('input[name=what][value="cramp"]')).click()
    _twice(page, "", "/happened/event", site, "event")
    page.goto(f"{site.url}/off")
    page.locator("label", has=page.locator('input[name=blood][value="all"]')).click()
    _twice(page, "", "/off", site, "came_off")
    _twice(page, "/off", "/off/safe", site, "safe")


@pytest.mark.source("design", detail="no layout shift, also when another screen writes")
@pytest.mark.parametrize("phone", [False, True], ids=["tablet", "phone"])
def test_nothing_moves_by_itself(site: Site, browse: Opened, phone: bool) -> None:
    site.connect()
    page = browse(phone=phone)
    page.add_init_script(SHIFTS)
    moved = {}
    for address in ("/", "/night", "/off", "/plan", "/happened", "/setup/first_questions"):
        page.goto(site.url + address)
        page.wait_for_timeout(400)
        moved[address] = page.evaluate("window.moved")
    assert {a: m for a, m in moved.items() if m >= 0.01} == {}
