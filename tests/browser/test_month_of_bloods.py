"""A month of bloods, by hand in a real browser over the demo's record: typed, then seen in each page of review."""

from __future__ import annotations

from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

import pikepdf
import pytest
from playwright.sync_api import Browser, Page, expect

from ebbwell.core.clock import SetClock
from ebbwell.core.ids import SeededIds
from ebbwell.core.text import say
from ebbwell.house import House
from ebbwell.sim.story import tell
from tests.browser.conftest import PHONE
from tests.browser.site import Site

NIGHT = "The night of 13 April 2026"
BEFORE = {"urea": "14,1", "phosphate": "1.66", "potassium": "4.9", "bicarbonate": "23"}
SLIP = "39.5"
"""What a laboratory that reports urea nitrogen in mg/dL would print for 14.1 mmol/L of urea, typed without its unit."""


class Demo(Site):
    """The demo's record, served with the clock where the story ends."""

    def __init__(self, folder: Path) -> None:
        story = tell(folder)
        self.clock: SetClock = story.clock()
        self.path = story.path
        self.ids = SeededIds(6, start_ms=round(self.clock.now().at.timestamp() * 1000))
        self.port = 0
        House.open(self.path, self.clock, self.ids, create=False).close()
        self.start()


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Demo]:
    """Served for the whole file."""
    made = Demo(Path(tmp_path_factory.mktemp("demo")))
    yield made
    made.close()


def pick(page: Page, field: str, label: str) -> None:
    page.locator(f"#{field} .picks label", has_text=label).click()


def test_a_month_of_bloods_reaches_dose_projection_and_comparison(demo: Demo, chromium: Browser) -> None:
    context = chromium.new_context(
        viewport=PHONE, locale="en-IE", timezone_id="Europe/Dublin", has_touch=True
    )
    context.add_cookies([{"name": "who", "value": "bram", "url": demo.url}])
    context.set_default_timeout(30_000)
    page = context.new_page()
    page.goto(f"{demo.url}/review/adequacy")
    months = page.locator(".months tbody tr").count()

    page.goto(f"{demo.url}/bloods")
    page.get_by_role("link", name=say("web.bloods.form.result")).first.click()
    page.locator("[name=sampled_on]").fill("2026-04-13")
    pick(page, "drawn", "Before a night")
    page.locator("[name=night]").select_option(label=NIGHT)
    for substance, typed in BEFORE.items():
        page.locator(f"[name='value.{substance}']").fill(typed)
    page.locator("[name='value.urea']").fill(SLIP)
    page.locator("main form button").last.click()
    expect(page.locator("main")).to_contain_text("mg/dL")
    expect(page.locator("[name='value.urea']")).to_have_value(SLIP)
    page.locator("[name='value.urea']").fill(BEFORE["urea"])
    page.locator("main form button").last.click()
    expect(page.locator("main")).to_contain_text("14.1 mmol/L")

    page.get_by_role("link", name=say("web.bloods.form.result")).first.click()
    page.locator("[name=sampled_on]").fill("2026-04-14")
    pick(page, "drawn", "At the end of a night")
    page.locator("[name=night]").select_option(label=NIGHT)
    page.locator("[name=minutes_after]").fill("0")
    pick(page, "slowed", "Blood flow slowed as taught")
    page.locator("[name='value.urea']").fill("2.5")
    page.locator("main form button").last.click()
    expect(page.locator("main")).to_contain_text("2.5 mmol/L")

    page.goto(f"{demo.url}/review/adequacy")
    assert page.locator(".months tbody tr").count() == months + 1
    untested = "If the model holds; untested on you."
    expect(page.locator(".fig").first).to_contain_text(untested)
    page.locator("a[href*='/review/adequacy/working/standard_dose_by_model']").first.click()
    expect(page.locator("main")).to_contain_text(say("web.work.formula"))
    page.goto(f"{demo.url}/review/adequacy")
    with pikepdf.open(BytesIO(page.pdf(format="A4", prefer_css_page_size=True))) as sheet:
        assert len(sheet.pages) == 1

    page.goto(f"{demo.url}/review/outlook")
    for substance in ("Urea", "Phosphate", "Bicarbonate", "Potassium"):
        expect(page.locator("h2", has_text=substance)).to_be_visible()
    expect(page.locator("main svg[role=img]:visible").first).to_be_visible()
    with pikepdf.open(BytesIO(page.pdf(format="A4", prefer_css_page_size=True))) as sheet:
        assert len(sheet.pages) == 1

    page.goto(f"{demo.url}/review/questions")
    page.locator("[name=name1]").fill("three long nights")
    page.locator("[name=kind1]").select_option("week")
    for day in (0, 2, 4):
        page.locator(f"label:has([name='day1.{day}'])").click()
    page.locator("[name=hours1]").fill("8")
    page.locator("main form button").last.click()
    beside = page.locator("#beside")
    expect(beside).to_contain_text("three long nights")
    expect(beside.locator("tbody tr").first).to_contain_text("middle")
    with pikepdf.open(BytesIO(page.pdf(format="A4", prefer_css_page_size=True))) as sheet:
        assert len(sheet.pages) == 1
    context.close()
