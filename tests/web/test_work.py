"""The working of every figure: inputs with where each came from, unknown shown as unknown, the source."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from ebbwell.core.text import say
from ebbwell.deeds import orders, setup
from ebbwell.deeds.plan import draught
from ebbwell.science import catalogue
from ebbwell.sim.household import ILKA, UNIT, ZONE
from ebbwell.web.pages.work.inputs import FROM
from tests.web.site import Site
from tests.web.test_plan import USUAL, agree

QUERY = "?drink=0.2&saline=0&losses=0&start=22:00"


@pytest.fixture
def weighed(site: Site) -> Site:
    """A night that has come to its plan."""
    site.until("S26")
    return site


@pytest.mark.source("arithmetic", detail="66.3 - 64.5 + 0.3 + 0.2 = 2.3 L")
def test_each_input_stands_with_its_unit_and_where_it_came_from(weighed: Site) -> None:
    page = weighed.get(f"/working/removal_volume{QUERY}")
    assert page.status == 200
    for words in (
        "= 2.30 L Digits after the point: 2, rounded to the nearest.",
        "(weight before - target weight) x 1 L/kg + rinse-back",
        "Weight before 66.3 kg Typed by Bram Venn, 20:",
        "Target weight 64.5 kg Prescription 3 from Northmere Kidney Unit, the home team, typed 29 April 2026",
        "Food and drink during treatment 0.2 L Expected tonight, typed with the plan",
        "(fluids:U1)",
    ):
        assert words in page.text
    weight = weighed.desk.treatment.at_slot("measured", "weight_before", "")[0]
    assert f"/entry/{weight.id}" in page.links


def test_what_is_not_known_is_shown_as_not_known(weighed: Site) -> None:
    page = weighed.get("/working/removal_volume")
    assert "= not known Not known yet: food and drink during treatment." in page.text
    assert "Food and drink during treatment not known Nobody has typed it yet" in page.text
    rate = weighed.get("/working/removal_rate")
    assert "= not known Not known yet: food and drink during treatment." in rate.text


def test_a_figure_of_the_agreed_plan_says_what_was_agreed(weighed: Site) -> None:
    agree(weighed)
    page = weighed.get("/working/removal_rate")
    assert "= 306.7 mL/h" in page.text
    assert "Agreed in tonight's plan: 306.7 mL/h." in page.text
    assert "/working/fits_tonight" in page.links


@pytest.mark.hazard("H2")
def test_a_void_plan_gives_no_figure(weighed: Site) -> None:
    agree(weighed)
    held = tuple(f.id for f in weighed.desk.treatment.at_slot("measured", "weight_before", ""))
    weighed.do(setup.measure, quantity="weight_before", typed="66.5", instead_of=held)
    page = weighed.get("/working/removal_rate")
    assert "The plan no longer holds." in page.text
    assert "= not known" in page.text
    assert "306.7" not in page.text


def test_a_setting_leads_to_the_figure_that_it_is(weighed: Site) -> None:
    page = weighed.get(f"/working/fluid_to_remove{QUERY}")
    assert "= 2.30 L Digits after the point: 2, rounded down." in page.text
    assert "the smaller of removal volume and cap volume" in page.text
    assert f"/working/cap_volume{QUERY.replace(':', '%3A')}" in page.links


@pytest.mark.source("arithmetic", detail="22:00 + 450 min - 60 min = 04:30")
def test_a_clock_time_has_its_working_too(weighed: Site) -> None:
    page = weighed.get(f"/working/heparin_stop_at{QUERY}")
    assert "= 04:30" in page.text
    assert "First blood, as expected 22:00" in page.text
    assert "Heparin stops before the end 60 min Prescription 3" in page.text
    assert (
        "= not known Type on the plan page when blood will start to run."
        in weighed.get("/working/finish_at").text
    )


def test_once_blood_runs_a_clock_time_counts_from_first_blood(site: Site) -> None:
    site.connect()
    begun = site.clock.now().at
    site.clock.pass_time(timedelta(hours=1))
    page = site.get("/working/finish_at")
    ends = (begun + timedelta(minutes=450)).astimezone(ZoneInfo(ZONE)).strftime("%H:%M")
    assert f"= {ends}" in page.text
    assert f"First blood {begun.astimezone(ZoneInfo(ZONE)):%H:%M} From tonight's record" in page.text
    stops = (begun + timedelta(minutes=390)).astimezone(ZoneInfo(ZONE)).strftime("%H:%M")
    assert f"= {stops}" in site.get("/working/heparin_stop_at").text


def test_a_line_changed_by_phone_names_who_said_it(weighed: Site) -> None:
    done = weighed.do(orders.amend_line, line="removal_cap", value="8", giver="Sister Aun", read_back="8")
    weighed.do(orders.check_order, by=ILKA, of=done.entries[0], values={"removal_cap": "8"}, how="person")
    page = weighed.get("/working/cap_volume")
    assert "Removal cap 8 mL/kg/h Changed on the word of Sister Aun" in page.text
    assert "/prescription#line-removal_cap" in page.links


@pytest.mark.parametrize("name", [*catalogue.names(), "finish_at", "heparin_stop_at", "fluid_to_remove"])
def test_every_formula_has_a_page_with_its_source(site: Site, name: str) -> None:
    page = site.get(f"/working/{name}")
    assert page.status == 200
    assert "= not known" in page.text
    assert "Where the sum comes from" in page.text
    for one in catalogue.formula_named(name).inputs if name in catalogue.names() else ():
        words = say(f"input.{one.name}")
        assert f"{words[:1].upper()}{words[1:]}" in page.text


def test_a_name_that_is_no_figure_says_so(site: Site) -> None:
    page = site.get("/working/shoe_size")
    assert page.status == 404
    assert "/working" in page.links


def test_the_list_of_workings_has_every_formula_once(weighed: Site) -> None:
    page = weighed.get(f"/working{QUERY}")
    linked = [
        link.partition("?")[0].removeprefix("/working/")
        for link in page.links
        if link.startswith("/working/")
    ]
    assert sorted(linked) == sorted([*catalogue.names(), "finish_at", "heparin_stop_at"])
    assert "Removal rate 306.7 mL/h" in page.text


def test_where_an_input_is_said_to_come_from_another_figure_it_is_that_figure(weighed: Site) -> None:
    worked = draught(weighed.desk, drink=Decimal(USUAL["drink"]), start_at=weighed.clock.now().at)
    compared = 0
    for (name, key), before in FROM.items():
        line, origin = worked.line(name), worked.line(before)
        if line is None or origin is None or line.value is None:
            continue
        assert next(one.value for one in line.inputs if one.name == key) == origin.value, (name, key)
        compared += 1
    assert compared >= 12


def test_the_units_own_figure_is_named_as_such(site: Site) -> None:
    site.until("S29")
    site.do(setup.measure, quantity="weight_before", not_measured="the scale is broken")
    page = site.get(f"/working/removal_rate{QUERY}&removal_by_unit=2")
    assert "= 266.7 mL/h" in page.text
    assert "The unit's figure, typed with the plan" in page.text
    assert "= 2.00 L" in site.get(f"/working/fits_tonight{QUERY}&removal_by_unit=2").text


def test_working_of_tonight_without_an_order_in_force_is_not_known(weighed: Site) -> None:
    weighed.do(orders.amend_line, line="removal_cap", value="8", giver=UNIT, read_back="8")
    assert "= not known" in weighed.get(f"/working/removal_rate{QUERY}").text


def test_looking_writes_nothing(weighed: Site) -> None:
    before = weighed.rows
    for name in ("", "/removal_rate", "/finish_at", "/shoe_size"):
        weighed.get(f"/working{name}")
    assert weighed.rows == before
