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
    assert told.text.count(" 230 mL/min not known ") >= 30
    assert told.html.count("<svg") == 4


def test_without_nights_it_says_so(site: Site) -> None:
    text = site.get("/pressures").text
    assert "No pressure was read on a past night." in text
    assert "No blood flow is ordered" in text
    site.move_in()
    assert "Own venous pressure at 230 mL/min: not known, too few nights." in site.get("/pressures").text
