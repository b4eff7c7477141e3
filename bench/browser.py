"""Pages in a real browser with its processor slowed six times: taps, first paint and what goes over the line.

The yardstick is an empty page with one button, loaded and tapped in the same browser in the same run.
"""

from __future__ import annotations

import gzip
import shutil
import tempfile
from pathlib import Path

from playwright.sync_api import Page, sync_playwright
from tests.browser.conftest import ARGS, TABLET
from tests.browser.site import Site

from bench.rows import Row, p95, row, spread, under
from ebbwell.core.clock import SystemClock

SLOWED = 6
LOCAL_MS, SERVER_MS, PAINT_MS = 100.0, 300.0, 1000.0
SCRIPT_KB, PAGE_KB = 30.0, 60.0
"""Source of the goals: the issue of the bedside pages."""

STATIC = Path(__file__).parent.parent / "src/ebbwell/web/static"
EMPTY = "<!doctype html><title>empty</title><button onclick='this.textContent=1'>0</button><p>empty"

TAP = """(find) => new Promise((done) => {
  const thing = document.querySelector(find), from = performance.now();
  thing.click();
  requestAnimationFrame(() => setTimeout(() => done(performance.now() - from)));
})"""
PAINT = """() => new Promise((done) => {
  const look = () => {
    const seen = performance.getEntriesByName("first-contentful-paint")[0];
    if (seen) done([performance.timeOrigin + seen.startTime, seen.startTime]); else setTimeout(look, 5);
  };
  look();
})"""


def _zipped(data: bytes) -> float:
    return len(gzip.compress(data, 9)) / 1000


def _painted(page: Page, address: str) -> float:
    page.goto(address)
    return float(page.evaluate(PAINT)[1])


def _kept(page: Page, url: str) -> float:
    """Milliseconds from the tap that saves a reading to the first paint of the answer."""
    page.goto(f"{url}/night/reading?when=")
    page.fill("#venous_pressure", "124")
    began = page.evaluate("performance.timeOrigin + performance.now()")
    page.locator("form[action='/night/reading'] button.go").dispatch_event("click")
    page.wait_for_url("**/night?*kept=*")
    return float(page.evaluate(PAINT)[0]) - float(began)


def _sizes(page: Page, url: str) -> list[Row]:
    scripts = sum(_zipped(file.read_bytes()) for file in STATIC.glob("*.js"))
    style = _zipped((STATIC / "ledger.css").read_bytes())
    fonts = sum(file.stat().st_size for file in STATIC.glob("fonts/*.woff2")) / 1000
    bare = _zipped(EMPTY.encode())
    rows = [under("own script", scripts, bare, SCRIPT_KB, "all files, gzipped", "kB")]
    for path in ("/", "/night", "/off", "/limits", "/steps/text"):
        whole = _zipped(page.request.get(url + path).body()) + style + scripts
        note = f"page, style and script, gzipped; with all fonts {whole + fonts:.1f} kB"
        rows.append(under(f"size {path}", whole, bare, PAGE_KB, note, "kB"))
    return rows


def run(small: bool) -> list[Row]:
    """Taps, paints, sizes. Without Chromium one row that says so and doesn't hold."""
    found = shutil.which("chromium")
    if found is None:
        return [row("browser", 1, 1, "needs chromium", False, "not measured: this machine has no chromium")]
    turns = 2 if small else 12
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as tool:
        site = Site(Path(folder), at=SystemClock("UTC").now().at)
        browser = tool.chromium.launch(executable_path=found, args=list(ARGS))
        try:
            site.connect()
            page = browser.new_page(viewport=TABLET)
            page.context.add_cookies([{"name": "who", "value": "bram", "url": site.url}])
            page.route("**/empty", lambda route: route.fulfill(body=EMPTY, content_type="text/html"))
            page.goto(f"{site.url}/")
            rows = _sizes(page, site.url)
            slow = page.context.new_cdp_session(page)
            slow.send("Emulation.setCPUThrottlingRate", {"rate": SLOWED})
            empty = [_painted(page, f"{site.url}/empty") for _ in range(turns)]
            bare = [float(page.evaluate(TAP, "button")) for _ in range(turns)]
            for path in ("/", "/night"):
                ours = [_painted(page, site.url + path) for _ in range(turns)]
                rows.append(under(f"paint {path}", p95(ours), p95(empty), PAINT_MS, spread(ours)))
            page.goto(f"{site.url}/night/reading")
            for name, thing in (("details", "#hands summary"), ("pick", ".picks label")):
                ours = [float(page.evaluate(TAP, thing)) for _ in range(turns)]
                rows.append(under(f"tap {name}", p95(ours), p95(bare), LOCAL_MS, spread(ours)))
            ours = [_kept(page, site.url) for _ in range(turns)]
            rows.append(under("tap save", p95(ours), p95(empty), SERVER_MS, spread(ours)))
        finally:
            browser.close()
            site.close()
    return rows
