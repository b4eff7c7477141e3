"""Pictures of every page, phone and tablet, day and night, and of the sheet: ``python -m tools.screens`` writes
docs/screens/.

Served from an invented night with a clock of its own; one picture holds all pages of one size and look. The sheet is
of one night of the invented story, set on A4 and drawn by Poppler's pdftoppm.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
from io import BytesIO
from pathlib import Path

from PIL import Image, ImageDraw
from playwright.sync_api import Browser, ViewportSize, sync_playwright
from tests.browser.conftest import ARGS, PHONE, TABLET
from tests.browser.site import Site

from ebbwell.core.ids import SeededIds
from ebbwell.house import House
from ebbwell.papers.sheet import build_sheet
from ebbwell.papers.sheet_pdf import sheet_pdf
from ebbwell.sim.household import BRAM
from ebbwell.sim.story import tell
from tools.scenes import scenes

OUT = Path(__file__).parent.parent / "docs/screens"
SIZES: dict[str, ViewportSize] = {"phone": PHONE, "tablet": TABLET}
LOOKS = ("day", "night")
SHOWN = "2026-04-27"
"""The night of the story whose sheet is shown."""

GAP, CAPTION, TALL = 12, 24, 1800
"""Between pictures, of the words under each, and the longest picture [px]."""


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


def paper() -> bytes:
    """The sheet of one night of the invented story, as a picture. Raises FileNotFoundError where pdftoppm is missing."""
    with tempfile.TemporaryDirectory() as folder:
        story = tell(Path(folder))
        with House.open(story.path, story.clock(), SeededIds(1), create=False) as house:
            night = next(one.treatment for one in house.look().past.values() if one.night == SHOWN)
            made = sheet_pdf(build_sheet(house.look(treatment=night), house.store.heads()))
    return subprocess.run(
        ["pdftoppm", "-png", "-r", "90"], input=made, stdout=subprocess.PIPE, check=True
    ).stdout


def sheet(size: str, shots: list[tuple[str, bytes]]) -> bytes:
    """One picture of many, in columns; a page longer than ``TALL`` is cut there, which its caption says."""
    wide, columns = (190, 8) if size == "phone" else (320, 6)
    cells = [_cell(name, shot, wide) for name, shot in shots]
    heights = [0] * columns
    places = []
    for cell in cells:
        column = heights.index(min(heights))
        places.append((column * (wide + GAP) + GAP, heights[column] + GAP))
        heights[column] += cell.height + GAP
    whole = Image.new("RGB", (columns * (wide + GAP) + GAP, max(heights) + GAP), "#888888")
    for cell, place in zip(cells, places, strict=True):
        whole.paste(cell, place)
    made = BytesIO()
    whole.save(made, "JPEG", quality=50)
    return made.getvalue()


def _cell(name: str, shot: bytes, wide: int) -> Image.Image:
    page = Image.open(BytesIO(shot)).convert("RGB")
    page = page.resize((wide, page.height * wide // page.width))
    cut = page.height > TALL
    page = page.crop((0, 0, wide, min(page.height, TALL)))
    cell = Image.new("RGB", (wide, page.height + CAPTION), "white")
    cell.paste(page, (0, 0))
    words = f"{name} (goes on)" if cut else name
    ImageDraw.Draw(cell).text((6, page.height + 5), words, fill="black")
    return cell


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
                (OUT / f"pages-{size}-{look}.jpg").write_bytes(sheet(size, taken))
            (OUT / "sheet-a4.png").write_bytes(paper())
        browser.close()
    return 0


if __name__ == "__main__":
    sys.exit(main())
