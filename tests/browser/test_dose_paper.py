"""The page of the dose in a real browser: one sheet of A4, nothing beside the screen, day and night."""

from __future__ import annotations

from io import BytesIO

import pikepdf
from tools.scenes import weeks

from tests.browser.conftest import Opened
from tests.browser.site import Site

PAGE = "/review/adequacy"


def test_the_dose_prints_on_one_sheet_and_fits_both_screens(site: Site, browse: Opened) -> None:
    site.move_in()
    weeks(site)
    for phone in (True, False):
        page = browse(phone=phone, look="night" if phone else "day")
        page.goto(site.url + PAGE)
        assert page.locator(".fig .v").count() == 2
        wide, seen = page.evaluate("[document.documentElement.scrollWidth, window.innerWidth]")
        assert wide <= seen
    with pikepdf.open(BytesIO(page.pdf(format="A4", prefer_css_page_size=True))) as sheet:
        assert len(sheet.pages) == 1
        _, _, across, down = (float(edge) for edge in sheet.pages[0].mediabox)
        assert (round(across / 72 * 25.4), round(down / 72 * 25.4)) == (210, 297)
