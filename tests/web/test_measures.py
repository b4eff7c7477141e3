"""Kilograms or pounds: choosing, who may, and that each field says the unit that its bare number is read in."""

from __future__ import annotations

import re

import pytest

from ebbwell.core.text import say
from ebbwell.deeds import night, setup
from ebbwell.deeds.units import choose_units
from ebbwell.journal.kinds.units import UnitsChosen
from ebbwell.papers.describe import describe
from ebbwell.sim.elsewhere import written_elsewhere
from ebbwell.state.units import chosen_units
from tests.web.site import Site, up_to

YARD = {"weight": "lb", "temperature": "F", "glucose": "mg/dL"}


def choose(site: Site) -> None:
    site.do(choose_units, **YARD)


def test_what_is_chosen_is_kept_and_said(site: Site) -> None:
    site.move_in()
    page = site.get("/measures")
    assert page.form("/measures").fields["weight"] == ["kg"]
    assert page.form("/measures").fields["glucose"] == [""]
    assert site.fill(page, "/measures", **YARD).to.startswith("/measures")
    assert chosen_units(site.desk.standing) == tuple(YARD.items())
    page = site.get("/measures")
    assert "Body weight : pounds (lb)" in page.text
    assert "Chosen by Bram Venn on 29 April 2026." in page.text
    assert page.form("/measures").fields["temperature"] == ["F"]


def test_it_is_found_from_the_first_page(site: Site) -> None:
    site.move_in()
    assert "/measures" in site.get("/").links


@pytest.mark.parametrize("typed", [{**YARD, "weight": "stone"}, {"weight": "kg", "temperature": "kg"}])
def test_a_unit_that_is_none_of_them_is_not_kept(site: Site, typed: dict[str, str]) -> None:
    site.move_in()
    rows = site.rows
    assert site.post("/measures", typed).status == 409
    assert site.rows == rows


@pytest.mark.parametrize(("who", "may"), [("bram", True), ("ilka", True), ("tove", False), ("ann", False)])
def test_who_may_choose(site: Site, who: str, may: bool) -> None:
    site.move_in()
    site.who = who
    page = site.get("/measures")
    assert ("/measures" in {form.action for form in page.forms}) is may
    assert (site.post("/measures", YARD).status == 303) is may


@pytest.mark.hazard("H6")
def test_in_an_open_night_there_is_no_form(site: Site) -> None:
    site.open_night()
    page = site.get("/measures")
    assert say("refuse.units_tonight") in page.text
    assert "/measures" not in {form.action for form in page.forms}
    assert site.post("/measures", YARD).status == 409


@pytest.mark.hazard("H6")
def test_two_choices_are_settled_by_picking_one(site: Site) -> None:
    site.move_in()
    choose(site)
    mine = site.desk.standing.of("units_chosen")[0].id
    other = UnitsChosen(weight="kg", temperature="C")
    site.act(lambda house: house.take_in([written_elsewhere(house, None, other)]))
    page = site.get("/measures")
    assert say("web.measures.two") in page.text
    link = next(one for one in page.links if one.startswith("/settle/"))
    settling = site.get(link)
    assert "lb, F, mg/dL" in settling.text
    sent = site.fill(settling, link, holds=mine, reason="we weigh in pounds")
    assert sent.status == 303
    assert dict(chosen_units(site.desk.standing)) == YARD


def test_the_weighing_field_says_pounds_and_reads_them(site: Site) -> None:
    site.move_in()
    choose(site)
    site.do(setup.open_night)
    site.act(lambda house: up_to(house, site.clock, "S29"))
    page = site.get("/setup/person")
    beside = re.search(r'name="S29\.weight_before"[^>]*><span>([^<]*)</span>', page.html)
    assert beside is not None
    assert beside[1] == "lb"
    assert site.fill(page, "/setup/person", S29__weight_before="146.2").status == 303
    (held,) = site.desk.treatment.at_slot("measured", "weight_before", "")
    assert describe(held.body).endswith("146.2 lb = 66.3 kg")
    assert "146.2 lb = 66.3 kg" in site.get(f"/entry/{held.id}").text


@pytest.mark.hazard("H6")
def test_kilograms_typed_into_the_field_for_pounds_are_asked_about(site: Site) -> None:
    site.move_in()
    choose(site)
    site.do(setup.open_night)
    site.act(lambda house: up_to(house, site.clock, "S29"))
    sent = site.fill(site.get("/setup/person"), "/setup/person", S29__weight_before="66.3")
    assert sent.status == 409
    assert "66.3 lb" in sent.text
    assert "66.3 kg" in sent.text
    assert sent.form("/setup/person").fields["S29.weight_before"] == ["66.3"]
    assert not site.desk.treatment.at_slot("measured", "weight_before", "")


def test_a_row_is_labelled_and_read_in_fahrenheit(site: Site) -> None:
    site.move_in()
    choose(site)
    site.do(setup.open_night)
    site.do(night.read, values={"body_temperature": "98.6"})
    fact = site.desk.treatment.of("reading")[0]
    page = site.get(f"/entry/{fact.id}")
    assert "98.6 F = 37.0 C" in page.text
    assert "<span>F</span>" in page.html


def test_the_prescription_is_typed_and_shown_in_pounds(site: Site) -> None:
    site.move_in()
    choose(site)
    assert "142.2 lb (64.5 kg)" in site.get("/prescription").text
    page = site.get("/prescription/new")
    beside = re.search(r'<span id="line\.target_weight-unit">([^<]*)</span>', page.html)
    assert beside is not None
    assert beside[1].split()[0] == "lb"


def test_the_paper_night_has_blanks_in_the_chosen_units(site: Site) -> None:
    site.move_in()
    assert re.search(r"Weight before\s+kg", site.get("/paper-night").text)
    choose(site)
    assert re.search(r"Weight before\s+lb", site.get("/paper-night").text)
