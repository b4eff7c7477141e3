"""The page of past pressures: own level at one flow, nights in a chart and in words, what a slipped needle costs."""

from __future__ import annotations

import asyncio
from pathlib import Path

import httpx
import pytest

from ebbwell.core.ids import SeededIds
from ebbwell.house import House
from ebbwell.sim.story import tell
from ebbwell.web.app import create_app
from ebbwell.web.keeper import Keeper
from tests.web.site import Seen, Site


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Seen:
    """The page over the invented story."""
    story = tell(Path(tmp_path_factory.mktemp("story")))
    keeper = Keeper(lambda: House.open(story.path, story.clock(), SeededIds(1), create=False))
    app = create_app(keeper, ("story",))

    async def look() -> httpx.Response:
        transport = httpx.ASGITransport(app)
        async with httpx.AsyncClient(transport=transport, base_url="http://story") as client:
            return await client.get("/pressures")

    answer = asyncio.run(look())
    keeper.close()
    return Seen(answer.status_code, answer.text, answer.headers)


def test_own_levels_and_nights_stand_with_their_flow(told: Seen) -> None:
    assert told.status == 200
    assert "Own venous pressure at 230 mL/min: 1" in told.text
    assert "the middle of the last 8 nights." in told.text
    assert told.text.count("Blood flow: 230 mL/min") >= 30
    assert told.html.count("<svg") == 2


@pytest.mark.source(
    "arithmetic",
    detail="fluids 5.5: 677.25 and 1,806 mL of 4,515, at 230 mL/min: 2.94 and 7.85 min, cut",
)
def test_a_slipped_needle_is_worked_out_for_the_order(told: Seen) -> None:
    assert "At 230 mL/min the pump loses 230 mL of blood in each minute." in told.text
    assert "At 64.5 kg, 15 % of the blood is gone after 2.9 min, and 40 % after 7.8 min." in told.text
    assert "a quiet machine does not tell you that the needle is in" in told.text


def test_without_nights_it_says_so(site: Site) -> None:
    text = site.get("/pressures").text
    assert "No pressure was read on a past night." in text
    assert "No blood flow is ordered" in text
    site.move_in()
    assert "Own venous pressure at 230 mL/min: not known, too few nights." in site.get("/pressures").text
