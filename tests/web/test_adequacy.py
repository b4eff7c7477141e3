"""The page of the dose for the clinic: over a record with bloods, and what it says where there are none."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import httpx
import pytest

from ebbwell.core.clock import SetClock
from ebbwell.core.ids import SeededIds
from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk
from ebbwell.house import House
from ebbwell.journal.kinds import Body
from ebbwell.journal.kinds.bloods import BloodTarget
from ebbwell.review.adequacy_months import FRESH_DAYS
from ebbwell.sim.household import BRAM
from ebbwell.sim.story import tell
from ebbwell.web.app import create_app
from ebbwell.web.keeper import Keeper
from tests.web.site import Seen, Site

WANTED = BloodTarget(
    substance="urea", unit="mmol/L", low="", high="22", giver="Northmere Kidney Unit", given_on="2026-02-02"
)


def put(desk: Desk, *, body: Body) -> None:
    """An entry as it would come from a form of the bloods."""
    desk.add(body, standing=True)


class Told:
    """The pages over the story, which has bloods every four weeks, and what the clinic wants of urea."""

    def __init__(self, folder: Path) -> None:
        story = tell(folder)
        self.clock: SetClock = story.clock()
        self.keeper = Keeper(lambda: House.open(story.path, self.clock, SeededIds(1), create=False))
        self.app = create_app(self.keeper, ("story",))
        self.act(lambda house: house.do(put, by=BRAM, body=WANTED))

    def act(self, what: object) -> object:
        return self.keeper.at_once(what)  # type: ignore[arg-type]

    def get(self, path: str) -> Seen:
        async def look() -> httpx.Response:
            transport = httpx.ASGITransport(self.app)
            async with httpx.AsyncClient(transport=transport, base_url="http://story") as client:
                return await client.get(path)

        answer = asyncio.run(look())
        return Seen(answer.status_code, answer.text, answer.headers)


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Told]:
    """The story."""
    made = Told(Path(tmp_path_factory.mktemp("story")))
    yield made
    made.keeper.close()


def test_without_bloods_it_says_what_is_lacking_and_where_it_is_written_down(site: Site) -> None:
    site.move_in()
    page = site.get("/review/adequacy")
    assert page.status == 200
    assert say("own.no_pairs") in page.text
    assert "<svg" not in page.html
    assert not re.search(r"\d\.\d\d /week", page.text)
    for address in ("/bloods/result", "/bloods/dialyser", "/bloods/body"):
        assert address in page.links


@pytest.mark.hazard("H62")
def test_the_fitted_dose_stands_first_with_band_bloods_age_and_working(told: Told) -> None:
    page = told.get("/review/adequacy")
    assert page.status == 200
    lead = page.text.index("Weekly dose, stdKt/V")
    assert (
        lead
        < page.text.index(say("web.adequacy.which.head"))
        < page.text.index(say("web.adequacy.table.head"))
    )
    assert re.search(
        r"Weekly dose, stdKt/V \d\.\d\d /week Band: \d\.\d\d to \d\.\d\d /week\.",
        page.text,
    )
    assert page.text.count(say("web.adequacy.if_model")) >= 3
    assert "days ago" in page.text
    assert "/review/adequacy/working/standard_dose_by_model" in page.links
    assert sum(link.startswith("/entry/") for link in page.links) >= 2
    assert page.html.count("<svg") == 4
    assert "The clinic wants urea before a treatment: 22.0 mmol/L or less. Northmere Kidney Unit" in page.text


def test_every_other_night_quotes_nothing_made_for_three_a_week(told: Told) -> None:
    page = told.get("/review/adequacy")
    quoted, out = page.html.split("<details>")[0], page.html.split("<details>")[1]
    for key in (
        "urea_reduction",
        "single_pool_dose",
        "renal_clearance_like_thrice",
        "protein_rate_thrice_first",
    ):
        assert f'working/{key}"' not in quoted
        assert f'working/{key}"' in out
    assert say("science.why_thrice") in out
    for key in ("standard_dose", "single_pool_dose_any", "protein_rate_any", "body_water_watson_woman"):
        assert f'working/{key}"' in quoted


def test_each_figure_has_its_working_and_each_working_leads_on(told: Told) -> None:
    page = told.get("/review/adequacy")
    workings = sorted({link for link in page.links if "/working/" in link})
    assert len(workings) > 35
    for link in workings:
        one = told.get(link)
        assert one.status == 200, link
        for further in one.links:
            if further.startswith("/review/adequacy/working/"):
                assert told.get(further).status == 200, further
    week = told.get("/review/adequacy/working/standard_dose")
    assert "10080" in week.text
    assert "/review/adequacy/working/equilibrated_dose_time" in week.links
    single = told.get("/review/adequacy/working/single_pool_dose_any")
    assert any(link.startswith("/entry/") for link in single.links)
    assert any(link.startswith("/sheet/") for link in single.links)
    assert "from memory" in single.text.lower()
    out = told.get("/review/adequacy/working/urea_reduction")
    assert say("web.adequacy.work.not_quoted") in out.text
    assert not re.search(r"\d+ %", out.text.split(say("web.work.formula"))[0])
    fit = told.get("/review/adequacy/working/fit")
    assert fit.text.count("leaflet clearance") == 3
    assert say("own.no_pattern_then") in fit.text, "the first pairs stand with their reason"
    assert told.get("/review/adequacy/working/nothing").status == 404
    assert told.get("/review/adequacy/working/removal_volume").status == 404


def test_urea_in_water_is_told_apart_from_the_laboratory_s(told: Told) -> None:
    text = told.get("/review/adequacy/working/standard_dose_by_model").text
    assert "It is urea in the water of the blood; a laboratory's figure is 0.93 of it." in text


def test_questions_end_the_page_and_hold_no_verdict(told: Told) -> None:
    page = told.get("/review/adequacy")
    asked = page.text[page.text.index(say("web.adequacy.ask.head")) :]
    assert asked.count("?") >= 4
    banned = (
        r"\b(enough dialysis|adequate|inadequate|good|bad|well dialysed|too low|fine|normal|safe|best|ok)\b"
    )
    shown = page.text[page.text.index("Weekly dose") :]
    assert not re.search(banned, shown, re.IGNORECASE)


@pytest.mark.hazard("H62")
def test_from_two_months_on_no_figure_of_now_is_shown(told: Told) -> None:
    told.act(lambda house: told.clock.pass_time(timedelta(days=FRESH_DAYS)))
    page = told.get("/review/adequacy")
    assert say("web.adequacy.old.head") in page.text
    assert "Weekly dose, stdKt/V" not in page.text
    assert say("web.adequacy.table.head") not in page.text
    assert say("web.adequacy.months.head") in page.text
    assert (
        told.get("/review/adequacy/working/standard_dose_by_model").text.count(say("web.work.not_known")) >= 4
    )
