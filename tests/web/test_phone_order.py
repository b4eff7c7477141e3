"""A line changed by phone, on pages: for tonight only, and what the unit said that changes no line."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest

from ebbwell.deeds import setup
from ebbwell.sim.household import ILKA
from tests.web.site import Seen, Site

SAID = {"unit__who": "Sister Aun", "unit__words": "Blood flow 220 instead of 230 tonight."}
AMEND = "/prescription/amend?line=blood_flow"


def flow(site: Site) -> str:
    found = site.desk.scene.order
    assert found is not None
    return found.lines["blood_flow"]


def taken_down(site: Site, lasts: str, back: str = "") -> Seen:
    page = site.get(f"{AMEND}{back}")
    said = {"by": "phone", "giver": "Sister Aun", "value": "220", "read_back": "220", "lasts": lasts}
    return site.fill(page, "/prescription/amend", **said)


@pytest.mark.hazard("H2")
def test_what_the_unit_said_is_kept_in_words_and_says_that_no_line_changed(site: Site) -> None:
    site.open_night()
    page = site.get("/unit-said")
    assert "What you write here changes no line of the prescription." in page.text
    assert "/prescription/amend?back=setup" in page.links
    answer = site.fill(page, "/unit-said", **SAID)
    kept = site.get(answer.to.partition("?")[0])
    assert "Blood flow 220 instead of 230 tonight." in kept.text
    assert "The prescription is unchanged by this. Did they change a line of it?" in kept.text
    assert {"/prescription/amend?back=setup", "/setup"} <= set(kept.links)
    assert flow(site) == "230"
    assert "changes no line of the prescription" in site.get("/happened/unit").text
    assert "changes no line" not in site.get("/happened/note").text


@pytest.mark.hazard("H2")
def test_a_line_for_tonight_only_leads_back_to_the_set_up(site: Site) -> None:
    site.open_night()
    assert f"{AMEND}&back=setup" in site.get("/prescription/amend?back=setup").links
    page = site.get(f"{AMEND}&back=setup")
    assert "First write by hand what they say" in page.text
    assert "Tonight is the night of 29 April 2026, which is open." in page.text
    assert not re.search(r'name="lasts"[^>]*checked', page.html)
    answer = taken_down(site, "tonight", "&back=setup")
    check = site.get(answer.to)
    assert not re.search(r'name="reader"[^>]*checked', check.html)
    address = answer.to.partition("?")[0]
    done = site.fill(check, address, reader=ILKA, line__blood_flow="220")
    assert done.to.startswith("/setup")
    assert flow(site) == "220"
    page = site.get("/prescription")
    assert "From the next night on it is 230 mL/min again. No paper is awaited." in page.text
    assert "Throw away the papers" not in page.text
    assert "For this night alone" in site.get("/prescription/read").text


def test_with_no_night_open_the_page_says_until_when_tonight_is(site: Site) -> None:
    site.move_in()
    assert (
        "No night is open. Tonight is the next one that is opened, until 30 April 2026"
        in site.get(AMEND).text
    )
    answer = taken_down(site, "tonight")
    site.fill(site.get(answer.to), answer.to.partition("?")[0], reader=ILKA, line__blood_flow="220")
    assert "Kept: the two readings are the same." in site.get("/prescription?told=checked").text
    site.clock.pass_time(timedelta(hours=1))
    site.do(setup.open_night)
    assert flow(site) == "220"


def test_who_read_it_a_second_time_is_said(site: Site) -> None:
    site.move_in()
    assert "The same person read it a second time" in site.get("/prescription").text
    assert "Bicarbonate as mixed is what goes into the fluid" in site.get("/prescription").text


@pytest.mark.hazard("H2")
def test_the_pick_can_be_put_right_on_the_page_of_the_entry(site: Site) -> None:
    site.open_night()
    answer = taken_down(site, "on")
    entry = answer.to.partition("?")[0].rpartition("/")[2]
    assert "For its night only" in site.get(f"/entry/{entry}").text
