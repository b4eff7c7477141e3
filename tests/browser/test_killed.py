"""The server is killed without a goodbye in every phase of a night, and started again on the same record."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path
from typing import NamedTuple

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from ebbwell.deeds import comeoff, night
from ebbwell.journal.kinds.night import Event, Reading
from ebbwell.sim.household import READING
from ebbwell.state.night import Phase
from tests.browser.alone import Alone
from tests.browser.conftest import PHONE
from tests.browser.site import Site

GONE = re.compile(r"\bgone\b")

Typed = dict[str, str]
"""What is typed into fields by name; a name with ``=`` is a pick by its value."""


class Spot(NamedTuple):
    """Where a night stands. shown: the page that lies open. form: a form that is half typed, with what."""

    phase: Phase
    reach: Callable[[Site], object]
    shown: str
    form: str
    half: Typed


def _stopped(site: Site) -> None:
    site.connect()
    site.do(night.stop_now)


def _read(site: Site) -> None:
    site.connect()
    site.clock.pass_time(timedelta(minutes=2))
    site.do(night.read, values=dict(READING), when="start")


def _off(site: Site) -> None:
    site.connect()
    site.clock.pass_time(timedelta(hours=7))
    site.do(comeoff.come_off)


def _safe(site: Site) -> None:
    _off(site)
    site.do(comeoff.person_safe, sure=(comeoff.UNSAID,))


def _closed(site: Site) -> None:
    _safe(site)
    views = site.desk.views.values()
    left = {v.step.id: "not done tonight" for v in views if v.step.gate == "close" and not v.passed}
    site.do(comeoff.close, because=left)


RECALL: Typed = {"item": "dialyser", "lot": "D-77", "told_by": "Northmere"}
ROW: Typed = {"pressure": "131/74", "venous_pressure": "124"}
SPOTS = {
    "before opening": Spot(Phase.NONE, Site.move_in, "/", "/recall", RECALL),
    "S0": Spot(Phase.SETTING_UP, Site.open_night, "/setup/first_questions", "/setup/first_questions", {}),
    "a wait": Spot(
        Phase.SETTING_UP,
        lambda s: s.until("S3"),
        "/setup/room_and_water",
        "/unit-said",
        {"unit.words": "wait"},
    ),
    "gate open": Spot(Phase.SETTING_UP, Site.set_up, "/connect", "/unit-said", {"unit.words": "go on"}),
    "no reading yet": Spot(Phase.RUNNING, Site.connect, "/night", "/night/reading?when=start", ROW),
    "running": Spot(Phase.RUNNING, _read, "/night", "/night/reading", ROW),
    "stop noted": Spot(Phase.STOPPING, _stopped, "/night", "/off#machine", {"blood": "part"}),
    "coming off": Spot(Phase.OFF, _off, "/off", "/happened/event", {"what": "cramp", "done": "rubbed it"}),
    "safe": Spot(Phase.SAFE, _safe, "/off", "/off", {"words": "a long night"}),
    "closed": Spot(Phase.CLOSED, _closed, "/", "/recall", RECALL),
}


@pytest.fixture
def screens(chromium: Browser) -> Iterator[Callable[[Alone], BrowserContext]]:
    made: list[BrowserContext] = []

    def screen(served: Alone) -> BrowserContext:
        context = chromium.new_context(viewport=PHONE, locale="en-IE", timezone_id="Europe/Dublin")
        context.add_cookies([{"name": "who", "value": "bram", "url": served.url}])
        context.set_default_timeout(10_000)
        made.append(context)
        return context

    yield screen
    for context in made:
        context.close()


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Callable[[Callable[[Site], object]], Alone]]:
    made: list[Alone] = []

    def go(reach: Callable[[Site], object]) -> Alone:
        site = Site(tmp_path)
        reach(site)
        made.append(Alone(site))
        return made[-1]

    yield go
    for one in made:
        one.kill()


def put(page: Page, typed: Typed) -> None:
    """Type and pick."""
    for name, value in typed.items():
        pick = page.locator(f'input[type=radio][name="{name}"][value="{value}"]')
        if pick.count():
            page.locator("label", has=pick).click()
        else:
            page.locator(f'[name="{name}"]:visible').fill(value)


def stands(page: Page) -> Typed:
    """What is picked and typed in the page's forms."""
    found: Typed = page.evaluate(
        """() => Object.fromEntries([...document.querySelectorAll('form[data-draft] [name]')]
        .filter(f => f.type !== 'hidden' && f.tagName !== 'BUTTON' && (f.type === 'radio' ? f.checked : f.value))
        .map(f => [f.name, f.value]))"""
    )
    return found


@pytest.mark.source(
    "design", detail="the server killed and started again in every phase; nothing acknowledged is lost"
)
@pytest.mark.parametrize("name", SPOTS)
def test_killed_in_every_phase_nothing_kept_or_typed_is_lost(
    served: Callable[[Callable[[Site], object]], Alone],
    screens: Callable[[Alone], BrowserContext],
    name: str,
) -> None:
    spot = SPOTS[name]
    server = served(spot.reach)
    context = screens(server)
    shown, typing = context.new_page(), context.new_page()
    at_night = spot.phase not in (Phase.NONE, Phase.CLOSED)
    if at_night:
        typing.goto(f"{server.url}/happened/event")
        put(typing, {"what": "cramp", "words": "kept before it was killed"})
    else:
        typing.goto(f"{server.url}/recall")
        put(typing, {"item": "dialyser", "lot": "KEPT-1", "told_by": "Northmere"})
    with typing.expect_navigation(url=re.compile(r"kept|/happened")):
        typing.locator("button.go").click()

    typing.goto(server.url + spot.form)
    half = spot.half
    if not half:
        first = typing.locator("form[data-draft] input[type=radio]").first
        half = {first.get_attribute("name") or "": first.get_attribute("value") or ""}
    put(typing, half)
    shown.clock.install()
    shown.goto(server.url + spot.shown)
    expect(shown.locator("html")).not_to_have_class(GONE)
    rows = int(shown.locator("body").get_attribute("data-row") or 0)

    server.kill()
    shown.clock.run_for(31_500)
    expect(shown.locator("html")).to_have_class(GONE)
    expect(shown.locator(".away")).to_be_visible()
    assert half.items() <= stands(typing).items(), "what is typed stays while the server is away"
    server.start()

    shown.clock.run_for(12_000)
    expect(shown.locator("html")).not_to_have_class(GONE)
    expect(shown.locator(".away")).to_be_hidden()
    assert int(shown.locator("body").get_attribute("data-row") or 0) >= rows
    typing.reload()
    assert half.items() <= stands(typing).items(), "and after a reload"

    server.kill()
    house = server.record()
    try:
        assert house.store.verify().holds
        desk = house.look()
        newest = max(desk.past.values(), key=lambda night: night.opened_at, default=None)
        assert desk.phase.value == ("none" if spot.phase is Phase.CLOSED else spot.phase.value)
        assert spot.phase is not Phase.CLOSED or (newest is not None and newest.phase == "closed")
        if at_night:
            events = [f.body for f in desk.treatment.of("event") if isinstance(f.body, Event)]
            assert [e.words for e in events].count("kept before it was killed") == 1
        else:
            lots = [getattr(f.body, "lot", "") for f in desk.standing.of("lot_recalled")]
            assert lots.count("KEPT-1") == 1
    finally:
        house.close()


BEFORE, AFTER = ("commit",), ("head.sync", "acknowledge")
"""Points of the write path before and after the entry is on the disk; at none of them was an answer sent."""


def _entries(server: Alone, kind: str) -> list[object]:
    """What the record holds of a kind, read without a server. The process is gone or is killed."""
    server.kill()
    house = server.record()
    try:
        assert house.store.verify().holds
        return [fact.body for fact in house.look().treatment.of(kind)]
    finally:
        house.close()


def _on_disk(server: Alone, kind: str, point: str) -> None:
    """The process died, on the side of the commit that the point lies on."""
    assert server.dead()
    assert len(_entries(server, kind)) == (point in AFTER)


@pytest.mark.source("design", detail="killed while it keeps: nothing twice, nothing lost")
@pytest.mark.parametrize("point", [*BEFORE, *AFTER])
def test_a_reading_whose_answer_never_comes_is_there_once_in_the_end(
    served: Callable[[Callable[[Site], object]], Alone],
    screens: Callable[[Alone], BrowserContext],
    point: str,
) -> None:
    server = served(Site.connect)
    server.dies_at_next_write(point)
    page = screens(server).new_page()
    page.goto(f"{server.url}/night/reading?when=start")
    put(page, {**ROW, "pulse": "70"})
    page.get_by_role("button", name="Save the reading").click()
    expect(page.locator(".away")).to_contain_text("Not saved")
    expect(page.locator(".away")).to_be_visible()
    expect(page.locator("#held")).to_contain_text("Not in the record yet")
    assert {**ROW, "pulse": "70"}.items() <= stands(page).items(), "what was typed stays in sight"
    _on_disk(server, "reading", point)

    server.start()
    expect(page.locator("#held")).to_be_hidden(timeout=15_000)
    expect(page.locator(".away")).to_be_hidden()
    left = stands(page)
    assert not set(left) & {*ROW, "pulse"}, "nothing is left that could be saved a second time"
    page.goto(f"{server.url}/night")
    assert "124" in page.locator("main").inner_text()
    found = _entries(server, "reading")
    assert [b.values["venous_pressure"] for b in found if isinstance(b, Reading)] == ["124"]


@pytest.mark.source("design", detail="killed while it keeps: nothing twice, nothing lost")
@pytest.mark.parametrize("point", ["acknowledge"])
def test_a_page_made_anew_after_an_answer_that_never_came_sends_it_once(
    served: Callable[[Callable[[Site], object]], Alone],
    screens: Callable[[Alone], BrowserContext],
    point: str,
) -> None:
    server = served(Site.connect)
    server.dies_at_next_write(point)
    page = screens(server).new_page()
    page.goto(f"{server.url}/night/reading?when=start")
    put(page, ROW)
    page.get_by_role("button", name="Save the reading").click()
    expect(page.locator("#held")).to_contain_text("Not in the record yet")
    _on_disk(server, "reading", point)
    server.start()
    page.reload()
    expect(page.locator("#held")).to_be_hidden(timeout=15_000)
    expect(page.locator("#venous_pressure")).to_have_value("")
    assert len(_entries(server, "reading")) == 1


@pytest.mark.source("design", detail="killed while it keeps: nothing twice, nothing lost")
@pytest.mark.parametrize("point", ["commit", "acknowledge"])
def test_a_step_whose_answer_never_comes_says_not_saved_and_is_there_once_when_saved_again(
    served: Callable[[Callable[[Site], object]], Alone],
    screens: Callable[[Alone], BrowserContext],
    point: str,
) -> None:
    server = served(Site.open_night)
    before = len(_entries(server, "answer"))
    server.dies_at_next_write(point)
    page = screens(server).new_page()
    page.goto(f"{server.url}/setup/first_questions")
    first = page.locator("form[data-draft] input[type=radio]").first
    picked = {first.get_attribute("name") or "": first.get_attribute("value") or ""}
    put(page, picked)
    page.locator("form[data-draft] button.go").click()
    expect(page.locator(".away")).to_contain_text("Not saved")
    expect(page.locator(".away")).to_be_visible()
    assert picked.items() <= stands(page).items()
    assert server.dead()
    assert len(_entries(server, "answer")) == before + (point in AFTER)

    server.start()
    expect(page.locator(".away")).to_be_hidden(timeout=15_000)
    assert picked.items() <= stands(page).items(), "a step isn't sent by itself"
    with page.expect_navigation(url=re.compile(r"/setup.*kept=")):
        page.locator("form[data-draft] button.go").click()
    assert len(_entries(server, "answer")) == before + 1


@pytest.mark.source("practice:e", detail="H34: a stop is one tap; killed while it keeps, it is there once")
@pytest.mark.parametrize("point", ["commit", "acknowledge"])
def test_a_stop_whose_answer_never_comes_is_there_once_in_the_end(
    served: Callable[[Callable[[Site], object]], Alone],
    screens: Callable[[Alone], BrowserContext],
    point: str,
) -> None:
    server = served(Site.connect)
    server.dies_at_next_write(point)
    page = screens(server).new_page()
    page.goto(f"{server.url}/night#wrong")
    page.get_by_role("button", name="Write down the time").click()
    expect(page.locator("#wrong .held")).to_contain_text("not in the record yet")
    expect(page.locator("#wrong")).to_contain_text("Stop. Clamp. Call")
    _on_disk(server, "stop", point)
    server.start()
    expect(page.locator("#wrong .held")).to_be_empty(timeout=15_000)
    assert len(_entries(server, "stop")) == 1
