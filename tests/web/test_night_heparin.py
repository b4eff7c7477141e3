"""Heparin on the page of the night: given so far by the plan, the pump held against it, the stop clock."""

from __future__ import annotations

from datetime import timedelta

import pytest

from ebbwell.deeds import night, setup
from ebbwell.deeds.connect import connect
from ebbwell.deeds.texts import order_fields
from ebbwell.papers.heparin_now import heparin_lines
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


def _found(site: Site, vial: str, **also: str) -> None:
    """The carer goes from the night page to the strength that was read, and types what the vial in the bin says."""
    fact = site.desk.treatment.at_slot("measured", "heparin_strength", "")[-1]
    there = f"/entry/{fact.id}"
    assert there in site.get("/night").links
    sent = {"change.value": vial, "reason": "the vial in the bin says so", **also}
    assert site.fill(site.get(there), there, **sent).status == 303


def _told(site: Site, *words: str) -> None:
    """That these stand on the night page and at the keyboard."""
    keyboard = " ".join(heparin_lines(site.desk)).replace("\u00a0", " ")
    page = site.get("/night").text
    for said in words:
        assert page.count(said) == 1, said
        assert keyboard.count(said) == 1, said


@pytest.mark.hazard("H29")
@pytest.mark.source(
    "arithmetic",
    detail="5 h: 0.9 mL/h x 5 h = 4.5 mL; x 5,000 = 22,500 units; 1,500 / 1,000 = 1.5 mL, x 5,000 = 7,500;"
    " 22,500 + 7,500 = 30,000; by the order 4,500 + 1,500 = 6,000",
)
def test_a_vial_of_another_strength_found_in_the_night_is_counted_as_it_was_read(site: Site) -> None:
    site.connect()
    site.do(night.give, what="heparin_first_dose", typed="1500", unit="units")
    site.clock.pass_time(timedelta(hours=5))
    _found(site, "5000")
    _told(
        site,
        "Counted with 5000 units/mL, as the vial was read. The order is for 1000.",
        "By now the pump should have given 4.50 mL, which is 22 500 units. 1.35 mL are still to come.",
        "The first dose was written down as 1500 units. If it was 1.5 mL of that vial, it was 7500 units."
        " Then it makes 30 000 units in all by now. By the order it would be 6000 units.",
        "Nobody measured these units. Call your unit now. Tell them these figures and what the heparin pump shows.",
        "The pump stops at",
    )
    text = site.get("/night").text
    assert "Call now: The heparin in hand is 5000 units/mL. The prescription says 1000 units/mL." in text
    assert "which is 4500 units" not in text


@pytest.mark.hazard("H29")
@pytest.mark.source(
    "arithmetic", detail="2 h: 0.9 x 2 = 1.8 mL; x 25,000 = 45,000; 1.5 x 25,000 = 37,500; 82,500 in all"
)
def test_a_vial_of_twenty_five_times_the_strength_is_counted_too(site: Site) -> None:
    site.connect()
    site.clock.pass_time(timedelta(hours=2))
    _found(site, "25000")
    _told(
        site,
        "given 1.80 mL, which is 45 000 units",
        "The first dose is not written down",
        "Call your unit now.",
    )
    site.do(night.give, what="heparin_first_dose", typed="1500", unit="units")
    _told(
        site, "it was 37 500 units. Then it makes 82 500 units in all by now. By the order it would be 3300"
    )


@pytest.mark.hazard("H29")
def test_where_two_strengths_stand_no_units_are_counted(site: Site) -> None:
    site.connect()
    site.do(night.give, what="heparin_first_dose", typed="1500", unit="units")
    site.clock.pass_time(timedelta(hours=1))
    site.do(setup.measure, quantity="heparin_strength", typed="5000")
    _told(
        site,
        "The vial was read as 1000 / 5000 units/mL. The order is for 1000 units/mL."
        " How many units went in is not counted here. Call your unit.",
    )
    assert "which is 900 units" not in site.get("/night").text


@pytest.mark.hazard("H29")
def test_a_strength_that_was_read_rightly_after_all_is_counted_as_ordered(site: Site) -> None:
    site.connect()
    site.do(night.give, what="heparin_first_dose", typed="1500", unit="units")
    site.clock.pass_time(timedelta(hours=1))
    _found(site, "5000")
    _found(site, "1000")
    _told(
        site, "given 0.90 mL, which is 900 units", "With the first dose of 1500 units that makes 2400 units."
    )
    assert "as the vial was read" not in site.get("/night").text
