"""A gain over its limit: told when the weight is saved, and on the plan, with figure, limit and whom to ask."""

from __future__ import annotations

from datetime import timedelta
from urllib.parse import urlencode

import pytest

from ebbwell.deeds import setup
from ebbwell.deeds.another_night import NIGHT_WAS_RUN
from ebbwell.sim.household import BRAM
from tests.hazards.home import Home, moved_in
from tests.web.site import Seen, Site, up_to

GAINED = "Look at this: Weight gain since last time is 6.0 % of the target weight. The limit is 4.5 %."
FORM = {"drink": "0.2", "saline": "0", "losses": "0", "start": "22:00"}
ASK = "Ask your unit before you go on."


def next_evening(site: Site) -> None:
    """A usual night that ended at 64.5 kg, and two days later the next one, as far as the weight."""
    site.move_in()
    site.act(lambda house: Home(site.clock, house).whole_night())
    site.clock.pass_time(timedelta(hours=36))
    site.do(setup.open_night, sure=(NIGHT_WAS_RUN,))
    site.act(lambda house: up_to(house, site.clock, "S29"))


def weighed(site: Site, kg: str) -> Seen:
    """The page after the weight was typed and saved."""
    sent = site.fill(site.get("/setup/person"), "/setup/person", S29__weight_before=kg)
    if sent.status != 303:
        sent = site.fill(sent, "/setup/person", as_typed="S29.weight_before")
    assert sent.status == 303, sent.text
    while sent.status == 303:
        sent = site.get(sent.to)
    return sent


@pytest.mark.source("fluids:U7", detail="(68.4 - 64.5) / 64.5 = 6.05 %, over 4.5 %")
def test_a_gain_over_its_limit_is_told_as_soon_as_the_weight_is_saved(site: Site) -> None:
    next_evening(site)
    page = weighed(site, "68.4")
    assert f"{GAINED} {ASK}" in page.text


@pytest.mark.source("fluids:U7", detail="(67.4 - 64.5) / 64.5 = 4.496 %, not over 4.5 %")
def test_a_gain_at_its_limit_is_not_told(site: Site) -> None:
    next_evening(site)
    assert "Weight gain since last time" not in weighed(site, "67.4").text


@pytest.mark.source("fluids:U7", detail="(68.4 - 64.5) / 64.5 = 6.05 %, over 4.5 %")
def test_it_stands_on_the_plan_before_anything_is_worked_out_and_after(site: Site) -> None:
    next_evening(site)
    weighed(site, "68.4")
    site.act(lambda house: up_to(house, site.clock, "S26"))
    assert f"{GAINED} {ASK}" in site.get("/plan").text
    assert site.get("/plan?" + urlencode(FORM)).text.count(GAINED) == 1


@pytest.mark.source("fluids:U7", detail="6.5 kg on 64.5 kg is 10.1 %")
def test_the_deed_itself_finds_it_for_the_keyboard() -> None:
    home = moved_in()
    home.whole_night()
    home.clock.pass_time(timedelta(hours=36))
    home.do(setup.open_night, sure=(NIGHT_WAS_RUN,))
    home.until("S29")
    done = home.house.do(
        setup.measure, by=BRAM, quantity="weight_before", typed="71.0", sure=("outside_near", "past_limit")
    )
    found = {f.rule: dict(f.params) for f in done.findings}
    assert (found["gain_high"]["value"], found["gain_high"]["limit"]) == ("10.1 %", "4.5 %")


def test_a_first_night_has_no_gain_to_tell() -> None:
    home = moved_in()
    home.do(setup.open_night)
    home.until("S29")
    done = home.house.do(
        setup.measure, by=BRAM, quantity="weight_before", typed="71.0", sure=("outside_near", "past_limit")
    )
    assert "gain_high" not in {f.rule for f in done.findings}


@pytest.mark.source(
    "arithmetic",
    detail="96 - 64.5 + 0.3 + 0.2 = 32.0 L; 146.2 lb x 0.45359237 = 66.3 kg; 146.2 - 64.5 + 0.5 = 82.2 L",
)
@pytest.mark.parametrize(
    ("kg", "asked", "litres"),
    [
        ("96", "it would lie between 64 kg and 66.75 kg. Is 96 kg right?", "32.0"),
        ("146.2", "Was that in pounds? It would be 66.3 kg. If so, type that.", "82.2"),
    ],
)
def test_a_weight_beyond_any_body_is_asked_about_kept_and_makes_no_plan(
    site: Site, kg: str, asked: str, litres: str
) -> None:
    next_evening(site)
    first = site.fill(site.get("/setup/person"), "/setup/person", S29__weight_before=kg)
    assert (first.status, asked in first.text) == (409, True)
    assert f"Weight before: {kg} kg" in weighed(site, kg).text
    site.act(lambda house: up_to(house, site.clock, "S26"))
    text = site.get("/plan?" + urlencode(FORM)).text
    assert "A weight or the target can't be right. Weigh again: same scale, hard floor, same clothes." in text
    why = f"Fluid to remove is {litres} L here. This sum works from 0 to 30 L. Look again at the numbers it comes from."
    assert why in text
    assert "removal_l" not in text
    assert "This plan can't be agreed as it is." in text
