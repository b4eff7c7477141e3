"""Every page in a real browser: rules of accessibility, no wide page, nothing fetched from elsewhere.

Source of the rules: WCAG 2.2 A, AA and AAA as judged by axe-core.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page
from tools.scenes import scenes

from ebbwell.deeds.night import go_off
from tests.browser.conftest import PHONE, TABLET, Opened
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


SHARES = 4
TALL = 6000
"""Of a screen on which the foot hides nothing: a person scrolls, which the rules know nothing of [px]."""

FIRST = {way: name for name, way, _, _ in reversed(list(scenes()))}
"""Each page that is shown, also those with a name in their address, and the first moment of a night that has it."""

PAPER = "/sheet/{treatment}.pdf"


def test_no_page_is_left_out() -> None:
    assert set(FIRST) == set(GETS) - {PAPER}


@pytest.mark.parametrize("share", range(SHARES))
def test_every_page_keeps_aa_by_day_and_aaa_at_night(site: Site, browse: Opened, share: int) -> None:
    page = browse(phone=True, look="day")
    page.set_viewport_size({"width": PHONE["width"], "height": TALL})
    wrong: list[str] = []
    seen = 0
    mine = set(sorted(FIRST)[share::SHARES])
    for name, way, before, found in scenes():
        before(site)
        if way not in mine or FIRST[way] != name:
            continue
        who = "ilka" if way == "/mine" else "bram"
        page.context.add_cookies([{"name": "who", "value": who, "url": site.url}])
        answer = page.goto(site.url + found(site))
        assert answer is not None
        assert answer.status == 200, name
        assert "night" not in (page.locator("html").get_attribute("class") or "")
        seen += 1
        wrong += [f"day, {name}: {fault}" for fault in faults(page, AA)]
        if not page.evaluate("document.documentElement.scrollWidth <= innerWidth"):
            wrong.append(f"{name}: wider than the screen")
        page.evaluate("document.documentElement.classList.replace('day', 'night')")
        assert "night" in (page.locator("html").get_attribute("class") or "")
        wrong += [f"night, {name}: {fault}" for fault in faults(page, AAA)]
        page.goto("about:blank")  # what comes next would make this page anew
    assert wrong == []
    assert seen == len(mine)


@pytest.mark.source(
    "from memory", detail="WCAG 2.2: contrast 7 to 1 at AAA, 4.5 to 1 at AA; targets 24 by 24 px"
)
def test_a_page_that_breaks_a_rule_is_found(site: Site, browse: Opened) -> None:
    site.connect()
    page = browse(phone=True, look="night")
    page.goto(f"{site.url}/limits")
    page.evaluate(
        "() => document.getElementById('main').insertAdjacentHTML('beforeend',"
        " '<div id=bad><p>pale words</p><button>a</button><button>b</button></div>')"
    )
    page.evaluate(
        "() => { for (const p of document.querySelectorAll('#bad p'))"
        " { p.style.color = '#767676'; p.style.background = '#fff'; p.style.fontSize = '16px'; }"
        " for (const b of document.querySelectorAll('#bad button'))"
        " { b.style.width = '9px'; b.style.height = '9px'; b.style.padding = '0'; b.style.fontSize = '8px'; } }"
    )
    found = " ".join(faults(page, AAA))
    assert "color-contrast-enhanced" in found
    assert "target-size" in found
    assert "color-contrast-enhanced" not in " ".join(faults(page, AA))


@pytest.mark.parametrize("address", ["/home", "/happened/on", "/off/by-hand"])
@pytest.mark.parametrize("phone", [False, True], ids=["tablet", "phone"])
def test_what_is_pressed_is_large_enough_to_hit(
    site: Site, browse: Opened, address: str, phone: bool
) -> None:
    site.connect()
    if address == "/happened/on":
        site.do(go_off)
    page = browse(phone=phone)
    page.set_viewport_size({"width": (PHONE if phone else TABLET)["width"], "height": TALL})
    answer = page.goto(site.url + address)
    assert answer is not None
    assert answer.status == 200
    page.evaluate(AXE.read_text())
    found = page.evaluate("axe.run(document, {runOnly: {type: 'rule', values: ['target-size']}})")
    assert [node["target"] for v in found["violations"] for node in v["nodes"]] == []
    assert found["passes"]
