"""Acid and bicarbonate on the page of the night: left by the sums, run dry when, and what moves that."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from ebbwell.deeds import night, setup
from ebbwell.deeds.connect import connect
from ebbwell.papers.concentrates_now import concentrates_now
from ebbwell.sim import hands
from ebbwell.sim.homes import HOMES
from ebbwell.sim.household import READING
from tests.web.site import Site

MINUTES = timedelta(minutes=1)
SUMMER = timedelta(hours=1)
"""The home's clock is an hour ahead of UTC in April."""


def clock(start: datetime, minutes: int) -> str:
    return f"{start + SUMMER + minutes * MINUTES:%H:%M}"


def read(site: Site, flow: str) -> None:
    sure = ("dialysate_flow:near", "dialysate_flow:outside", "dialysate_flow:outside_own", "dialysate_flow")
    site.do(night.read, values={**READING, "dialysate_flow": flow}, sure=sure)


@pytest.mark.source(
    "arithmetic",
    detail="fluids 2.2: 18 L/h / 35 = 0.5143 L/h; 5 - 0.8 - 2 x 0.5143 = 3.171 L; 4.2 / 0.5143 = 8 h 10 min. Powder"
    " 35 x 0.084007 x 18 = 52.92 g/h; 650 - 105.8 = 544 g; 90 % of 650 / 52.92 = 11 h 03 min. End after 7 h 30 min",
)
def test_what_is_left_and_when_it_runs_dry_stands_on_the_page(site: Site) -> None:
    site.connect()
    start = site.clock.now().at
    site.clock.pass_time(120 * MINUTES)
    text = site.get("/night").text
    assert "No flow of the fluid was read yet. The sums go by the ordered 300 mL/min." in text
    assert (
        f"Acid: 3.17 L left now. At that flow it runs dry at {clock(start, 490)}, 40 min after the end."
        in text
    )
    dry = clock(start, 663)
    assert (
        f"Dry bicarbonate: 544 g left now. At that flow it runs dry at {dry}, 3 h 33 min after the end."
        in text
    )
    assert "The last 10 % of the dry bicarbonate do not count for that" in text
    assert "What you see in the can goes before them." in text
    assert "Time off counts" not in text


@pytest.mark.source(
    "arithmetic",
    detail="3.6857 L left after 1 h; 500 mL/min: 30 / 35 = 0.8571 L/h, 4.3 h more: 5 h 18 min, 2 h 12 min early",
)
def test_another_flow_that_was_read_moves_it(site: Site) -> None:
    site.connect()
    start = site.clock.now().at
    site.clock.pass_time(60 * MINUTES)
    read(site, "500")
    text = site.get("/night").text
    assert f"The flow of the fluid was last read at {clock(start, 60)}: 500 mL/min." in text
    dry = clock(start, 318)
    assert f"Acid: 3.68 L left now. At that flow it runs dry at {dry}, 2 h 12 min before the end." in text
    site.clock.pass_time(60 * MINUTES)
    assert f"Acid: 2.82 L left now. At that flow it runs dry at {dry}" in site.get("/night").text
    site.clock.pass_time(240 * MINUTES)
    assert "Acid: 0.00 L left now. By the sum it has run dry. Look at it." in site.get("/night").text


@pytest.mark.source(
    "arithmetic", detail="20 min off: the end is 20 min later, the can is not: 8 h 10 min against 7 h 50 min"
)
def test_time_off_brings_the_end_nearer_to_where_it_runs_dry(site: Site) -> None:
    site.connect()
    start = site.clock.now().at
    site.clock.pass_time(60 * MINUTES)
    site.do(night.go_off)
    site.clock.pass_time(20 * MINUTES)
    site.do(night.go_on)
    site.clock.pass_time(40 * MINUTES)
    text = site.get("/night").text
    assert (
        f"Acid: 3.17 L left now. At that flow it runs dry at {clock(start, 490)}, 20 min after the end."
        in text
    )
    assert "Time off counts as if the fluid ran on." in text


@pytest.mark.source("arithmetic", detail="3 h after first blood: 4.2 - 1.543 = 2.657 L; 650 - 158.8 = 491 g")
def test_the_hours_to_come_are_listed(site: Site) -> None:
    site.connect()
    start = site.clock.now().at
    site.clock.pass_time(150 * MINUTES)
    text = site.get("/night").text
    assert f"{clock(start, 180)}: 2.65 L, 491 g" in text
    found = concentrates_now(site.desk)
    assert found is not None
    assert [at for at, _ in found.by_hour] == [start + number * 60 * MINUTES for number in (3, 4, 5, 6, 7)]


def test_a_flow_of_nothing_gives_no_time(site: Site) -> None:
    site.connect()
    site.clock.pass_time(60 * MINUTES)
    read(site, "0")
    assert "Acid: 3.68 L left now. At that flow no time can be worked out." in site.get("/night").text


@pytest.mark.source(
    "arithmetic", detail="a new can of 5.0 L after 2 h; 1 h later 5 - 0.5143 = 4.485 L, no start-up draw"
)
def test_a_changed_can_is_not_known_until_it_was_measured(site: Site) -> None:
    site.connect()
    start = site.clock.now().at
    site.clock.pass_time(120 * MINUTES)
    site.do(setup.happened, what="concentrate_changed")
    text = site.get("/night").text
    assert f"Acid: changed at {clock(start, 120)}, and not measured since. What is left is not known." in text
    held = tuple(fact.id for fact in site.desk.treatment.at_slot("measured", "acid_left", ""))
    site.clock.pass_time(MINUTES)
    site.do(setup.measure, quantity="acid_left", typed="5.0", instead_of=held)
    site.clock.pass_time(60 * MINUTES)
    assert "Acid: 4.48 L left now." in site.get("/night").text


@pytest.mark.source(
    "fluids:F1",
    detail="1 : 1.225 : 32.775; 18 L/h x 1.225 / 35 = 0.63 L/h; start-up 0.8 x 1.225 = 0.98 L; 10 - 0.98 - 0.63 = 8.39"
    " L after 1 h; 8.39 / 0.63 = 13 h 19 min, so 14 h 19 min after first blood, 6 h 49 min after the end; for the night"
    " (3.857 + 0.8) x 1.225 = 5.71 L",
)
def test_liquid_bicarbonate_has_its_own_clock_and_no_powder(site: Site) -> None:
    name = "fistula, no heparin, liquid, a chemical used"
    site.act(lambda house: HOMES[name].open_night(house, site.clock))
    site.act(lambda house: hands.set_up(house, site.clock))
    plan = site.get("/plan").text
    assert "Liquid bicarbonate for tonight 5.71 L" in plan
    assert "For a mix of 35 parts in all, 1.225 parts of bicarbonate to 1 part of acid are usual." in plan
    site.do(connect)
    start = site.clock.now().at
    site.clock.pass_time(60 * MINUTES)
    text = site.get("/night").text
    assert "Acid: " in text
    dry = f"At that flow it runs dry at {clock(start, 859)}, 6 h 49 min after the end."
    assert f"Liquid bicarbonate: 8.39 L left now. {dry}" in text
    assert "Dry bicarbonate" not in text
