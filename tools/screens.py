"""Pictures of every page, phone and tablet, day and night: ``python -m tools.screens`` writes docs/screens/.

Served from an invented night with a clock of its own; one picture holds all pages of one size and look.
"""

from __future__ import annotations

import base64
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator
from datetime import timedelta
from html import escape
from pathlib import Path

from playwright.sync_api import Browser, ViewportSize, sync_playwright
from tests.browser.conftest import ARGS, PHONE, TABLET
from tests.browser.site import Site
from tests.web.site import up_to

from ebbwell.deeds import comeoff, night, setup
from ebbwell.deeds.connect import connect
from ebbwell.house import House
from ebbwell.sim import hands
from ebbwell.sim.household import BRAM, READING

OUT = Path(__file__).parent.parent / "docs/screens"
SIZES: dict[str, ViewportSize] = {"phone": PHONE, "tablet": TABLET}
LOOKS = ("day", "night")

Scene = tuple[str, str, Callable[[Site], object]]


def _nothing(_: Site) -> None:
    return None


def _chlorine(site: Site) -> None:
    """Set up to the water test, which fails."""

    def go(house: House) -> None:
        up_to(house, site.clock, "S5")
        inputs = {"quantity": "total_chlorine", "place": "tank1", "typed": "0.13", "method": "meter"}
        hands.play(house, hands.Move(setup.measure, inputs))

    site.act(go)


def _retest(site: Site) -> None:
    """The water runs, and the set-up goes on to the open gate."""
    site.clock.pass_time(timedelta(minutes=11))
    fact = site.act(lambda house: house.look().treatment.at_slot("measured", "total_chlorine", "tank1")[0].id)
    inputs = {"quantity": "total_chlorine", "place": "tank1", "typed": "0.02", "method": "meter"}
    site.do(setup.measure, instead_of=(fact,), **inputs)
    site.act(lambda house: hands.set_up(house, site.clock))


def _blood(site: Site) -> None:
    """Blood runs, with the first readings."""
    site.do(connect)
    for name, minutes in (("start", 2), ("min15", 13), ("", 46)):
        site.clock.pass_time(timedelta(minutes=minutes))
        site.do(night.read, values=dict(READING), when=name)
    site.do(night.note_event, what="cramp", words="left calf", done="rubbed it")
    site.clock.pass_time(timedelta(hours=2, minutes=20))


def _off(site: Site) -> None:
    """Off, before the morning's steps."""
    site.clock.pass_time(timedelta(hours=4))
    site.do(comeoff.come_off)


def _closed(site: Site) -> None:
    """The sheet closed, what wasn't done named with a reason."""
    site.do(comeoff.person_safe)

    def close(house: House) -> None:
        views = house.look().views.values()
        left = {v.step.id: "not done for a picture" for v in views if v.step.gate == "close" and not v.passed}
        house.do(comeoff.close, by=BRAM, because=left)

    site.act(close)


def scenes() -> Iterator[Scene]:
    """Name, address, and what happens before it, in the order of a night."""
    yield "first run", "/begin", _nothing
    yield "tonight", "/", lambda site: site.move_in()
    yield "prescription", "/prescription", _nothing
    yield "prescription, a line by phone", "/prescription/amend", _nothing
    yield "people", "/people", _nothing
    yield "limits", "/limits", _nothing
    yield "who is here", "/who", _nothing
    yield "first questions", "/setup", lambda site: site.do(setup.open_night)
    yield "set-up, water test over its limit", "/setup", _chlorine
    yield "tonight, while it is set up", "/", _nothing
    yield "connecting, shut", "/connect", _nothing
    yield "plan", "/plan", _retest
    yield "working", "/working/removal_volume", _nothing
    yield "connecting, open", "/connect", _nothing
    yield "night", "/night", _blood
    yield "first action", "/night#wrong", _nothing
    yield "reading", "/night/reading", _nothing
    yield "something happened", "/happened", _nothing
    yield "reminders", "/reminders", _nothing
    yield "the person's own page", "/mine", _nothing
    yield "coming off", "/off", _nothing
    yield "the morning", "/off", _off
    yield "sheet", "/sheet/{treatment}", _closed
    yield "past nights", "/nights", _nothing


def take(browser: Browser, only: str = "") -> dict[tuple[str, str], list[tuple[str, bytes]]]:
    """Pictures by size and look. only: part of a name, for looking at a few. Complains about a page that isn't there."""
    shots: dict[tuple[str, str], list[tuple[str, bytes]]] = {}
    with tempfile.TemporaryDirectory() as folder:
        site = Site(Path(folder))
        treatment = ""
        for name, address, before in scenes():
            before(site)
            treatment = site.act(lambda house: house.look().treatment_id) or treatment
            if only not in name:
                continue
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
                    answer = page.goto(site.url + address.format(treatment=treatment))
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
