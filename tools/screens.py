"""Pictures of every page, phone and tablet, day and night: ``python -m tools.screens`` writes docs/screens/.

Served from an invented night with a clock of its own; one picture holds all pages of one size and look.
"""

from __future__ import annotations

import base64
import shutil
import sys
import tempfile
from html import escape
from pathlib import Path

from playwright.sync_api import Browser, ViewportSize, sync_playwright
from tests.browser.conftest import ARGS, PHONE, TABLET
from tests.browser.site import Site

from ebbwell.sim.household import BRAM
from tools.scenes import scenes

OUT = Path(__file__).parent.parent / "docs/screens"
SIZES: dict[str, ViewportSize] = {"phone": PHONE, "tablet": TABLET}
LOOKS = ("day", "night")


def take(browser: Browser, only: str = "") -> dict[tuple[str, str], list[tuple[str, bytes]]]:
    """Pictures by size and look. only: part of a name, for looking at a few. Complains about a page that isn't there."""
    shots: dict[tuple[str, str], list[tuple[str, bytes]]] = {}
    with tempfile.TemporaryDirectory() as folder:
        site = Site(Path(folder))
        for name, _, before, found in scenes():
            before(site)
            if only not in name:
                continue
            address = found(site)
            for size, viewport in SIZES.items():
                for look in LOOKS:
                    context = browser.new_context(viewport=viewport, timezone_id="Europe/Dublin")
                    who = "ilka" if address == "/mine" else BRAM
                    context.add_cookies(
                        [
                            {"name": "look", "value": look, "url": site.url},
                            {"name": "who", "value": who, "url": site.url},
                        ]
                    )
                    page = context.new_page()
                    answer = page.goto(site.url + address)
                    if answer is not None and answer.status != 200:
                        print(f"{name}: {address} answers {answer.status}")
                    full = "#" not in address
                    shot = page.screenshot(full_page=full, type="png")
                    shots.setdefault((size, look), []).append((name, shot))
                    context.close()
        site.close()
    return shots


def sheet(browser: Browser, size: str, shots: list[tuple[str, bytes]]) -> bytes:
    """One picture of many."""
    width = 250 if size == "phone" else 420
    parts = "".join(
        f'<figure><img src="data:image/png;base64,{base64.b64encode(shot).decode()}">'
        f"<figcaption>{escape(name)}</figcaption></figure>"
        for name, shot in shots
    )
    columns = 6 if size == "phone" else 4
    style = (
        "body{margin:16px;background:#888;font:16px sans-serif;column-gap:16px}"
        "figure{margin:0 0 16px;break-inside:avoid;background:#fff}img{width:100%;display:block}"
        f"figcaption{{padding:6px}}body{{columns:{columns}}}"
    )
    page = browser.new_page(viewport={"width": (width + 16) * columns + 32, "height": 800})
    page.set_content(f"<style>{style}</style>{parts}")
    made = page.screenshot(full_page=True, type="jpeg", quality=60)
    page.close()
    return made


def main() -> int:
    """Take all, or those whose name holds the first argument, each then also by itself in the folder given second."""
    only = sys.argv[1] if len(sys.argv) > 1 else ""
    with sync_playwright() as tool:
        browser = tool.chromium.launch(executable_path=shutil.which("chromium"), args=list(ARGS))
        shots = take(browser, only)
        if len(sys.argv) > 2:
            folder = Path(sys.argv[2])
            folder.mkdir(parents=True, exist_ok=True)
            for (size, look), taken in shots.items():
                for name, shot in taken:
                    (folder / f"{name}-{size}-{look}.png".replace(" ", "_")).write_bytes(shot)
        else:
            OUT.mkdir(parents=True, exist_ok=True)
            for (size, look), taken in shots.items():
                (OUT / f"pages-{size}-{look}.jpg").write_bytes(sheet(browser, size, taken))
        browser.close()
    return 0


if __name__ == "__main__":
    sys.exit(main())
