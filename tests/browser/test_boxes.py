"""A box shows all that is typed in it at 360 px, and a sign is put in with one press."""

from __future__ import annotations

from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Opened
from tests.browser.site import Site

LONGEST = {
    "pressure": "228/126",
    "arterial_pressure": "-130",
    "fluid_conductivity": "13.85",
    "code": "H-10000",
    "lot": "LOT-77123",
    "expiry": "2026-05-02",
}
"""The longest that is usually typed, by what the name of a field ends in; 13.85 elsewhere."""

CUT = """all => all.filter(e => e.getClientRects().length && e.value && e.scrollWidth > e.clientWidth)
    .map(e => `${e.name}: ${e.value} ${e.scrollWidth} > ${e.clientWidth}`)"""


def _fill(page: Page) -> int:
    boxes = page.locator("#main .entry input[type=text]:not(.wide)")
    filled = 0
    for place in range(boxes.count()):
        box = boxes.nth(place)
        if box.is_visible():
            name = (box.get_attribute("name") or "").split(".")[-1]
            box.fill(LONGEST.get(name, "13.85"))
            filled += 1
    return filled


@pytest.mark.parametrize("address", ["/night/reading", "/off"])
def test_no_figure_of_a_running_night_is_cut_off(site: Site, browse: Opened, address: str) -> None:
    site.connect()
    page = browse(phone=True)
    page.goto(site.url + address)
    assert _fill(page)
    assert page.locator("#main input").evaluate_all(CUT) == []


@pytest.mark.parametrize("address", ["/setup/packs", "/setup/S5a", "/setup/S18"])
def test_no_lot_and_no_date_of_a_pack_is_cut_off(site: Site, browse: Opened, address: str) -> None:
    site.until({"/setup/packs": "S14"}.get(address, address.rpartition("/")[2]))
    page = browse(phone=True)
    page.goto(site.url + address)
    assert _fill(page), page.url
    assert page.locator("#main input").evaluate_all(CUT) == []


def test_a_sign_is_put_in_beside_the_field_and_on_the_number_pad(site: Site, browse: Opened) -> None:
    site.connect()
    site.clock.pass_time(timedelta(minutes=15))
    page = browse(phone=True)
    page.goto(f"{site.url}/night/reading")
    field = page.locator("#arterial_pressure")
    field.fill("130")
    press = page.locator("[data-sign=arterial_pressure]")
    press.click()
    expect(field).to_have_value("-130")
    press.click()
    expect(field).to_have_value("130")
    expect(page.locator("[data-sign=venous_pressure]")).to_have_count(0)
    page.locator("#hands summary").click()
    page.locator("[data-hand=pad]").click()
    field.focus()
    key = page.locator("#pad [data-key='-']")
    expect(key).to_have_text("+/\N{MINUS SIGN}")
    key.click()
    expect(field).to_have_value("-130")


def test_without_script_no_dead_button_stands_beside_the_field(site: Site, browse: Opened) -> None:
    site.connect()
    page = browse(phone=True, script=False)
    page.goto(f"{site.url}/night/reading")
    expect(page.locator("[data-sign=arterial_pressure]")).to_be_hidden()
