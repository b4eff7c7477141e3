"""The page of heparin and clotting for the clinic, and that nothing of its curve stands at the bedside."""

from __future__ import annotations

import asyncio
from datetime import timedelta
from pathlib import Path

import httpx
import pytest

from ebbwell.core.ids import SeededIds
from ebbwell.core.text import say
from ebbwell.deeds import comeoff, night, setup
from ebbwell.deeds.connect import connect
from ebbwell.house import House
from ebbwell.sim import hands
from ebbwell.sim.story import tell
from ebbwell.web.app import create_app
from ebbwell.web.keeper import Keeper
from tests.hazards.home import Home
from tests.web.site import Seen, Site

BEDSIDE = (
    "/",
    "/plan",
    "/setup",
    "/connect",
    "/night",
    "/night/reading",
    "/happened",
    "/off",
    "/mine",
    "/working",
)


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Seen:
    """The page over the invented story."""
    story = tell(Path(tmp_path_factory.mktemp("story")))
    keeper = Keeper(lambda: House.open(story.path, story.clock(), SeededIds(1), create=False))
    app = create_app(keeper, ("story",))

    async def look() -> httpx.Response:
        transport = httpx.ASGITransport(app)
        async with httpx.AsyncClient(transport=transport, base_url="http://story") as client:
            return await client.get("/review/heparin")

    answer = asyncio.run(look())
    keeper.close()
    return Seen(answer.status_code, answer.text, answer.headers)


def _night_of_heparin(site: Site) -> None:
    """A whole night with its first dose written down, the line clear, and both sites timed."""

    def go(house: House) -> None:
        home = Home(site.clock, house)
        home.do(setup.open_night)
        home.connected()
        home.do(night.give, what="heparin_first_dose", typed="1500", unit="units")
        site.clock.pass_time(timedelta(hours=7, minutes=30))
        home.do(setup.choose, step="C6", name="rinse_back_line", option="pink")
        home.do(setup.choose, step="C6b", name="clot_score", option="streaks")
        home.do(comeoff.come_off)
        home.pass_step("C10")
        home.do(comeoff.person_safe, sure=(comeoff.UNSAID,))
        home.close()
        site.clock.pass_time(timedelta(hours=36))

    site.act(go)


def test_without_nights_it_says_so(site: Site) -> None:
    site.move_in()
    assert "No night has run yet" in site.get("/review/heparin").text


@pytest.mark.hazard("H70")
@pytest.mark.source("fluids:3.3", detail="total 1,500 + 5,850 = 7,350 units")
def test_a_night_stands_with_what_was_given_and_what_was_seen(site: Site) -> None:
    site.move_in()
    _night_of_heparin(site)
    page = site.get("/review/heparin")
    assert page.status == 200
    for words in ("Heparin 1500 5850 7350 114 1, by Bram", "line at rinse-back: Pink", "8 min", "9 min"):
        assert words in page.text
    assert "Heparin left by sums" in page.html
    assert "It does not say when a needle can come out, and not how much to give." in page.text
    assert say("web.heparin.curve.limits") in page.text


def test_the_story_draws_its_nights(told: Seen) -> None:
    assert told.status == 200
    assert "Heparin of the last 40 nights" in told.html
    assert "Time to stop bleeding on the last 40 nights" in told.html
    assert told.html.count("<svg") == 6
    assert told.text.count("Heparin 1500 ") >= 20


@pytest.mark.hazard("H70")
@pytest.mark.source("practice:e", detail="H70: never at the bedside; page scan")
def test_no_page_of_the_bedside_shows_anything_of_the_curve(site: Site) -> None:
    site.move_in()
    _night_of_heparin(site)
    site.do(setup.open_night)
    words = [
        say(f"web.heparin.curve.{name}")
        for name in ("head", "limits", "never", "none", "sources", "band", "studied")
    ]

    def clean() -> None:
        for path in BEDSIDE:
            page = site.get(path)
            while page.status == 303:
                page = site.get(page.to)
            assert page.status == 200, path
            assert not [
                one for one in (*words, "half-life", "curve-", "review_heparin") if one in page.html
            ], path

    clean()
    site.act(lambda house: hands.set_up(house, site.clock))
    clean()
    site.do(connect)
    site.clock.pass_time(timedelta(hours=7))
    clean()
    site.do(comeoff.come_off)
    clean()
