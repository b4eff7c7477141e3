"""The page of a slipped needle: the loss at this flow and weight, and why no pressure tells of it."""

from __future__ import annotations

from datetime import timedelta

import pytest

from ebbwell.core.text import say
from ebbwell.deeds import night, orders
from ebbwell.papers.needle_out import FACTS, LOOKING
from ebbwell.sim.household import PRESCRIPTION, UNIT
from tests.web.site import Site


@pytest.mark.source(
    "arithmetic",
    detail="fluids 5.5: 677.25 and 1,806 mL of 4,515, at 230 mL/min: 2.94 and 7.85 min, cut; 230, 460, 1,150 mL",
)
def test_the_loss_is_worked_out_for_the_order(site: Site) -> None:
    site.move_in()
    text = site.get("/needle").text
    assert "Blood flow as ordered: 230 mL/min." in text
    assert "Target weight, since nobody was weighed tonight: 64.5 kg." in text
    assert "15 % of the blood would be lost after 2.9 min." in text
    assert "40 % of the blood would be lost after 7.8 min." in text
    assert "230 mL/min (yours) 230 mL 460 mL 1150 mL 2.9 min 7.8 min" in text


@pytest.mark.source(
    "fluids:5.5",
    detail="check value 45: 40 % of 4.9 L (70 kg) at 300 mL/min in 6.53 min, 15 % in 2.45; 500 mL at 230 in 2.2",
)
def test_the_printed_example_stands_in_the_table(site: Site) -> None:
    site.act(lambda house: None)
    site.move_in()
    site.do(
        orders.transcribe,
        number="9",
        giver=UNIT,
        valid_from="2026-04-29",
        lines={**PRESCRIPTION, "target_weight": "70", "blood_flow": "300"},
    )
    held = site.desk.standing.of("prescription")[-1]
    site.clock.pass_time(timedelta(seconds=30))
    wanted = orders.whole_paper(site.desk, held.body.lines)
    site.do(
        orders.check_order, of=held.id, values={n: held.body.lines.get(n, "") for n in wanted}, how="reread"
    )
    assert "300 mL/min (yours) 300 mL 600 mL 1500 mL 2.4 min 6.5 min" in site.get("/needle").text


def test_tonight_it_goes_by_the_flow_that_was_read_and_the_weight_before(site: Site) -> None:
    site.connect()
    site.clock.pass_time(timedelta(minutes=20))
    site.do(night.read, values={"blood_flow": "200"}, sure=("expected",))
    text = site.get("/needle").text
    assert "Blood flow of the last reading: 200 mL/min." in text
    assert "Weight before tonight: 66.3 kg." in text
    assert "200 mL/min (yours)" in text
    assert "(yours)" not in text.partition("200 mL/min (yours)")[2]


def test_without_an_order_what_is_not_known_is_said(site: Site) -> None:
    text = site.get("/needle").text
    assert "Blood flow: not known. No order is in force." in text
    assert "Weight: not known. No order is in force." in text
    assert "300 mL/min 300 mL 600 mL 1500 mL not known not known" in text


def test_a_line_that_waits_for_its_second_reading_is_not_shown(site: Site) -> None:
    site.move_in()
    site.do(orders.amend_line, line="blood_flow", value="250", giver=UNIT, read_back="250")
    text = site.get("/needle").text
    assert "250 mL/min" not in text
    assert "Blood flow: not known." in text


@pytest.mark.source("arithmetic", detail="check value 47: 10 cm x 1,055 kg/m3 = 7.76 mmHg (fluids 5.5)")
def test_why_no_pressure_tells_stands_there_with_sources(site: Site) -> None:
    text = site.get("/needle").text
    assert "moves the pressure by 7.76 mmHg by itself" in text
    for key in (*FACTS.values(), *LOOKING.values()):
        assert f"({key})" in text
    assert say("needle.pressure") in text
    assert "/first-action/bleeding" in site.get("/needle").links
    assert site.rows == 0
