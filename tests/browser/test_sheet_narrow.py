"""The sheet on a phone: every figure of a reading is in sight under its name."""

from __future__ import annotations

import os

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
