"""Every page in a real browser: rules of accessibility, no wide page, nothing fetched from elsewhere.

Source of the rules: WCAG 2.2 A, AA and AAA as judged by axe-core.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page

from tests.browser.conftest import Opened
from tests.browser.site import Site
from tests.web.ways_table import GETS

AXE = Path(__file__).parent / "vendor/axe.min.js"
AA = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa")
AAA = (*AA, "wcag2aaa")
PAGES = ("/", "/who", "/prescription", "/prescription/new", "/plan", "/working/removal_rate", "/limits")


def faults(page: Page, rules: tuple[str, ...]) -> list[str]:
    """What axe finds, one line each."""
    page.evaluate(AXE.read_text())
    found = page.evaluate("rules => axe.run(document, {runOnly: rules})", list(rules))
    return [f"{v['id']}: {v['nodes'][0]['target']}" for v in found["violations"]]


@pytest.mark.parametrize("address", PAGES)
@pytest.mark.parametrize("phone", [False, True], ids=["tablet", "phone"])
@pytest.mark.parametrize("look", ["day", "night"])
def test_pages_keep_the_rules(site: Site, browse: Opened, address: str, phone: bool, look: str) -> None:
    site.connect()
    asked: list[str] = []
    page = browse(phone=phone, look=look)
    page.on("request", lambda request: asked.append(request.url))
    page.goto(site.url + address)
    assert faults(page, AAA if look == "night" else AA) == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert [url for url in asked if not url.startswith(site.url)] == []


PLAIN = sorted(way for way in GETS if "{" not in way)
"""Pages whose address needs no name in it."""


@pytest.mark.parametrize("share", range(4))
def test_every_page_keeps_the_contrast_and_names_of_the_night_look(
    site: Site, browse: Opened, share: int
) -> None:
    site.connect()
    page = browse(phone=True, look="night")
    wrong: list[str] = []
    for address in PLAIN[share::4]:
        page.goto(site.url + address)
        wrong += [f"{address}: {fault}" for fault in faults(page, AAA)]
        if not page.evaluate("document.documentElement.scrollWidth <= innerWidth"):
            wrong.append(f"{address}: wider than the screen")
    assert wrong == []
