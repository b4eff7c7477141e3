"""Double taps are one entry each, and nothing on a page moves by itself, also when another screen writes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from datetime import timedelta

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.conftest import Opened
from tests.browser.hand import Hand
from tests.browser.site import Site

SHIFTS = """
window.moved = 0;
new PerformanceObserver((list) => { for (const e of list.getEntries()) window.moved += e.value; })
  .observe({ type: "layout-shift", buffered: true });
"""
MOST = 0.01
"""Of the layout shift score that the browser itself works out. Own choice: a tenth of what counts as little."""


class Twice(Hand):
    """Taps each button that saves twice, and looks at what each pair of taps wrote."""

    saves = 0

    def send(self, button: Locator) -> None:
        """Tap it twice and wait for the next page; nothing is on record twice."""
        rows = self.site.rows
        with self.screen.expect_navigation():
            button.dblclick()
        self.screen.wait_for_load_state()
        problem = self.screen.locator("#trouble")
        assert problem.count() == 0, problem.inner_text()
        entries = self.site.act(lambda house: list(house.store.after(rows)))
        about = Counter((e.envelope.kind, repr(e.body)) for e in entries)
        assert {what: n for what, n in about.items() if n > 1} == {}
        self.saves += bool(entries)


@pytest.mark.source("design", detail="a double tap is one entry")
def test_each_save_of_an_evening_tapped_twice_is_one_entry(site: Site, browse: Opened) -> None:
    site.move_in()
    hand = Twice(site, browse(phone=True))
    hand.begin()
    hand.set_up()
    assert hand.saves > 20
    hand.connect()
    desk = site.desk
    assert (len(desk.treatment.of("pinned")), len(desk.treatment.of("connected"))) == (1, 1)


@pytest.mark.source("design", detail="a double tap is one entry")
def test_stopping_coming_off_and_closing_tapped_twice_are_one_entry_each(site: Site, browse: Opened) -> None:
    site.connect()
    site.clock.pass_time(timedelta(minutes=20))
    hand = Twice(site, browse())
    hand.go("/night#wrong")
    hand.send(hand.screen.locator("#wrong form[action='/stop'] button"))
    hand.go("/off")
    hand.put({"blood": "all"})
    hand.send(hand.form("/off").locator("button").last)
    hand.go("/off")
    with hand.screen.expect_navigation():
        hand.form("/off/safe").locator("button.go").dblclick()
    hand.screen.wait_for_selector("#trouble")  # needles and bleeding: not written down, so it is asked first
    assert site.desk.treatment.of("safe") == ()
    hand.send(hand.form("/off/safe").locator("button.go"))
    hand.go("/off")
    for box in hand.screen.locator('[name^="because."]').all():
        box.fill("later today")
    hand.send(hand.form("/off/close").locator("button.go"))
    kinds = site.act(lambda house: Counter(e.envelope.kind for e in house.store.after(0)))
    assert {kind: kinds[kind] for kind in ("stop", "came_off", "safe", "closed")} == dict.fromkeys(
        ("stop", "came_off", "safe", "closed"), 1
    )


@pytest.mark.source("design", detail="a double tap is one entry")
def test_an_event_tapped_twice_is_one_entry(site: Site, browse: Opened) -> None:
    site.connect()
    page = browse()
    page.goto(f"{site.url}/happened/event")
    page.locator("label", has=page.locator('input[name=what][value="cramp"]')).click()
    with page.expect_navigation():
        page.locator('form[action="/happened/event"] button.go').last.dblclick()
    page.wait_for_load_state()
    assert len(site.desk.treatment.of("event")) == 1


def _moved(page: Page) -> float:
    page.wait_for_timeout(400)
    return float(page.evaluate("window.moved"))


@pytest.mark.source("design", detail="no layout shift, also when another screen writes")
@pytest.mark.parametrize("phone", [False, True], ids=["tablet", "phone"])
def test_nothing_moves_by_itself(site: Site, browse: Opened, phone: bool) -> None:
    site.connect()
    page = browse(phone=phone)
    page.add_init_script(SHIFTS)
    moved = {}
    for address in ("/", "/night", "/off", "/plan", "/happened", "/setup/first_questions"):
        page.goto(site.url + address)
        moved[address] = _moved(page)
    assert {a: m for a, m in moved.items() if m >= MOST} == {}


def _reads(page: Page, site: Site) -> None:
    page.goto(f"{site.url}/night/reading?when=start")
    page.fill("#venous_pressure", "124")
    page.fill("#arterial_pressure", "-93")
    with page.expect_navigation(url="**/night?*kept=*"):
        page.locator("form[action='/night/reading'] button.go").click()


def _answers(page: Page, site: Site) -> None:
    page.goto(f"{site.url}/setup/first_questions")
    page.locator("form[data-draft] label:has(input[type=radio])").first.click()
    with page.expect_navigation(url="**kept=**"):
        page.locator("form[data-draft] button.go").click()


def _happens(page: Page, site: Site) -> None:
    page.goto(f"{site.url}/happened/event")
    page.locator("label", has=page.locator('input[name=what][value="cramp"]')).click()
    with page.expect_navigation():
        page.locator('form[action="/happened/event"] button.go').last.click()


Writes = Callable[[Page, Site], None]
WATCHED: tuple[tuple[str, Callable[[Site], None], Writes], ...] = (
    ("/", Site.connect, _reads),
    ("/night", Site.connect, _reads),
    ("/night", Site.connect, _happens),
    ("/", Site.open_night, _answers),
    ("/setup/first_questions", Site.open_night, _answers),
)


@pytest.mark.source("design", detail="no layout shift, also when another screen writes")
@pytest.mark.parametrize("phone", [False, True], ids=["tablet", "phone"])
@pytest.mark.parametrize(
    ("address", "reach", "write"), WATCHED, ids=["home", "night", "event", "home in set-up", "set-up"]
)
def test_nothing_moves_when_another_screen_writes(
    site: Site, browse: Opened, address: str, reach: Callable[[Site], None], write: Writes, phone: bool
) -> None:
    reach(site)
    page, other = browse(phone=phone), browse()
    page.add_init_script(SHIFTS)
    page.goto(site.url + address)
    _moved(page)
    row = page.locator("body").get_attribute("data-row") or ""
    write(other, site)
    assert site.rows > int(row)
    expect(page.locator("body")).to_have_attribute("data-row", str(site.rows), timeout=4_000)
    assert _moved(page) < MOST


@pytest.mark.source("arithmetic", detail="a block that comes late over a full page moves it")
def test_the_observer_sees_a_block_that_comes_late(site: Site, browse: Opened) -> None:
    site.connect()
    page = browse()
    page.add_init_script(SHIFTS)
    page.goto(f"{site.url}/night")
    before = _moved(page)
    page.evaluate(
        "() => { const late = document.createElement('h2'); late.textContent = 'late'; late.style.height = '150px';"
        " document.getElementById('main').prepend(late); }"
    )
    assert _moved(page) - before > MOST
