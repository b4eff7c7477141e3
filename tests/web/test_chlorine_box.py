"""The box for total chlorine, and the figures of a water report, as people type them."""

from __future__ import annotations

import pytest

from ebbwell.procedure.holds import Status
from ebbwell.sim.household import ILKA
from ebbwell.state.water import reports
from tests.web.site import Site
from tests.web.test_setup import WATER, measured, send, status
from tests.web.test_water import PLANT, REPORT, enter

STRIP = {f"{WATER}.method": "strip"}


@pytest.fixture
def testing(site: Site) -> Site:
    """Set up as far as the test after tank 1."""
    site.until("S5")
    return site


@pytest.mark.hazard("H8")
@pytest.mark.source("fluids:1.3", detail="rule 5: no colour counts only where tap before carbon coloured")
@pytest.mark.parametrize("typed", ["<0.1", "0", "< 0.1 ppm"])
def test_no_colour_is_asked_about_beside_its_box_and_what_was_typed_stays(testing: Site, typed: str) -> None:
    page = send(testing, "/setup/chlorine", {WATER: typed, **STRIP})
    assert page.status == 409
    assert "Test tap water from before the carbon, then pick what it did." in page.text
    form = page.form("/setup/chlorine")
    assert (form.fields[WATER], form.fields[f"{WATER}.method"]) == ([typed], ["strip"])
    assert not measured(testing, "total_chlorine", "tank1")
    page = send(testing, "/setup/chlorine", {f"{WATER}.control": "coloured"}, page)
    assert page.status == 303
    (body,) = measured(testing, "total_chlorine", "tank1")
    assert (body.typed, body.method, body.control) == (typed, "strip", "coloured")
    second = {"S5.second.total_chlorine.tank1": typed, "S5.second.how": f"person:{ILKA}"}
    assert send(testing, "/setup/chlorine", second).status == 303
    assert status(testing, "S5") is Status.MET


@pytest.mark.hazard("H8")
@pytest.mark.parametrize(
    ("control", "words"),
    [
        ("blank", "The test of tap water before the carbon showed no colour."),
        ("not_done", "Whether the chlorine test colours in tap water from before the carbon is not known."),
    ],
)
def test_no_colour_there_either_or_not_done_is_kept_and_shuts_the_step(
    testing: Site, control: str, words: str
) -> None:
    sent = {WATER: "<0.1", **STRIP, f"{WATER}.control": control}
    assert send(testing, "/setup/chlorine", sent).status == 303
    assert [b.control for b in measured(testing, "total_chlorine", "tank1")] == [control]
    assert status(testing, "S5") is Status.BARRED
    page = testing.get("/setup/chlorine")
    assert words in page.text
    assert "Draw again" not in page.text, "no run of the water is waited for"
    again = {WATER: "<0.1", **STRIP, f"{WATER}.control": "coloured"}
    assert send(testing, "/setup/chlorine", again, page).status == 303
    assert status(testing, "S5") is Status.SECOND


def test_a_test_that_coloured_asks_for_nothing_more(testing: Site) -> None:
    sent = {WATER: "0.03 ppm", f"{WATER}.method": "meter"}
    assert send(testing, "/setup/chlorine", sent).status == 303
    (body,) = measured(testing, "total_chlorine", "tank1")
    assert (body.value, body.unit, body.typed, body.control) == ("0.03", "mg/L", "0.03 ppm", "")


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        (">2", "Is 2 itself over your limit? Then enter 2."),
        ("0.1-0.2", "Between two steps of the test, enter the higher one. You typed 0.1-0.2"),
        ("TNTC", "Enter the number that the test shows."),
        ("no colour", "For no colour, enter < and the first step of the test, like <0.1."),
    ],
)
def test_what_is_no_number_gets_words_and_stays_in_the_box(testing: Site, typed: str, words: str) -> None:
    page = send(testing, "/setup/chlorine", {WATER: typed, **STRIP})
    assert page.status == 409
    assert words in page.text
    assert page.form("/setup/chlorine").fields[WATER] == [typed]
    assert not measured(testing, "total_chlorine", "tank1")


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        (
            ">0.001",
            "lead: more than 0.001 can't be held against the limit. Ask the laboratory for the number.",
        ),
        ("0.001-0.002", "lead: Enter one number. Of two, enter the higher one. You typed 0.001 and 0.002"),
        ("TNTC", "lead: Enter the number on the paper, with < before it where the paper says less than."),
    ],
)
def test_a_line_of_a_report_that_is_no_number(site: Site, typed: str, words: str) -> None:
    site.move_in()
    page = enter(site, "report", **REPORT, unit="mg/L", **{"line.lead": typed})
    assert page.status == 409
    assert words in page.text
    assert page.form("/water/report").fields["line.lead"] == [typed]
    assert not reports(site.desk.standing)


@pytest.mark.source(
    "fluids:1.1", detail="lead 0.005 mg/L is 5 ug/L; a figure with < passes at or under the limit"
)
@pytest.mark.parametrize(
    ("typed", "kept"), [("<0.001", ("0.001", "mg/L", True)), ("5 ppb", ("5", "ug/L", False))]
)
def test_a_line_of_a_report_as_laboratories_write_it(
    site: Site, typed: str, kept: tuple[str, str, bool]
) -> None:
    site.move_in()
    assert enter(site, "report", **REPORT, unit="mg/L", **{"line.lead": typed}).status == 303
    (view,) = reports(site.desk.standing)
    (line,) = view.body.lines
    assert ((line.value, line.unit, line.below), line.typed) == (kept, typed)
    assert not view.fails


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("<0.1", "Flow of the product: Enter a number without the sign for less than."),
        (">2", "Flow of the product: Enter the number itself, without the > sign, like 66.3. You typed >2"),
        ("0.1-0.2", "You typed two: 0.1 and 0.2"),
        ("TNTC", "Flow of the product: Enter just the number, like 66.3. You typed TNTC"),
    ],
)
def test_a_gauge_that_is_no_number(site: Site, typed: str, words: str) -> None:
    site.move_in()
    new = {"filter": "sediment", "unit": "bar", "pressure_in": "3", "pressure_out": "2.9", "changed": "no"}
    page = enter(site, "filter", **new, product_l_min=typed)
    assert page.status == 409
    assert words in page.text
    assert page.form("/water/filter").fields["product_l_min"] == [typed]


@pytest.mark.source(
    "fluids:W15", detail="recovery = product / (product + reject): 0.31 / (0.31 + 0.37) = 45.6 %"
)
def test_recovery_from_two_flows_stands_with_its_working(site: Site) -> None:
    site.move_in()
    assert "has not been worked out" in site.get("/water").text
    new = {"filter": "sediment", "unit": "bar", "pressure_in": "3", "pressure_out": "2.9", "changed": "no"}
    enter(site, "filter", **new, product_l_min="0.31", reject_l_min="0.37")
    text = site.get("/water").text
    assert "product 0.31 L/min, reject 0.37 L/min. So 45.6 % of the feed becomes product" in text
    assert "100 x 0.31 / (0.31 + 0.37)" in text
    assert "The sums on this page use none yet" in text
    enter(site, "set", **PLANT)
    assert "The sums on this page use 50 %, as entered under the plant." in site.get("/water").text


def test_steps_of_the_strip_stand_on_the_water_page_and_in_its_form(site: Site) -> None:
    site.move_in()
    assert "The steps of your strip or card are not known." in site.get("/water").text
    assert enter(site, "set", chlorine_steps="0; 0,1; 0.5").status == 303
    assert "Your strip or card shows the steps 0 / 0.1 / 0.5 mg/L." in site.get("/water").text
    assert site.get("/water/set").form("/water/set").fields["chlorine_steps"] == ["0 / 0.1 / 0.5"]
    page = enter(site, "set", chlorine_steps="0.1")
    assert page.status == 409
    assert page.form("/water/set").fields["chlorine_steps"] == ["0.1"]


def test_what_tap_water_did_can_be_put_right_on_a_chlorine_test_alone(testing: Site) -> None:
    label = "The same test with tap water from before the carbon"
    send(testing, "/setup/chlorine", {WATER: "<0.1", **STRIP, f"{WATER}.control": "not_done"})
    fact = testing.desk.treatment.at_slot("measured", "total_chlorine", "tank1")[0]
    page = testing.get(f"/entry/{fact.id}")
    assert label in page.text
    assert "No colour there either" in page.text
    other = testing.desk.treatment.at_slot("measured", "weight_before", "")
    assert other
    assert label not in testing.get(f"/entry/{other[0].id}").text
