"""A night on paper: what was ordered, every step with its box, first actions; nothing measured is filled in."""

from __future__ import annotations

import pytest

from ebbwell.deeds.texts import enter_emergency_details
from ebbwell.procedure.conditions import needed
from ebbwell.sim.household import PRESCRIPTION
from tests.web.site import Site


@pytest.mark.hazard("H45")
@pytest.mark.source("practice:e", detail="H45: paper fallback printed")
@pytest.mark.source("practice:b", detail="S0 to S34")
def test_the_paper_has_the_order_every_step_of_this_home_and_whom_to_call(site: Site) -> None:
    site.move_in()
    site.do(enter_emergency_details, number="000 0000", address="1 Saltmarsh Row", how_to_find="Blue door")
    page = site.get("/paper-night")
    assert page.status == 200
    assert "Stop. Clamp. Call, as you were taught." in page.text
    assert "000 0000" in page.text
    assert f"{PRESCRIPTION['blood_flow']} mL/min" in page.text
    desk = site.desk
    for step in desk.procedure.steps:
        words = desk.procedure.say(f"step.{step.id}.do").rstrip(".")
        assert (words in page.text) is needed(desk.scene, step.only_if), step.id
    boxes = page.html.count('class="blank"')
    assert boxes > len(desk.procedure.steps)


def test_the_paper_holds_no_measured_value_of_tonight(site: Site) -> None:
    site.set_up()
    page = site.get("/paper-night")
    assert "66.3" not in page.text


def test_without_an_order_it_sends_to_the_units_paper(site: Site) -> None:
    page = site.get("/paper-night")
    assert page.status == 200
    assert "Take the paper from your unit." in page.text


def test_home_and_past_nights_lead_to_it(site: Site) -> None:
    site.move_in()
    for path in ("/", "/nights"):
        assert 'href="/paper-night"' in site.get(path).html, path
