"""The sheet on a phone: every figure of a reading is in sight under its name."""

from __future__ import annotations

import os
from datetime import timedelta

from ebbwell.deeds import setup
from ebbwell.deeds.another_night import NIGHT_WAS_RUN
from ebbwell.sim.household import ILKA
from tests.browser.conftest import PHONE, Opened
from tests.browser.site import Site
from tests.web.test_sheet import closed_night

CELLS = """() => [...document.querySelectorAll("table.stack td")].map(cell => {
  const box = cell.getBoundingClientRect(), name = getComputedStyle(cell, "::before");
  return {left: box.left, right: box.right, size: parseFloat(getComputedStyle(cell).fontSize),
    small: parseFloat(name.fontSize), name: name.content};
})"""


def test_no_figure_of_a_reading_is_out_of_sight_on_a_phone(site: Site, browse: Opened) -> None:
    treatment = closed_night(site)
    page = browse(phone=True)
    page.goto(f"{site.url}/sheet/{treatment}")
    cells = page.evaluate(CELLS)
    assert len(cells) > 9
    for cell in cells:
        assert cell["left"] >= 0
        assert cell["right"] <= PHONE["width"]
        assert min(cell["size"], cell["small"]) >= 16
    assert any("pulse" in cell["name"] for cell in cells)
    if folder := os.environ.get("SHOTS"):
        page.locator("table.stack").screenshot(path=f"{folder}/stack.png")
        page.screenshot(path=f"{folder}/sheet-phone.png")


def test_a_list_to_pick_from_shows_its_words_on_a_phone(site: Site, browse: Opened) -> None:
    closed_night(site)
    site.clock.pass_time(timedelta(days=1))
    site.do(setup.open_night, sure=(NIGHT_WAS_RUN,))
    page = browse(phone=True, who=ILKA)
    page.goto(f"{site.url}/mine")
    room = page.evaluate(
        """() => { const box = document.querySelector("#treatment"), style = getComputedStyle(box);
        const pen = document.createElement("canvas").getContext("2d"); pen.font = style.font;
        const sides = parseFloat(style.paddingLeft) + parseFloat(style.paddingRight) + 4 + 20;
        return box.clientWidth - sides - pen.measureText(box.options[0].text).width; }"""
    )
    assert room >= 0


def test_the_table_of_pressures_does_not_scroll_sideways_at_800_pixels(site: Site, browse: Opened) -> None:
    closed_night(site)
    page = browse()
    page.set_viewport_size({"width": 800, "height": 900})
    page.goto(f"{site.url}/pressures")
    assert page.locator(".scroll").count() == 1
    assert page.evaluate("(s => s.scrollWidth - s.clientWidth)(document.querySelector('.scroll'))") == 0
