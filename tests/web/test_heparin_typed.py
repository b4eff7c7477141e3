"""Heparin typed in the wrong unit on the pages: it comes back as typed, with what to type in the words of its field."""

from __future__ import annotations

import pytest

from ebbwell.deeds.texts import order_fields
from ebbwell.procedure.holds import Status
from tests.web.site import Site
from tests.web.test_setup import send, status


@pytest.mark.hazard("H29")
@pytest.mark.source(
    "fluids:3.3", detail="type the strength from this vial; 1,000, 5,000 and 25,000 are all sold"
)
@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("1000 units", "1000 units is no strength. Read how many units each mL holds, and type that number."),
        ("1 mL", "1 mL is no strength."),
        ("5,000", "5,000 can be read two ways: 5 or 5000."),
    ],
)
def test_a_strength_that_is_none_comes_back_as_typed(site: Site, typed: str, words: str) -> None:
    site.until("S18")
    page = send(site, "/setup/S18", {"S18.heparin_strength": typed})
    assert page.status == 409
    assert words in page.text
    assert page.form("/setup/S18").fields["S18.heparin_strength"] == [typed]


@pytest.mark.hazard("H29")
@pytest.mark.source("arithmetic", detail="5,000 / 1,000 = 5; 0.9 mL/h x 5,000 = 4,500 units/h")
def test_another_strength_says_what_the_same_millilitres_would_hold(site: Site) -> None:
    site.until("S18")
    send(site, "/setup/S18", {"S18.heparin_strength": "5000"})
    text = site.get("/setup/S18").text
    told = (
        "Not yet: The heparin in hand is 5000 units/mL. The prescription says 1000 units/mL."
        " Don't use this heparin. Read the vial again. If it still says so, call your unit."
        " The same mL from that vial would hold 5 times the heparin."
        " At 0.9 mL/h that would be 4500 units an hour, and not 900."
    )
    assert told in text
    assert status(site, "S18") is Status.BARRED


@pytest.mark.hazard("H29")
@pytest.mark.source("practice:e", detail="H29: the strength of the vial and the ordered one, side by side")
@pytest.mark.parametrize("page", ["/setup/S18", "/", "/plan", "/connect"])
@pytest.mark.parametrize(("vial", "times"), [("5000", "5"), ("25000", "25")])
def test_each_page_tells_another_strength_once_and_before_the_sum(
    site: Site, page: str, vial: str, times: str
) -> None:
    site.until("S18")
    assert send(site, "/setup/S18", {"S18.heparin_strength": vial}).status == 303
    text = site.get(page).text.replace("25 000", "25000")
    strength = f"The heparin in hand is {vial} units/mL. The prescription says 1000 units/mL."
    assert text.count(strength) == 1
    assert "The vial in your hand has" not in text
    assert "1000 units/mL was expected" not in text
    assert text.count("Read the vial again. If it still says so, call your unit.") == 1
    assert text.count(f"would hold {times} times the heparin") == 1
    assert text.index(strength) < text.index(f"would hold {times} times the heparin")


@pytest.mark.hazard("H29")
def test_units_typed_for_what_the_pump_shows_come_back_as_typed(site: Site) -> None:
    site.connect()
    site.do(order_fields, fields=("venous_pressure", "heparin_given"))
    page = site.fill(site.get("/night/reading"), "/night/reading", heparin_given="900 units")
    assert page.status == 409
    assert "900 units is not in mL. Type how many mL the heparin pump shows as given." in page.text
    assert page.form("/night/reading").fields["heparin_given"] == ["900 units"]


@pytest.mark.hazard("H29")
def test_millilitres_typed_for_the_first_dose_come_back_as_typed(site: Site) -> None:
    site.connect()
    page = site.fill(site.get("/night"), "/night/steps", **{"S33b.heparin_first_dose": "1.5 mL"})
    assert page.status == 409
    assert "1.5 mL does not say how many units in all. Type the dose in units." in page.text
    assert page.form("/night/steps").fields["S33b.heparin_first_dose"] == ["1.5 mL"]
