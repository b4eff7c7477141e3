"""A whole night at a real screen, from the first question to the closed sheet."""

from __future__ import annotations

from datetime import timedelta

import pytest

from ebbwell.state.night import Phase
from tests.browser.conftest import Opened
from tests.browser.hand import Hand
from tests.browser.site import Site

WAYS = {
    "phone": {"phone": True, "look": "night"},
    "tablet": {"look": "day"},
    "script off": {"script": False},
    "keyboard": {"look": "night"},
}


@pytest.mark.parametrize("way", WAYS)
def test_a_whole_night(site: Site, browse: Opened, way: str, capsys: pytest.CaptureFixture[str]) -> None:
    site.move_in()
    hand = Hand(site, browse(**WAYS[way]), keys=way == "keyboard")
    hand.begin()
    hand.set_up()
    hand.connect()
    assert site.desk.phase is Phase.RUNNING
    hand.settle()
    site.clock.pass_time(timedelta(hours=7))
    hand.morning()
    summary = site.act(lambda house: list(house.look().past.values()))[-1]
    assert summary.phase == "closed"
    body = site.act(lambda house: house.look(treatment=summary.treatment)).treatment.of("connected")[0].body
    assert len(getattr(body, "satisfied", {})) > 30
    with capsys.disabled():
        print(
            f"\na night by {way}: {hand.taps} taps ({hand.picks} of them answer a question, the rest save a screen or "
            f"lead on), {hand.fields} typed fields, {hand.scans} scans"
        )
    assert hand.scans <= 8
    # regression pins: over the 90 and the 60, since each hold point answered by a pick takes a tap of its own
    assert hand.taps <= 147
    assert hand.fields <= 83
