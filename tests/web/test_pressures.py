"""The page of past pressures: own level at one flow, nights in a chart and in words, what a slipped needle costs."""

from __future__ import annotations

import asyncio
from datetime import timedelta
from pathlib import Path

import httpx
import pytest

from ebbwell.core.ids import SeededIds
from ebbwell.deeds import night, setup
from ebbwell.deeds.connect import connect
from ebbwell.deeds.people import enter_person
from ebbwell.deeds.texts import order_fields
from ebbwell.house import House
from ebbwell.sim import hands
from ebbwell.sim.story import tell
from ebbwell.web.app import create_app
from ebbwell.web.keeper import Keeper
from tests.web.site import Seen, Site


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Seen:
    """The page over the invented story."""
    story = tell(Path(tmp_path_factory.mktemp("story")))
    keeper = Keeper(lambda: House.open(story.path, story.clock(), SeededIds(1), create=False))
    app = create_app(keeper, ("story",))

    async def look() -> httpx.Response:
        transport = httpx.ASGITransport(app)
        async with httpx.AsyncClient(transport=transport, base_url="http://story") as client:
            return await client.get("/pressures")

    answer = asyncio.run(look())
    keeper.close()
    return Seen(answer.status_code, answer.text, answer.headers)


def test_own_levels_and_nights_stand_with_their_flow(told: Seen) -> None:
    assert told.status == 200
    assert "Own venous pressure at 230 mL/min: 1" in told.text
    assert "the middle of the last 8 nights." in told.text
    assert told.text.count(" 230 mL/min not known ") >= 30
    assert told.html.count("<svg") == 4


def test_without_nights_it_says_so(site: Site) -> None:
    text = site.get("/pressures").text
    assert "No pressure was read on a past night." in text
    assert "No blood flow is ordered" in text
    site.move_in()
    assert "Own venous pressure at 230 mL/min: not known, too few nights." in site.get("/pressures").text


SHORT = {"percent": "10.5", "measured_by": "Invented nurse", "measured_on": "2026-04-20", "at_flow": "230"}


def test_the_two_forms_are_kept_and_come_back_as_they_stand(site: Site) -> None:
    site.move_in()
    page = site.get("/pressures/form")
    assert page.form("/pressures/form").fields.get("form") is None
    kept = site.fill(page, "/pressures/form", form="four", machine="the old one", words="its book")
    assert kept.status == 303
    told = site.get(kept.to).text
    assert "Readings from here on carry it." in told
    assert "Formed now: from four points, machine the old one." in told
    assert site.get("/pressures/form").form("/pressures/form").fields["form"] == ["four"]
    kept = site.fill(site.get("/pressures/short"), "/pressures/short", **SHORT, at_arterial="-120")
    assert "True blood flow 10.5 % short of the pump" in site.get(kept.to).text
    assert "At 230 mL/min, \N{MINUS SIGN}120 mmHg." in site.get("/pressures").text
    assert site.get("/pressures/short").form("/pressures/short").fields["percent"] == ["10.5"]


def test_what_was_never_said_is_not_known(site: Site) -> None:
    site.move_in()
    text = site.get("/pressures").text
    assert "Formed now: as the machine shows it. Nobody has said how your machine forms it." in text
    assert "Your unit's figure is not on record, so the true flow is not known." in text


def test_what_cannot_be_read_comes_back_as_typed_beside_its_field(site: Site) -> None:
    site.move_in()
    rows = site.rows
    again = site.fill(
        site.get("/pressures/short"), "/pressures/short", **{**SHORT, "at_arterial": "120", "percent": "60"}
    )
    assert "120 was typed. If \N{MINUS SIGN}120 was meant" in again.text.replace("-", "\N{MINUS SIGN}")
    assert "True flow short of the pump by: enter a number from 0 to 50 %." in again.text
    fields = again.form("/pressures/short").fields
    assert (fields["at_arterial"], fields["percent"]) == (["120"], ["60"])
    none = site.fill(site.get("/pressures/form"), "/pressures/form", machine="it")
    assert "Pick one at this line: Which points it uses" in none.text
    assert site.rows == rows


def test_the_clinic_reads_and_cannot_write(site: Site) -> None:
    site.move_in()
    site.do(enter_person, person="ann", name="Ann Quill", roles=("clinic",))
    site.who = "ann"
    assert "/pressures/form" not in site.get("/pressures").links
    for name in ("form", "short"):
        assert site.get(f"/pressures/{name}").forms == [] or not any(
            f.action == f"/pressures/{name}" for f in site.get(f"/pressures/{name}").forms
        )
        assert site.post(f"/pressures/{name}", SHORT).status == 403


def running(site: Site, *fields: str) -> None:
    """A night with blood running for an hour, and the fields that are typed in it."""
    site.connect()
    site.do(order_fields, fields=fields)
    site.clock.pass_time(timedelta(hours=1))


@pytest.mark.source(
    "fluids:5.1", detail="200 to 300 mL/min: arterial -60 to -180, venous 80 to 160; the unit's limits first"
)
def test_the_units_limit_and_then_the_table_stand_beside_a_pressure_of_tonight(site: Site) -> None:
    running(site, "venous_pressure", "arterial_pressure", "blood_flow")
    site.do(night.read, values={"venous_pressure": "124", "arterial_pressure": "-92", "blood_flow": "230"})
    text = site.get("/night").text
    minus = "\N{MINUS SIGN}"
    assert (
        "Beside the venous pressure Your unit's limit: 200 mmHg. "
        "Usual range in the table (Fistula, 230 mL/min): 80 to 160 mmHg." in text
    )
    assert (
        f"Your unit's limit: {minus}180 mmHg. "
        f"Usual range in the table (Fistula, 230 mL/min): {minus}60 to {minus}180 mmHg." in text
    )


def test_at_a_flow_that_the_table_has_no_row_for_it_says_so(site: Site) -> None:
    running(site, "venous_pressure", "blood_flow")
    site.do(night.read, values={"venous_pressure": "60", "blood_flow": "120"}, sure=("expected", "ask"))
    assert "The table has no row for this (Fistula, 120 mL/min)." in site.get("/night").text


def test_beside_the_pressure_across_the_membrane_stand_form_and_coefficient(site: Site) -> None:
    site.move_in()
    site.fill(site.get("/pressures/form"), "/pressures/form", form="two")
    site.do(setup.open_night)
    site.act(lambda house: hands.set_up(house, site.clock))
    site.do(connect)
    site.do(order_fields, fields=("transmembrane_pressure", "fluid_removed"))
    site.clock.pass_time(timedelta(hours=1))
    page = site.fill(
        site.get("/night/reading"), "/night/reading", transmembrane_pressure="31", fluid_removed="0.31"
    )
    assert page.status == 303
    text = site.get("/night").text
    assert "Pressure across the membrane from two points." in text
    assert "Removal for each mmHg, evened out since first blood: 10.0 mL/h/mmHg." in text
    assert "Own nights: too few of the same dialyser and way at this hour." in text


def test_a_negative_pressure_across_the_membrane_is_kept_and_has_no_coefficient(site: Site) -> None:
    running(site, "transmembrane_pressure", "fluid_removed")
    form = site.get("/night/reading")
    assert site.fill(form, "/night/reading", transmembrane_pressure="-12", fluid_removed="0.31").status == 303
    text = site.get("/night").text
    assert "no figure, since the pressure (\N{MINUS SIGN}12 mmHg) is near 0" in text


def test_an_arterial_pressure_typed_without_its_minus_is_asked_about(site: Site) -> None:
    running(site, "arterial_pressure")
    again = site.fill(site.get("/night/reading"), "/night/reading", arterial_pressure="92")
    assert again.status == 409
    assert again.form("/night/reading").fields["arterial_pressure"] == ["92"]
    assert any("-92" in value for _, value in again.form("/night/reading").buttons)
    assert not site.desk.treatment.of("reading")


@pytest.mark.source("from memory", detail="fluids 0: 1 kPa = 7.5006 mmHg; 16 kPa = 120.0, -12 kPa = -90.0")
def test_kilopascal_typed_with_its_unit_is_shown_in_mmhg(site: Site) -> None:
    running(site, "venous_pressure", "arterial_pressure")
    page = site.fill(
        site.get("/night/reading"), "/night/reading", venous_pressure="16 kPa", arterial_pressure="-12 kPa"
    )
    assert page.status == 303
    values = site.desk.treatment.of("reading")[-1].body.values  # type: ignore[union-attr]
    assert values == {"venous_pressure": "120", "arterial_pressure": "-90"}
    assert "venous pressure 120 mmHg" in site.get(page.to).text
