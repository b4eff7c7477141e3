"""Heparin on the page of the night: given so far by the plan, the pump held against it, the stop clock."""

from __future__ import annotations

from datetime import timedelta

import pytest

from ebbwell.deeds import night, record
from ebbwell.deeds.connect import connect
from ebbwell.deeds.texts import order_fields
from ebbwell.sim import hands
from ebbwell.sim.homes import HOMES
from ebbwell.sim.household import READING
from tests.web.site import Site

MINUTES = timedelta(minutes=1)


@pytest.mark.source(
    "fluids:3.3",
    detail="0.9 mL/h x 6.5 h = 5.85 mL; 1,500 + 5,850 = 7,350 units; 2 h: 1.8 mL and 1,800 units",
)
def test_what_the_pump_should_have_given_stands_on_the_page(site: Site) -> None:
    site.connect()
    site.clock.pass_time(120 * MINUTES)
    text = site.get("/night").text
    assert (
        "By now the pump should have given 1.80 mL, which is 1800 units. 4.05 mL are still to come." in text
    )
    assert "The first dose is not written down, so it is not counted." in text
    site.do(night.give, what="heparin_first_dose", typed="1500", unit="units")
    assert "With the first dose of 1500 units that makes 3300 units." in site.get("/night").text
    site.clock.pass_time(300 * MINUTES)
    text = site.get("/night").text
    assert "5.85 mL, which is 5850 units. 0.00 mL are still to come." in text
    assert "that makes 7350 units." in text


@pytest.mark.source(
    "arithmetic", detail="7.5 h with a stop 60 min before the end: 6 h 30 min after first blood"
)
def test_the_stop_clock_counts_down_and_then_asks_whether_it_stopped(site: Site) -> None:
    site.connect()
    start = site.clock.now().at
    at = f"{start + timedelta(hours=1) + 390 * MINUTES:%H:%M}"
    site.clock.pass_time(120 * MINUTES)
    assert f"The pump stops at {at}, in 4 h 30 min." in site.get("/night").text
    site.clock.pass_time(290 * MINUTES)
    text = site.get("/night").text
    assert f"The pump was to stop at {at}, 20 min ago. Look: has it stopped?" in text


@pytest.mark.source(
    "arithmetic", detail="20 min off: 1 h 40 min of 0.9 mL/h are 1.5 mL, and the stop is 20 min later"
)
def test_time_off_moves_the_stop_and_counts_for_nothing(site: Site) -> None:
    site.connect()
    start = site.clock.now().at
    site.clock.pass_time(60 * MINUTES)
    site.do(night.go_off)
    site.clock.pass_time(20 * MINUTES)
    site.do(night.go_on)
    site.clock.pass_time(40 * MINUTES)
    text = site.get("/night").text
    assert "should have given 1.50 mL" in text
    assert f"The pump stops at {start + timedelta(hours=1) + 410 * MINUTES:%H:%M}" in text


@pytest.mark.source(
    "fluids:3.3", detail="0 mL after an hour: clamp closed or syringe not seated; 0.2 mL apart is allowed"
)
@pytest.mark.parametrize(
    ("typed", "told"), [("0", True), ("0.6", True), ("0.7", False), ("1.1", False), ("1.2", True)]
)
def test_a_pump_that_is_off_the_plan_is_told(site: Site, typed: str, told: bool) -> None:
    site.connect()
    site.do(order_fields, fields=("venous_pressure", "heparin_given"))
    site.clock.pass_time(60 * MINUTES)
    row = {"heparin_given": typed, "venous_pressure": "120"}
    page = site.fill(site.get("/night/reading"), "/night/reading", **row)
    assert (page.status == 409) is told, "asked about before it is kept"
    if told:
        assert site.fill(page, "/night/reading", as_typed="heparin_given").status == 303
    text = site.get("/night").text
    assert "plan at that time 0.90 mL, without the first dose" in text
    assert ("The heparin pump shows" in text) is told
    assert ("Look at the heparin line, its clamp and the syringe." in text) is told


@pytest.mark.parametrize(
    "name", ["fistula, no heparin, liquid, a chemical used", "catheter, low molecular heparin"]
)
def test_nights_without_a_heparin_pump_show_no_sum_and_no_stop(site: Site, name: str) -> None:
    site.act(lambda house: HOMES[name].open_night(house, site.clock))
    site.act(lambda house: hands.set_up(house, site.clock))
    site.do(connect)
    site.clock.pass_time(60 * MINUTES)
    site.do(night.read, values=dict(READING))
    text = site.get("/night").text
    assert "Heparin off" not in text
    assert "Heparin by the plan" not in text


@pytest.mark.hazard("H29")
def test_a_vial_of_another_strength_found_in_the_night_ends_the_count_of_units(site: Site) -> None:
    site.connect()
    site.do(night.give, what="heparin_first_dose", typed="1500", unit="units")
    site.clock.pass_time(60 * MINUTES)
    fact = site.desk.treatment.at_slot("measured", "heparin_strength", "")[-1]
    site.do(record.correct, of=fact.id, changes={"value": "5000"}, reason="the vial in the bin says 5000")
    text = site.get("/night").text
    assert "The vial was read as 5000 units/mL. The order is for 1000 units/mL." in text
    assert "How many units went in is not counted here. Call your unit." in text
    assert "which is 900 units" not in text
    assert "that makes" not in text
    assert "The pump stops at" in text
