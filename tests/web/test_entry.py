"""One entry put right or taken back; two that disagree settled. Nothing goes out of sight."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest

from ebbwell.deeds import comeoff, rereading, setup
from ebbwell.deeds.connect import already_running
from ebbwell.journal.kinds.marks import Measured
from ebbwell.procedure.holds import Status
from ebbwell.sim.household import ILKA
from ebbwell.state.facts import Fact
from ebbwell.state.night import Phase
from tests.web.site import Site


def measured(site: Site, quantity: str) -> Fact:
    """The fact of a quantity that holds."""
    return next(
        f
        for f in site.desk.treatment.of("measured")
        if isinstance(f.body, Measured) and f.body.quantity == quantity
    )


def test_a_value_is_put_right_and_both_stay_in_sight(site: Site) -> None:
    site.set_up()
    fact = measured(site, "weight_before")
    page = site.get(f"/entry/{fact.id}")
    assert "66.3" in page.text
    assert "Written by Bram Venn" in page.text
    seen = site.fill(page, f"/entry/{fact.id}", change__value="66.4", reason="misread the scale")
    assert seen.status == 303
    newer = measured(site, "weight_before")
    assert getattr(newer.body, "value", "") == "66.4"
    assert seen.to.startswith(f"/entry/{newer.id}")
    page = site.get(f"/entry/{newer.id}")
    assert "It said first:" in page.text
    assert "66.3" in page.text
    assert "Reason: misread the scale" in page.text
    old = site.get(f"/entry/{fact.id}")
    assert "This no longer holds." in old.text
    assert f"/entry/{newer.id}" in old.links
    assert [form.action for form in old.forms if "/entry/" in form.action] == []


def test_an_odd_value_is_asked_about_as_a_fresh_one_is(site: Site) -> None:
    site.set_up()
    fact = measured(site, "pulse")
    page = site.get(f"/entry/{fact.id}")
    rows = site.rows
    asked = site.fill(page, f"/entry/{fact.id}", change__value="150", reason="misread")
    assert asked.status == 409
    assert "It is as I typed it. Keep it" in asked.text
    assert asked.form(f"/entry/{fact.id}").fields["change.value"] == ["150"]
    assert site.rows == rows
    kept = site.fill(asked, f"/entry/{fact.id}", as_typed="yes")
    assert kept.status == 303
    assert getattr(measured(site, "pulse").body, "value", "") == "150"


@pytest.mark.parametrize(
    "typed",
    [
        {"change__value": "66.4", "reason": " "},
        {"change__value": "", "reason": "nothing was wrong"},
        {"change__value": "heavy", "reason": "a word"},
        {"change__at": "25:99", "reason": "no time"},
        {"change__at": "2030-01-01 10:00", "reason": "still to come"},
    ],
    ids=lambda typed: typed["reason"].strip() or "no reason",
)
def test_what_cannot_be_kept_says_why_and_writes_nothing(site: Site, typed: dict[str, str]) -> None:
    site.set_up()
    fact = measured(site, "weight_before")
    rows = site.rows
    seen = site.fill(site.get(f"/entry/{fact.id}"), f"/entry/{fact.id}", **typed)
    assert seen.status == 409
    assert "Not kept yet" in seen.text
    assert site.rows == rows


def test_a_field_that_the_page_does_not_offer_changes_nothing(site: Site) -> None:
    site.set_up()
    fact = measured(site, "weight_before")
    rows = site.rows
    key = site.act(lambda house: house.ids.new())
    typed = {"key": key, "change.quantity": "pulse", "change.step": "S1", "reason": "edited form"}
    assert site.post(f"/entry/{fact.id}", typed).status == 409
    assert site.rows == rows


@pytest.mark.source("arithmetic", detail="a clock time without a day is the nearest one to what stood")
def test_a_time_is_typed_as_the_clock_shows_it(site: Site) -> None:
    site.connect()
    site.clock.pass_time(timedelta(hours=6))
    stopped = site.clock.now().at
    site.do(comeoff.come_off, times={"pump_stopped": stopped}, blood_returned="all")
    fact = site.desk.treatment.of("came_off")[0]
    wrong = stopped - timedelta(minutes=25)
    typed = (wrong + timedelta(hours=1)).strftime("%H:%M")
    page = site.get(f"/entry/{fact.id}")
    seen = site.fill(
        page, f"/entry/{fact.id}", change__times__pump_stopped=typed, reason="by the kitchen clock"
    )
    assert seen.status == 303
    newer = site.desk.treatment.of("came_off")[0].body
    assert getattr(newer, "times", {})["pump_stopped"] == wrong.replace(second=0, microsecond=0).isoformat()


def test_an_entry_is_taken_back_and_what_rested_on_it_is_open_again(site: Site) -> None:
    site.set_up()
    fact = measured(site, "weight_before")
    assert not site.desk.bars
    page = site.get(f"/entry/{fact.id}")
    assert site.fill(page, f"/entry/{fact.id}/back", reason="another person's weight").status == 303
    assert site.desk.bars
    assert "This no longer holds." in site.get(f"/entry/{fact.id}").text


def test_taking_back_asks_for_the_reason(site: Site) -> None:
    site.set_up()
    fact = measured(site, "weight_before")
    rows = site.rows
    seen = site.fill(site.get(f"/entry/{fact.id}"), f"/entry/{fact.id}/back", reason="")
    assert seen.status == 409
    assert site.rows == rows


def test_what_happened_cannot_be_taken_back(site: Site) -> None:
    site.connect()
    fact = site.desk.treatment.of("connected")[0]
    page = site.get(f"/entry/{fact.id}")
    assert "it can't be taken back" in page.text
    assert [form.action for form in page.forms if "back" in form.action] == []
    rows = site.rows
    key = site.act(lambda house: house.ids.new())
    assert site.post(f"/entry/{fact.id}/back", {"key": key, "reason": "x"}).status == 409
    assert site.rows == rows


def test_after_blood_ran_a_correction_is_kept_and_is_a_finding(site: Site) -> None:
    site.connect()
    fact = measured(site, "weight_before")
    page = site.get(f"/entry/{fact.id}")
    assert site.fill(page, f"/entry/{fact.id}", change__value="66.4", reason="misread").status == 303
    treatment = site.desk.treatment_id
    assert "66.4" in site.get(f"/sheet/{treatment}").text


def test_no_such_entry(site: Site) -> None:
    site.move_in()
    assert site.get("/entry/nothing").status == 404
    assert site.get("/settle/nothing").status == 404
    assert site.post("/entry/nothing", {"reason": "x"}).status == 404
    assert site.post("/entry/nothing/back", {"reason": "x"}).status == 404
    assert site.post("/settle/nothing", {"reason": "x"}).status == 404


def test_two_weights_are_settled_by_naming_the_one_that_holds(site: Site) -> None:
    site.set_up()
    first = measured(site, "weight_before")
    site.do(setup.measure, quantity="weight_before", typed="66.5")
    assert site.desk.treatment.disagreements()
    page = site.get(f"/settle/{first.id}")
    assert "66.3" in page.text
    assert "66.5" in page.text
    assert f"/settle/{first.id}" in site.get(f"/sheet/{site.desk.treatment_id}").links
    seen = site.fill(page, f"/settle/{first.id}", holds=first.id, reason="the second had shoes on")
    assert seen.status == 303
    assert not site.desk.treatment.disagreements()
    assert measured(site, "weight_before").id == first.id
    assert site.get(f"/settle/{first.id}").status == 404


@pytest.mark.parametrize(
    "typed", [{"reason": "which one"}, {"reason": ""}, {"holds": "another", "reason": "x"}]
)
def test_settling_without_one_that_holds_or_a_reason_is_not_kept(site: Site, typed: dict[str, str]) -> None:
    site.set_up()
    first = measured(site, "weight_before")
    site.do(setup.measure, quantity="weight_before", typed="66.5")
    rows = site.rows
    if not typed.get("reason"):
        typed = {"holds": first.id, **typed}
    assert site.fill(site.get(f"/settle/{first.id}"), f"/settle/{first.id}", **typed).status == 409
    assert site.rows == rows
    assert site.desk.treatment.disagreements()


def test_a_sign_off_between_nights_is_put_right_too(site: Site) -> None:
    site.move_in()
    fact = site.desk.standing.of("skill")[0]
    page = site.get(f"/entry/{fact.id}")
    seen = site.fill(page, f"/entry/{fact.id}", change__signed_by="Sister Quill", reason="wrong name")
    assert seen.status == 303
    assert "Sister Quill" in site.get("/people/tove").text


def test_every_entry_of_a_night_has_a_page(site: Site) -> None:
    site.connect()
    treatment = site.desk.treatment_id
    links = [link for link in site.get(f"/sheet/{treatment}").links if link.startswith("/entry/")]
    assert len(links) > 60
    assert {site.get(link).status for link in links} == {200}


def _read_twice(site: Site) -> tuple[str, str]:
    """Tank 1 read as 0.03, and by somebody else as 0.09. Gives both entries."""
    site.until("S5")
    inputs = {"quantity": "total_chlorine", "place": "tank1", "typed": "0.03", "method": "meter"}
    first = site.do(setup.measure, **inputs).entries[0]
    site.clock.pass_time(timedelta(seconds=30))
    values = {"total_chlorine@tank1": "0.09"}
    check = site.do(rereading.second_check, by=ILKA, step="S5", how="person", values=values).entries[0]
    return first, check


@pytest.mark.source("practice:e", detail="H13: two independent readings")
def test_two_readings_that_differ_stand_side_by_side_and_one_is_said_to_hold(site: Site) -> None:
    first, check = _read_twice(site)
    assert f"/settle/{check}" in site.get("/setup/chlorine").links
    page = site.get(f"/settle/{check}")
    assert "0.03 mg/L" in page.text
    assert "The second reading: 0.09 mg/L" in page.text
    assert "Reading both again is the better way." in page.text
    assert site.fill(page, f"/settle/{check}", holds=first, reason="").status == 409
    assert site.desk.views["S5"].differed
    kept = site.fill(page, f"/settle/{check}", holds=first, reason="the meter was on hold")
    assert kept.status == 303
    assert site.desk.views["S5"].status is Status.SECOND
    assert site.get(f"/settle/{check}").status == 404


def test_the_second_reading_may_hold_and_then_the_first_is_read_again(site: Site) -> None:
    _, check = _read_twice(site)
    page = site.get(f"/settle/{check}")
    assert site.fill(page, f"/settle/{check}", holds=check, reason="the first was typed wrong").status == 303
    assert site.desk.views["S5"].status is Status.OPEN


def test_running_by_mistake_says_how_to_put_it_right_and_is_not_taken_back(site: Site) -> None:
    site.set_up()
    kept = site.do(already_running).entries[0]
    page = site.get(f"/entry/{kept}")
    assert "Was this a mistake, and no blood ran?" in page.text
    assert "Go to coming off. Say that no blood was given back." in page.text
    assert "/off" in page.links
    assert all(form.action != f"/entry/{kept}/back" for form in page.forms)
    key = site.act(lambda house: house.ids.new())
    refused = site.post(f"/entry/{kept}/back", {"reason": "a slip", "key": key})
    assert refused.status == 409
    assert "If no blood ran: put its words right" in refused.text
    assert site.desk.phase is Phase.RUNNING


def test_the_night_page_leads_there_when_checks_were_open(site: Site) -> None:
    site.open_night()
    kept = site.do(already_running).entries[0]
    assert f"/entry/{kept}#mistake" in site.get("/night").links


def test_the_entry_of_blood_found_running_names_every_check_that_was_open(site: Site) -> None:
    site.open_night()
    entry = site.do(already_running, words="").entries[0]
    page = site.get(f"/entry/{entry}").text
    (fact,) = site.desk.treatment.of("already_running")
    held = getattr(fact.body, "open_holds", ())
    assert len(held) > 40
    assert all(re.search(rf"\b{step} ", page) for step in held)
