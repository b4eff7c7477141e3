"""A real Chromium, one a file; a fresh context a test."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, ViewportSize, expect, sync_playwright

from tests.browser.site import Site
from tests.needs import need

ARGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
PHONE: ViewportSize = {"width": 360, "height": 740}
TABLET: ViewportSize = {"width": 1180, "height": 820}


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    """The browser, for the tests of one file: its event loop mustn't run on under the tests of others."""
    need("chromium")
    expect.set_options(timeout=15_000)
    with sync_playwright() as tool:
        browser = tool.chromium.launch(executable_path=shutil.which("chromium"), args=list(ARGS))
        yield browser
        browser.close()


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    """The pages over an empty record, served."""
    made = Site(tmp_path)
    yield made
    made.close()


Opened = Callable[..., Page]


@pytest.fixture
def browse(chromium: Browser, site: Site) -> Iterator[Opened]:
    """Opens a fresh screen at the site: ``browse(phone=False, script=True, dark=False)``."""
    made: list[BrowserContext] = []

    def screen(*, phone: bool = False, script: bool = True, who: str = "bram", look: str = "") -> Page:
        context = chromium.new_context(
            viewport=PHONE if phone else TABLET,
            java_script_enabled=script,
            locale="en-IE",
            timezone_id="Europe/Dublin",
            has_touch=phone,
        )
        context.add_cookies([{"name": "who", "value": who, "url": site.url}])
        if look:
            context.add_cookies([{"name": "look", "value": look, "url": site.url}])
        context.set_default_timeout(10_000)
        made.append(context)
        page = context.new_page()
        page.goto(f"{site.url}/")
        return page

    yield screen
    for context in made:
        context.close()
