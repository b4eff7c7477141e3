"""Questions for the clinic, and if nothing changes: over a record with bloods, and over one that has none."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import TypeVar
from urllib.parse import urlencode

import httpx
import pytest

from ebbwell.core.clock import SetClock
from ebbwell.core.ids import SeededIds
from ebbwell.core.text import say
from ebbwell.deeds import comeoff, setup
from ebbwell.deeds.connect import connect
from ebbwell.house import House
from ebbwell.review.patterns import compare
from ebbwell.sim import hands
from ebbwell.sim.story import tell
from ebbwell.web.app import create_app
from ebbwell.web.keeper import Keeper
from ebbwell.web.pages.compare.page import line_cells
from tests.review.bases import usual
from tests.web.site import Seen, Site
from tests.web.test_heparin_review import BEDSIDE

T = TypeVar("T")
SIX = {"name1": "six nights", "kind1": "week", "hours1": "6,5", **{f"day1.{n}": "1" for n in range(6)}}
FASTER = {"name2": "more fluid", "kind2": "other", "fluid2": "500"}


class Told:
    """The pages over the story, which has bloods every four weeks; its clock stands before the night of 29 April."""

    def __init__(self, folder: Path) -> None:
        story = tell(folder)
        self.clock: SetClock = story.clock()
        self.keeper = Keeper(lambda: House.open(story.path, self.clock, SeededIds(1), create=False))
        self.app = create_app(self.keeper, ("story",))

    def act(self, what: Callable[[House], T]) -> T:
        return self.keeper.at_once(what)

    def get(self, path: str, **query: str) -> Seen:
        async def look() -> httpx.Response:
            transport = httpx.ASGITransport(self.app)
            async with httpx.AsyncClient(transport=transport, base_url="http://story") as client:
                return await client.get(f"{path}?{urlencode(query)}" if query else path)

        answer = asyncio.run(look())
        return Seen(answer.status_code, answer.text, answer.headers)

    def questions(self, **typed: str) -> Seen:
        return self.get("/review/questions", **typed)


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Told]:
    made = Told(Path(tmp_path_factory.mktemp("story")))
    yield made
    made.keeper.close()


def cells(page: Seen, title: str) -> list[str]:
    """The figures of one row of the table."""
    row = next(row for row in re.findall(r'<tr role="row">(.*?)</tr>', page.html) if title in row)
    return re.findall(r'<td role="cell" data-head=".*?"(?: class="whole")?>(.*?)</td>', row)


@pytest.mark.hazard("H62")
def test_both_pages_say_that_it_is_a_model_and_name_what_is_lacking(site: Site) -> None:
    site.move_in()
    for path in ("/review/questions", "/review/outlook"):
        page = site.get(path)
        assert page.status == 200
        assert "If the model holds. It was never tested on you." in page.text
        assert say("review.lacking") in page.text
        assert say("own.no_pairs") in page.text
        assert "<svg" not in page.html


def test_the_present_pattern_stands_first_and_the_typed_ones_in_their_order(told: Told) -> None:
    page = told.questions(**SIX, **FASTER)
    assert page.status == 200
    heads = re.findall(r'<th scope="col" role="columnheader">(.*?)</th>', page.html)
    assert heads[1:] == [say("web.compare.now"), "six nights", "more fluid"]
    turned = {key.replace("1", "9").replace("2", "1", 1): value for key, value in FASTER.items()}
    again = told.questions(**turned, **{k.replace("1", "2", 1): v for k, v in SIX.items()})
    heads = re.findall(r'<th scope="col" role="columnheader">(.*?)</th>', again.html)
    assert heads[1:] == [say("web.compare.now"), "more fluid", "six nights"]


def test_figures_are_bands_in_words_and_what_follows_from_the_pattern_stands_plain(told: Told) -> None:
    page = told.questions(**SIX, **FASTER)
    for words in cells(page, "Weekly dose") + cells(page, "Urea, mean over") + cells(page, "Phosphate"):
        low, high, middle = map(float, re.fullmatch(r"(.*) to (.*), middle (.*)", words).groups())  # type: ignore[union-attr]
        assert low <= middle <= high
    assert cells(page, "Hours on the machine") == ["26.3", "39", "26.3"]
    assert cells(page, "Needles") == ["7", "12", "7"]
    assert cells(page, "Dialysis fluid, L/week") == ["473", "702", "788"]
    urea = [float(words.split(" middle ")[1]) for words in cells(page, "Urea, mean over")]
    assert urea[1] < urea[2] < urea[0]


def test_each_figure_has_a_picture_with_its_words_and_says_what_it_rests_on(told: Told) -> None:
    page = told.questions(**SIX)
    assert page.html.count("<svg") == 16
    assert page.html.count('class="draw-name">six nights') == 16
    assert "10 % either way (common practice, no source)" in page.text
    assert "from memory, not checked" in page.text
    assert page.text.count(say("review.if_model")) == 2
    assert re.search(r"From 3 pairs of bloods, the newest of 27 April 2026, 2 days ago\.", page.text)


def test_what_was_typed_stays_and_what_cannot_be_read_is_said_beside_its_field(told: Told) -> None:
    page = told.questions(name1="ours", kind1="week", hours1="eight", blood1="20", **FASTER)
    assert page.status == 409
    assert 'value="eight"' in page.html
    assert 'value="more fluid"' in page.html
    assert 'id="hours1-why"' in page.html
    assert cells(page, "Needles") == ["7"], "the present pattern alone stands, until all can be read"
    none = told.questions(name1="ours", kind1="week")
    assert say("review.pattern_no_days", name="ours") in none.text
    assert 'id="kind1-why"' in none.html
    for typed, words in (
        ({"hours1": "0"}, "0 hours a night"),
        ({"blood1": "20"}, "blood flow of 20 mL/min"),
        ({"kind1": ""}, say("web.compare.no_kind", name="ours")),
    ):
        page = told.questions(**{"name1": "ours", "kind1": "other", **typed})
        assert page.status == 409
        assert words in page.text


@pytest.mark.parametrize(
    ("typed", "field", "words"),
    [
        ({"kind1": "other", "hours1": "eight"}, "hours1", "Hours of one night: Enter just the number"),
        (
            {"kind1": "other", "hours1": "7:30"},
            "hours1",
            "Hours of one night: 7:30 can't be read here. Enter a number in h.",
        ),
        ({"kind1": "other", "day1.2": "1"}, "kind1", say("web.compare.days_left_over.other", name="ours")),
        (
            {"kind1": "week", "day1.2": "1", "day1.9": "1"},
            "kind1",
            say("web.compare.days_left_over.week", name="ours"),
        ),
        (
            {"kind1": "other", "kind2": "other", "name2": "ours"},
            "name2",
            say("web.compare.name_twice", name="ours"),
        ),
    ],
)
def test_nothing_typed_is_passed_over(told: Told, typed: dict[str, str], field: str, words: str) -> None:
    page = told.questions(name1="ours", **typed)
    assert page.status == 409
    assert words in page.text
    assert f'id="{field}-why"' in page.html
    assert say("web.compare.not_yet") in page.text
    assert say("web.not_kept") not in page.text, "nothing of a comparison is ever kept"


def test_hours_may_be_typed_with_their_unit(told: Told) -> None:
    page = told.questions(name1="ours", kind1="other", hours1="8 h", blood1="200 mL/min")
    assert page.status == 200
    assert "8 h, blood flow 200 mL/min" in page.text


def test_one_reason_for_all_patterns_is_told_once() -> None:
    bare = replace(usual(), koa_ml_min={"urea": 480.0})
    two = compare(bare, [bare.present, replace(bare.present, name="two", hours=6.0)])
    assert line_cells("phosphate_before", two)[1] == [say("review.not_known.no_clearance")]
    assert len(line_cells("urea_mean", two)[1]) == 2
    once = replace(bare.present, name="once", days=(0,), cycle_days=7)
    title, cells_of = line_cells("standard_dose", compare(bare, [bare.present, once]))
    assert "stdKt/V" in title
    assert cells_of[1] == say("review.not_known.too_few_nights")
    assert cells_of[0] != cells_of[1]


def test_words_typed_as_a_name_are_shown_as_words(told: Told) -> None:
    page = told.questions(name1="<b>Sunday & more</b>", kind1="other")
    assert "<b>Sunday" not in page.html
    assert page.html.count("&lt;b&gt;Sunday &amp; more&lt;/b&gt;") > 3


def test_nights_of_two_weeks_are_told_by_their_days(told: Told) -> None:
    days = {f"day1.{n}": "1" for n in (0, 3, 8, 12)}
    page = told.questions(name1="two weeks", kind1="two", **days)
    assert "first week Mon, Thu; second week Tue, Sat" in page.text
    assert cells(page, "Treatments") == ["3.5", "2"]


def test_no_word_of_a_verdict_stands_on_either_page(told: Told) -> None:
    texts = told.questions(**SIX, **FASTER).text + told.get("/review/outlook").text
    left = texts.replace(say("web.compare.no_verdict"), "")
    assert not re.search(
        r"\b(best|better|worse|recommend\w*|ideal|optimal|enough|adequate|target)\b", left, re.I
    )
    assert "green" not in told.questions(**SIX).html


def test_levels_are_told_night_by_night_from_now_on(told: Told) -> None:
    page = told.get("/review/outlook")
    assert page.status == 200
    assert page.html.count("<svg") == 8
    for name in ("urea", "phosphate", "potassium", "bicarbonate"):
        assert say(f"web.outlook.substance.{name}") in page.text
        assert say(f"solute.{name}.limits") in page.text
    assert page.text.count("From the blood result of 27 April 2026 on, 2 days ago.") == 4
    rows = re.findall(r"<tr><td>(.*?)</td><td>(.*?)</td><td>(.*?)</td></tr>", page.html)
    assert rows[0][0] == "29 April 2026"
    assert rows[13][0] == "25 May 2026"
    assert len(rows) == 4 * 14


def test_no_projection_is_shown_after_a_missed_night(told: Told) -> None:
    start = told.clock.now().at
    try:
        told.clock.pass_time(timedelta(hours=24))
        page = told.get("/review/outlook")
        assert say("review.hidden.missed") in page.text
        assert say("web.outlook.ask") in page.text
        assert "<svg" not in page.html
        assert "<td>" not in page.html
    finally:
        told.clock.pass_time(start - told.clock.now().at)


@pytest.mark.hazard("H62")
def test_nothing_of_either_page_stands_at_the_bedside(site: Site) -> None:
    site.move_in()
    site.do(setup.open_night)
    keys = (
        "web.compare.how",
        "web.compare.no_verdict",
        "web.outlook.how",
        "web.outlook.never",
        "review.if_model",
    )
    words = [say(key, weeks=4) for key in keys]

    def clean() -> None:
        for path in BEDSIDE:
            page = site.get(path)
            while page.status == 303:
                page = site.get(page.to)
            assert not [one for one in words if one in page.text], path

    clean()
    site.act(lambda house: hands.set_up(house, site.clock))
    site.do(connect)
    site.clock.pass_time(timedelta(hours=7))
    clean()
    site.do(comeoff.come_off)
    clean()
