"""Nights of low molecular heparin and of none, on the pages: the order beside, what went in, words without a pump."""

from __future__ import annotations

from datetime import timedelta

import pytest

from ebbwell.deeds import night
from ebbwell.deeds.connect import connect
from ebbwell.deeds.texts import order_fields
from ebbwell.journal.kinds.night import Given
from ebbwell.sim import hands
from ebbwell.sim.homes import HOMES, Home
from tests.web.site import Site

NONE = "fistula, no heparin, liquid, a chemical used"
LOW = "catheter, low molecular heparin"
SAID = "4000 IU at the start"
FIELD = "S33c.low_molecular_dose"
BOTH = (
    "Call now: Heparin and low molecular heparin are both on record for tonight."
    " They must not both go in on one night."
    " Call your unit now and do as they say. Tell them what went in, how much and when."
)


def _connected(site: Site, name: str, **lines: str) -> None:
    there = HOMES[name]
    home = Home({**there.lines, **lines}, chemical=there.chemical)
    site.act(lambda house: home.open_night(house, site.clock))
    site.act(lambda house: hands.set_up(house, site.clock))
    site.do(connect)
    site.clock.pass_time(timedelta(minutes=2))


def _given(site: Site) -> list[tuple[str, str]]:
    return [
        (f.body.amount, f.body.unit) for f in site.desk.treatment.of("given") if isinstance(f.body, Given)
    ]


@pytest.mark.source("fluids:3.4", detail="one dose at the start; IU or mg, never converted")
def test_the_dose_that_went_in_is_a_step_with_the_order_beside_it(site: Site) -> None:
    _connected(site, LOW, low_molecular_dose=SAID)
    page = site.get("/night")
    assert f"Low molecular heparin dose {SAID}" in page.text
    assert {FIELD, f"{FIELD}.at", "S33c.given_into"} <= page.form("/night/steps").names
    assert "S33b" not in page.html
    at = f"{site.clock.now().at + timedelta(hours=1) - timedelta(minutes=1):%H:%M}"
    sent = {FIELD: "4000 IU", f"{FIELD}.at": at, "S33c.given_into": "venous_line"}
    assert site.fill(page, "/night/steps", **sent).status == 303
    assert _given(site) == [("4000", "IU")]
    assert site.desk.treatment.of("given")[0].at < site.clock.now().at - timedelta(seconds=30)
    assert site.desk.views["S33c"].passed


def test_millilitres_come_back_as_typed_with_what_to_type(site: Site) -> None:
    _connected(site, LOW, low_molecular_dose=SAID)
    page = site.fill(site.get("/night"), "/night/steps", **{FIELD: "0.4 mL"})
    assert page.status == 409
    assert page.form("/night/steps").fields[FIELD] == ["0.4 mL"]
    assert "Type the dose as the label says it: the number, then IU, units or mg." in page.text
    assert _given(site) == []


def test_another_dose_than_the_ordered_one_is_asked_about_and_kept_as_typed(site: Site) -> None:
    _connected(site, LOW, low_molecular_dose=SAID)
    page = site.fill(site.get("/night"), "/night/steps", **{FIELD: "400 IU"})
    assert page.status == 409
    assert f"You typed 400 IU. The order says: {SAID}." in page.text
    assert site.fill(page, "/night/steps", as_typed=FIELD).status == 303
    assert _given(site) == [("400", "IU")]


def test_a_first_dose_in_millilitres_is_asked_about(site: Site) -> None:
    site.connect()
    page = site.fill(site.get("/night"), "/night/steps", **{"S33b.heparin_first_dose": "1.5"})
    assert page.status == 409
    assert "Did you type the mL?" in page.text
    assert page.form("/night/steps").fields["S33b.heparin_first_dose"] == ["1.5"]
    page = site.fill(page, "/night/steps", **{"S33b.heparin_first_dose": "1500"})
    assert _given(site) == [("1500", "units")]


@pytest.mark.source("practice:c", detail="C5: removal off; heparin off where there is a pump")
@pytest.mark.parametrize(("name", "pump"), [("", True), (NONE, False), (LOW, False)])
def test_coming_off_speaks_of_the_heparin_pump_only_where_one_runs(site: Site, name: str, pump: bool) -> None:
    if name:
        _connected(site, name)
    else:
        site.connect()
    page = site.get("/off?part=blood_back")
    assert ("Check the heparin pump" in page.text) is pump
    assert ("C5.removal_and_heparin" in page.form("/off").names) is pump
    assert ("C5b.removal_off" in page.form("/off").names) is not pump
    assert ("Both are off" in page.text) is pump


@pytest.mark.source("practice:b", detail="S18: no heparin tonight is an explicit choice")
def test_without_heparin_no_page_asks_for_a_vial_a_fill_a_pump_or_a_dose(site: Site) -> None:
    there = HOMES[NONE]
    site.act(lambda house: there.open_night(house, site.clock))
    asked: set[str] = set()

    def look(path: str) -> None:
        page = site.get(path)
        asked.update(name for form in page.forms for name in form.names)

    for bundle in ("S18b", "settings", "person"):
        look(f"/setup/{bundle}")
    site.do(order_fields, fields=("venous_pressure", "heparin_given"))
    site.act(lambda house: hands.set_up(house, site.clock))
    assert "No heparin" in site.get("/plan").text
    site.do(connect)
    for path in ("/night", "/night/reading", "/off", "/happened/given"):
        look(path)
    heparin = {n for n in asked if "heparin" in n or "syringe" in n or "low_molecular" in n}
    assert heparin <= {"S18b.no_heparin", "S18b.no_heparin.key"}
    site.do(night.read, values={"venous_pressure": "120"})
    assert "eparin" not in site.get("/night").text.replace("No heparin", "")


@pytest.mark.source("fluids:A7", detail="never both kinds in one night")
def test_the_pages_tell_it_when_it_is_kept_and_after(site: Site) -> None:
    site.connect()
    page = site.fill(
        site.get("/happened/given"),
        "/happened/given",
        what="medicine",
        name="enoxaparin",
        amount="40",
        unit="mg",
        ordered_by="Nurse Ro",
    )
    assert page.status == 303
    for address in (page.to, "/night", "/"):
        assert site.get(address).text.count(BOTH) == 1
