"""Hours asleep, minutes cut off, storage gone: nothing false looks fresh, nothing typed is lost or dated wrongly."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from ebbwell.house import House
from ebbwell.journal.kinds.night import Reading
from ebbwell.sim import hands
from ebbwell.sim.household import BRAM
from tests.browser.conftest import Opened
from tests.browser.site import Site
from tests.browser.wait import until

GONE = re.compile(r"\bgone\b")
SAVE = "Save the reading"

SLEEPER = """
(() => {
  let jump = 0, hidden = false;
  const wall = Date.now.bind(Date), mono = performance.now.bind(performance);
  Date.now = () => wall() + jump;
  performance.now = () => mono() + (window.monoSleeps ? 0 : jump);
  Object.defineProperty(document, "hidden", { get: () => hidden });
  Object.defineProperty(document, "visibilityState", { get: () => hidden ? "hidden" : "visible" });
  const Line = window.EventSource;
  window.EventSource = class extends Line { constructor(to) { super(to); window.line = this; } };
  window.hide = (to) => { hidden = to; document.dispatchEvent(new Event("visibilitychange")); };
  window.sleep = (ms) => { jump += ms; };
  window.frames_seen = [];
  const stale = () => [...document.querySelectorAll(".stale")].map((e) => e.innerText).join(" | ");
  const look = () => {
    const first = document.querySelector(".stale");
    if (first) frames_seen.push({
      text: stale(), gone: document.documentElement.classList.contains("gone"),
      dim: Number(getComputedStyle(first).opacity), hidden,
    });
    requestAnimationFrame(look);
  };
  window.watch = () => { frames_seen.length = 0; look(); };
  window.stale = stale;
})();
"""
"""Moves the page's clocks, hides and shows it, and notes what every frame shows."""


def _asleep(site: Site, page: Page, *, hidden: bool, beat: bool = False) -> list[dict[str, Any]]:
    """Eight hours pass at once; every frame from waking until it is fresh again."""
    before = page.evaluate("stale()")
    if hidden:
        page.evaluate("hide(true)")
    site.clock.pass_time(timedelta(hours=8))
    wake = "sleep(8 * 3600 * 1000);" + ("line.dispatchEvent(new Event('beat'));" if beat else "")
    page.evaluate(f"() => {{ {wake} {'hide(false);' if hidden else ''} watch(); }}")
    until(page, lambda: bool(page.evaluate("stale()") != before))
    page.wait_for_timeout(200)
    expect(page.locator("html")).not_to_have_class(GONE)
    frames: list[dict[str, Any]] = page.evaluate("frames_seen")
    truth = page.evaluate("stale()")
    assert truth != before
    assert frames
    false = [f for f in frames if f["text"] != truth and not (f["gone"] and f["dim"] < 0.6)]
    assert false == [], "a value of before shown as fresh"
    assert [f for f in frames if f["text"] == truth]
    return frames


@pytest.mark.source("design", detail="gate 5: at no moment after waking is a false value shown as fresh")
@pytest.mark.parametrize("address", ["/", "/night"])
@pytest.mark.parametrize("slow", [False, True], ids=["", "slow line"])
def test_a_hidden_page_wakes_grey_in_its_first_frame(
    site: Site, browse: Opened, address: str, slow: bool
) -> None:
    site.connect()
    page = browse()
    page.add_init_script(SLEEPER)
    page.goto(site.url + address)
    expect(page.locator("html")).not_to_have_class(GONE)
    if slow:
        page.route(site.url + address, lambda route: (page.wait_for_timeout(700), route.continue_()))
    frames = _asleep(site, page, hidden=True)
    assert frames[0]["gone"], "grey from the first frame on"


def _waiting(site: Site) -> None:
    """A set-up in which nothing but a wait is left to do."""
    site.open_night()

    def go(house: House) -> None:
        while (move := hands.next_move(house.look(by=BRAM), hands.SET_UP)) is not None:
            site.clock.pass_time(move.takes)
            hands.play(house, move, by=BRAM)
        assert hands.waits(house.look(by=BRAM))

    site.act(go)


WHOLE = """
(() => {
  window.whole = () => document.getElementById("main").innerText;
  const look = () => {
    const margins = [...document.querySelectorAll(".usual .row > .m")].filter((m) => m.innerText.trim());
    const frame = JSON.stringify({
      text: whole(), gone: document.documentElement.classList.contains("gone"),
      grey: margins.every((m) => Number(getComputedStyle(m).opacity) < 0.6),
    });
    const seen = JSON.parse(sessionStorage.getItem("frames") || "[]");
    if (seen.at(-1) !== frame) sessionStorage.setItem("frames", JSON.stringify([...seen, frame]));
    requestAnimationFrame(look);
  };
  window.watchWhole = () => { sessionStorage.setItem("frames", "[]"); look(); };
  window.wholes = () => JSON.parse(sessionStorage.getItem("frames")).map((frame) => JSON.parse(frame));
  document.addEventListener("DOMContentLoaded", () => { if (sessionStorage.getItem("frames")) look(); });
})();
"""
"""Notes each change of the words of a page or of its grey, frame by frame, also where it is made anew as a whole."""


@pytest.mark.source("design", detail="gate 5: at no moment after waking is a false value shown as fresh")
@pytest.mark.parametrize(
    ("address", "reach", "changes"),
    [
        ("/setup", _waiting, True),
        ("/plan", Site.set_up, False),
        ("/plan", Site.connect, False),
    ],
    ids=["a wait of the set-up", "plan before blood", "plan while blood runs"],
)
def test_a_hidden_page_of_before_is_made_anew_or_grey_at_every_frame(
    site: Site, browse: Opened, address: str, reach: Callable[[Site], None], changes: bool
) -> None:
    reach(site)
    page = browse()
    page.add_init_script(SLEEPER)
    page.add_init_script(WHOLE)
    page.goto(site.url + address)
    expect(page.locator("html")).not_to_have_class(GONE)
    before = page.evaluate("whole()")
    page.evaluate("hide(true)")
    site.clock.pass_time(timedelta(hours=8))
    with page.expect_response(
        lambda answer: answer.request.resource_type == "fetch" and address in answer.url
    ):
        page.evaluate("() => { sleep(8 * 3600 * 1000); hide(false); watchWhole(); }")
    expect(page.locator("html")).not_to_have_class(GONE)
    page.wait_for_timeout(300)
    frames: list[dict[str, Any]] = page.evaluate("wholes()")
    truth = page.evaluate("whole()")
    assert (truth != before) or not changes
    assert frames[0]["gone"], "grey from the first frame on"
    assert [f for f in frames if f["text"] != truth and not (f["gone"] and f["grey"])] == []
    assert [f for f in frames if f["text"] == truth and not f["gone"]]


@pytest.mark.source("design", detail="gate 5; the boot clock may stand still in sleep")
@pytest.mark.parametrize("mono_sleeps", [False, True], ids=["", "boot clock stands"])
def test_a_sign_of_life_that_comes_first_after_sleep_makes_nothing_old_fresh(
    site: Site, browse: Opened, mono_sleeps: bool
) -> None:
    site.connect()
    page = browse()
    page.add_init_script(SLEEPER)
    page.goto(f"{site.url}/night")
    expect(page.locator("html")).not_to_have_class(GONE)
    page.evaluate("on => { window.monoSleeps = on; }", mono_sleeps)
    _asleep(site, page, hidden=False, beat=True)


def _typing(site: Site, browse: Opened) -> Page:
    """A reading half typed, by a screen whose clock is the night's."""
    site.connect()
    page = browse()
    page.clock.install(time=site.clock.now().at)
    page.goto(f"{site.url}/night/reading?when=")
    page.fill("#pressure", "131/74")
    page.fill("#venous_pressure", "124")
    return page


def _pass(site: Site, page: Page, minutes: float) -> None:
    site.clock.pass_time(timedelta(minutes=minutes))
    page.clock.run_for(round(minutes * 60_000))


def _only_reading(site: Site) -> tuple[Reading, Any]:
    facts = site.desk.treatment.of("reading")
    assert len(facts) == 1
    body = facts[0].body
    assert isinstance(body, Reading)
    return body, facts[0].at


@pytest.mark.source("design", detail="network cut 10 minutes in mid-form; not saved is said")
def test_cut_off_in_mid_form_and_sent_while_away_it_is_one_entry_of_the_time_of_seeing(
    site: Site, browse: Opened
) -> None:
    page = _typing(site, browse)
    page.context.set_offline(True)
    expect(page.locator("html")).to_have_class(GONE)
    expect(page.locator(".away")).to_contain_text("Not saved")
    page.fill("#pulse", "70")
    seen = site.clock.now().at
    page.get_by_role("button", name=SAVE).click()
    page.clock.run_for(4_000)
    expect(page.locator("#held")).to_contain_text("Not in the record yet")
    for _ in range(10):
        _pass(site, page, 1)
    expect(page.locator("html")).to_have_class(GONE)
    expect(page.locator(".away")).to_contain_text("Not saved")
    expect(page.locator("#pressure")).to_have_value("131/74")
    assert site.desk.treatment.of("reading") == ()
    page.get_by_role("button", name=SAVE).click()
    page.clock.run_for(4_000)
    page.context.set_offline(False)
    page.clock.run_for(6_000)
    expect(page.locator("#held")).to_be_hidden(timeout=15_000)
    expect(page.locator(".away")).to_be_hidden()
    body, at = _only_reading(site)
    assert body.values["venous_pressure"] == "124"
    assert body.values["pulse"] == "70"
    assert abs(at - seen) < timedelta(minutes=1)


@pytest.mark.source("design", detail="network cut 10 minutes in mid-form; drafts survive; time of seeing")
@pytest.mark.parametrize("reload", [False, True], ids=["left open", "reloaded"])
def test_cut_off_in_mid_form_and_sent_afterwards_it_is_one_entry_of_the_time_of_typing(
    site: Site, browse: Opened, reload: bool
) -> None:
    page = _typing(site, browse)
    seen = site.clock.now().at
    page.context.set_offline(True)
    for _ in range(10):
        _pass(site, page, 1)
    expect(page.locator(".away")).to_contain_text("Not saved")
    page.context.set_offline(False)
    page.clock.run_for(6_000)
    expect(page.locator(".away")).to_be_hidden(timeout=15_000)
    if reload:
        page.reload()
    else:
        page.get_by_role("button", name=SAVE).click()
    expect(page.locator("main")).to_contain_text("did not save it")
    expect(page.locator("#venous_pressure")).to_have_value("124")
    expect(page.locator("#at")).to_have_value(re.compile(r"^\d\d:\d\d$"))
    assert site.desk.treatment.of("reading") == ()
    page.get_by_role("button", name=SAVE).click()
    page.wait_for_url("**/night?*kept=*")
    _, at = _only_reading(site)
    assert abs(at - seen) <= timedelta(minutes=1)


@pytest.mark.source("design", detail="storage cleared in mid-form")
@pytest.mark.parametrize("gone", ["cleared", "forbidden"])
def test_without_storage_the_form_itself_still_holds_and_sends_what_is_typed(
    site: Site, browse: Opened, gone: str
) -> None:
    site.connect()
    page = browse()
    if gone == "forbidden":
        page.add_init_script(
            "Object.defineProperty(window, 'localStorage', { get() { throw new DOMException('no'); } });"
        )
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.goto(f"{site.url}/night/reading?when=")
    page.fill("#venous_pressure", "124")
    if gone == "cleared":
        page.evaluate(
            "async () => { localStorage.clear(); sessionStorage.clear();"
            " for (const d of await indexedDB.databases()) indexedDB.deleteDatabase(d.name); }"
        )
    expect(page.locator("#venous_pressure")).to_have_value("124")
    page.fill("#pulse", "70")
    page.get_by_role("button", name=SAVE).click()
    page.wait_for_url("**/night?*kept=*")
    body, _ = _only_reading(site)
    assert (body.values["venous_pressure"], body.values["pulse"]) == ("124", "70")
    assert faults == []


@pytest.mark.source("design", detail="a tap that can't be held back must not look held")
def test_without_storage_a_stop_away_from_the_server_is_not_said_to_be_held(
    site: Site, browse: Opened
) -> None:
    site.connect()
    page = browse()
    page.add_init_script(
        "Object.defineProperty(window, 'localStorage', { get() { throw new DOMException('no'); } });"
    )
    page.goto(f"{site.url}/night")
    page.get_by_role("link", name="Something is wrong").click()
    site.stop()
    page.get_by_role("button", name="Write down the time").click()
    expect(page.locator(".away")).to_be_visible(timeout=6_000)
    expect(page.locator(".away")).to_contain_text("Not saved")
    expect(page.locator("#wrong .held")).to_be_empty()
    site.start()
