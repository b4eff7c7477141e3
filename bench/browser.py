"""Pages in a real browser with its processor slowed six times: taps, first paint and what goes over the line.

The yardstick is an empty page with one button, served by a bare server and loaded, tapped and sent in the same browser
in the same run, turn by turn.
"""

from __future__ import annotations

import gzip
import shutil
import tempfile
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

from playwright.sync_api import Page, sync_playwright
from tests.browser.conftest import ARGS, TABLET
from tests.browser.site import Site
from tools.scenes import scenes

from bench.rows import Row, p95, row, spread, under
from ebbwell.core.clock import SystemClock

SLOWED = 6
LOCAL_MS, SERVER_MS, PAINT_MS = 100.0, 300.0, 1000.0
SCRIPT_KB, PAGE_KB = 30.0, 60.0
"""Source of the goals: the issue of the bedside pages."""

STATIC = Path(__file__).parent.parent / "src/ebbwell/web/static"
EMPTY = """<!doctype html><title>empty</title><form method="post" action="/empty">
<button type="button" onclick="this.textContent=1">0</button><button class="go">send</button></form><p>empty"""
RATIO = 3.0
"""How much longer than an empty page a save may take where the empty page alone is over the goal. Own choice."""

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


class _Empty(BaseHTTPRequestHandler):
    """The empty page; what is sent to it leads back to it."""

    protocol_version = "HTTP/1.1"

    def _answer(self, status: int, body: bytes = b"") -> None:
        self.send_response(status)
        self.send_header("content-type", "text/html")
        self.send_header("content-length", str(len(body)))
        if status == 303:
            self.send_header("location", "/empty?kept=yes")
        self.end_headers()
        self.wfile.write(body)

    def do_GET(self) -> None:
        self._answer(200, EMPTY.encode())

    def do_POST(self) -> None:
        self.rfile.read(int(self.headers.get("content-length", "0")))
        self._answer(303)

    def log_message(self, format: str, *args: object) -> None:
        """Nothing is logged."""


@contextmanager
def _empty_page() -> Iterator[str]:
    """Serves it; gives its address."""
    with ThreadingHTTPServer(("127.0.0.1", 0), _Empty) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_address[1]}/empty"
        server.shutdown()


def _sent(page: Page, button: str) -> float:
    """Milliseconds from the tap on a form's button to the first paint of the page that it leads to."""
    began = page.evaluate("performance.timeOrigin + performance.now()")
    page.locator(button).dispatch_event("click")
    page.wait_for_url("**kept=*")
    return float(page.evaluate(PAINT)[0]) - float(began)


def _kept(page: Page, url: str) -> float:
    """The same of a reading."""
    page.goto(f"{url}/night/reading?when=")
    page.fill("#venous_pressure", "124")
    return _sent(page, "form[action='/night/reading'] button.go")


def _bare_kept(page: Page, empty: str) -> float:
    """The same of the empty page."""
    page.goto(empty)
    return _sent(page, "button.go")


def _turns(
    turns: int, ours: Callable[[], float], bare: Callable[[], float]
) -> tuple[list[float], list[float]]:
    """Ours and the yardstick, turn by turn."""
    pairs = [(ours(), bare()) for _ in range(turns)]
    return [mine for mine, _ in pairs], [its for _, its in pairs]


def _save(ours: list[float], bare: list[float]) -> Row:
    """A tap that saves: under the goal, or in proportion where the empty page alone is over it on this machine."""
    mine, its = p95(ours), p95(bare)
    note = f"ours {spread(ours)}; empty page sent and led back {spread(bare)}"
    if its < SERVER_MS:
        return under("tap save", mine, its, SERVER_MS, note)
    goal = f"under {RATIO:g} times an empty page"
    told = f"an empty page alone takes over {SERVER_MS:g} ms on this machine, so it is the measure; {note}"
    return row("tap save", mine, its, goal, mine < RATIO * its, told)


def _sizes(page: Page) -> list[Row]:
    """Script, and the largest of all pages that are shown, each with style and script."""
    scripts = sum(_zipped(file.read_bytes()) for file in STATIC.glob("*.js"))
    style = _zipped((STATIC / "ledger.css").read_bytes())
    fonts = sum(file.stat().st_size for file in STATIC.glob("fonts/*.woff2")) / 1000
    bare = _zipped(EMPTY.encode())
    pages: dict[str, float] = {}
    with tempfile.TemporaryDirectory() as folder:
        site = Site(Path(folder))
        for name, _, before, found in scenes():
            before(site)
            pages[name] = _zipped(page.request.get(site.url + found(site)).body())
        site.close()
    largest = max(pages, key=lambda name: pages[name])
    note = f'"{largest}" of {len(pages)} pages, {pages[largest]:.1f} kB, and style and script; type {fonts:.0f} kB more'
    return [
        under("own script", scripts, bare, SCRIPT_KB, "all files, gzipped", "kB"),
        under("size of the largest page", pages[largest] + style + scripts, bare, PAGE_KB, note, "kB"),
    ]


LOCAL = (
    ("tap details", "#hands summary"),
    ("tap pick", ".picks label"),
    ("tap key of the pad", "#pad [data-key='1']"),
    ("tap next", "#pad [data-key=next]"),
)
"""Local actions: what is tapped on the page of a reading, with the number pad on and a field chosen."""


def _local(page: Page, url: str, empty: str, turns: int) -> list[Row]:
    rows = []
    for name, thing in LOCAL:
        ours: list[float] = []
        bare: list[float] = []
        page.goto(f"{url}/night/reading")
        page.evaluate("localStorage.setItem('hands pad', 'on')")
        page.reload()
        page.locator("#arterial_pressure").focus()
        for _ in range(turns):
            page.locator("#arterial_pressure").focus()
            ours.append(float(page.evaluate(TAP, thing)))
        page.evaluate("localStorage.clear()")  # the pad is off again, and what it typed is no draft
        page.goto(empty)
        bare = [float(page.evaluate(TAP, "button")) for _ in range(turns)]
        rows.append(under(name, p95(ours), p95(bare), LOCAL_MS, spread(ours)))
    return rows


def run(small: bool) -> list[Row]:
    """Taps, paints, sizes. Without Chromium one row that says so and doesn't hold."""
    found = shutil.which("chromium")
    if found is None:
        return [row("browser", 1, 1, "needs chromium", False, "not measured: this machine has no chromium")]
    turns = 2 if small else 20
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as tool, _empty_page() as empty:
        site = Site(Path(folder), at=SystemClock("UTC").now().at)
        browser = tool.chromium.launch(executable_path=found, args=list(ARGS))
        try:
            site.connect()
            page = browser.new_page(viewport=TABLET)
            page.context.add_cookies([{"name": "who", "value": "bram", "url": site.url}])
            page.goto(f"{site.url}/")
            rows = _sizes(page)
            slow = page.context.new_cdp_session(page)
            slow.send("Emulation.setCPUThrottlingRate", {"rate": SLOWED})
            for path in ("/", "/night"):
                ours, bare = _turns(
                    turns,
                    lambda: _painted(page, site.url + path),  # noqa: B023
                    lambda: _painted(page, empty),
                )
                rows.append(under(f"paint {path}", p95(ours), p95(bare), PAINT_MS, spread(ours)))
            rows += _local(page, site.url, empty, turns)
            rows.append(_save(*_turns(turns, lambda: _kept(page, site.url), lambda: _bare_kept(page, empty))))
        finally:
            browser.close()
            site.close()
    return rows
