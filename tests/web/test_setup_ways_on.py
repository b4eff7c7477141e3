"""Setting up by the pages: where a step is shut, the ways on; who may; and the ways out."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta

import pytest

from ebbwell.deeds import record, setup, upkeep
from ebbwell.deeds.steps import adopt_steps
from ebbwell.journal.kinds.marks import Skipped
from ebbwell.journal.kinds.night import AlreadyRunning
from ebbwell.journal.kinds.orders import Advice
from ebbwell.procedure.holds import Status
from ebbwell.procedure.load import load_procedure
from ebbwell.procedure.own import with_words
from ebbwell.sim.household import BRAM, ILKA, TOVE
from ebbwell.state.night import Phase
from tests.web.evening import Evening
from tests.web.site import Site, up_to
from tests.web.test_setup import ANSWERS, QUESTIONS, WATER, hhmm, measured, send, status

# -- shut, and the ways on -------------------------------------------------------------------------------------------


@pytest.mark.source("practice:b", detail="S29: access looked at; a red one needs the unit's word")
def test_a_pick_that_shuts_a_step_is_named_with_what_the_step_asks_for(site: Site) -> None:
    site.until("S29c")
    page = site.get("/setup/person")
    sent = {
        "S29c.access_look": "red_or_swollen",
        "S29c.access_listen": "low_and_steady",
        "S29c.access_feel": "a_buzz",
    }
    assert send(site, "/setup/person", sent, page).status == 303
    assert status(site, "S29c") is Status.BARRED
    text = site.get("/setup/person").text
    assert "You said: Red or swollen. The step asks for: As on other nights." in text
    assert "call your unit" in text


def test_chlorine_over_its_limit_says_what_to_do_and_when_to_draw_again(site: Site) -> None:
    site.until("S5")
    page = send(site, "/setup/chlorine", {WATER: "0.15", f"{WATER}.method": "meter"})
    onward = site.get(send(site, "/setup/chlorine", {"as_typed": WATER}, page).to).to
    assert onward.startswith("/setup/chlorine")
    assert (
        "Chlorine harms blood. Don't connect."
        in site.get(onward).text.partition("Total chlorine, after tank 2")[0]
    )
    page = site.get("/setup/chlorine")
    assert (
        "Test the water after tank 1 for total chlorine. Not yet: Total chlorine after tank 1 is" in page.text
    )
    again = hhmm(site.clock.now().at + timedelta(minutes=10))
    assert f"Draw again at {again}" in page.text
    assert "is 0.15 mg/L. The limit is 0.10 mg/L" in page.text
    assert "/setup/S6" in page.links
    assert "S5.unit.who" not in page.form("/setup/chlorine").names


@pytest.mark.source(
    "fluids:1.3", detail="over the limit: don't connect, run 10 minutes, draw again, tell the unit"
)
def test_a_test_made_again_too_soon_still_says_not_to_connect_and_to_call(site: Site) -> None:
    site.until("S5")
    page = send(site, "/setup/chlorine", {WATER: "0.15", f"{WATER}.method": "meter"})
    assert send(site, "/setup/chlorine", {"as_typed": WATER}, page).status == 303
    site.clock.pass_time(timedelta(minutes=3))
    assert send(site, "/setup/chlorine", {WATER: "0.02", f"{WATER}.method": "meter"}).status == 303
    text = site.get("/setup/chlorine").text
    assert "A test was over the limit. Don't connect." in text
    assert "If your unit doesn't know yet, call it now." in text


def test_the_units_word_opens_what_the_unit_may_open(site: Site) -> None:
    site.open_night()
    send(site, QUESTIONS, {**ANSWERS, "S0.fall": "yes"})
    page = site.get(QUESTIONS)
    assert "The answer needs the unit's word first." in page.text
    assert "Call your unit" in page.text
    said = {"S0.unit.who": "Northmere, home team", "S0.unit.words": "Go on.", "S0.unit.allows": "yes"}
    assert send(site, QUESTIONS, {**said, "act": "unit:S0"}, page).status == 303
    advice = site.desk.treatment.of("advice")[0].body
    assert isinstance(advice, Advice)
    assert (advice.who, advice.about, advice.allows) == ("Northmere, home team", ("S0",), True)
    assert status(site, "S0") is Status.MET


@pytest.mark.source(
    "practice:b", detail="S0: breathless at rest or chest pain: the emergency number, no set-up"
)
def test_chest_pain_leads_to_the_call_and_to_nothing_else(site: Site) -> None:
    site.open_night()
    page = site.get(QUESTIONS)
    assert "If yes: call the emergency number now." in page.text
    send(site, QUESTIONS, {"S0.breathless_chest_pain": "yes"}, page)
    page = site.get("/setup")
    assert page.status == 200
    assert "Call the emergency number now" in page.text
    assert {"/call-off", "/unit-said", "/running"} <= set(page.links)
    assert not any(link.startswith("/setup/") for link in page.links)
    assert site.get("/setup/packs").to == "/setup"
    said = {"unit__who": "the doctor", "unit__words": "It was the rib. Go on.", "about": "S0"}
    said |= {"unit__outcome": "said", "unit__allows": "yes"}
    assert site.fill(site.get("/unit-said"), "/unit-said", **said).status == 303
    assert site.get("/setup").to == QUESTIONS


@pytest.mark.source("practice:b", detail="S0: chest pain: the emergency number, no set-up")
@pytest.mark.parametrize("outcome", ["no_answer", "not_called"])
def test_a_call_that_nobody_answered_or_made_leaves_the_call_on_the_screen(site: Site, outcome: str) -> None:
    site.open_night()
    send(site, QUESTIONS, {"S0.breathless_chest_pain": "yes"})
    page = site.get("/unit-said")
    assert not re.search(r'name="unit.outcome"[^>]*checked', page.html)
    said = {"unit__who": "nobody", "unit__words": "not called", "about": "S0"}
    assert "Pick what came of the call" in site.fill(page, "/unit-said", **said).text
    said["unit__outcome"] = outcome
    allowed = site.fill(site.get("/unit-said"), "/unit-said", **said, unit__allows="yes")
    assert "Nobody at the unit spoke" in allowed.text
    assert site.desk.treatment.of("advice") == ()
    kept = site.get(site.fill(site.get("/unit-said"), "/unit-said", **said).to.partition("?")[0])
    assert "Nobody at the unit has spoken." in kept.text
    assert "Call the emergency number now" in site.get("/setup").text


@pytest.mark.parametrize("outcome", ["no_answer", "not_called"])
def test_a_step_that_needs_the_units_word_stays_shut_where_nobody_spoke(site: Site, outcome: str) -> None:
    site.open_night()
    send(site, QUESTIONS, {**ANSWERS, "S0.fall": "yes"})
    said = {"S0.unit.allows": outcome, "act": "unit:S0"}
    assert send(site, QUESTIONS, said, site.get(QUESTIONS)).status == 303
    (advice,) = (f.body for f in site.desk.treatment.of("advice"))
    assert isinstance(advice, Advice)
    assert (advice.outcome, advice.allows, advice.about) == (outcome, False, ("S0",))
    assert status(site, "S0") is Status.BARRED


def test_a_slip_in_that_answer_is_put_right_and_the_set_up_goes_on(site: Site) -> None:
    site.open_night()
    send(site, QUESTIONS, {"S0.breathless_chest_pain": "yes"})
    entry = next(link for link in site.get("/setup").links if link.startswith("/entry/"))
    assert site.get(entry).status == 200
    site.do(record.correct, of=entry.removeprefix("/entry/"), changes={"answer": "no"}, reason="a slip")
    assert site.get("/setup").to == QUESTIONS


def test_advice_needs_a_name_and_says_whether_it_allows(site: Site) -> None:
    site.open_night()
    send(site, QUESTIONS, {**ANSWERS, "S0.fall": "yes"})
    said = {"act": "unit:S0", "S0.unit.words": "Go on."}
    assert "Choose if the unit said" in send(site, QUESTIONS, said).text
    page = send(site, QUESTIONS, {**said, "S0.unit.allows": "yes"})
    assert "Enter who at the unit said it." in page.text
    assert site.desk.treatment.of("advice") == ()


def test_a_step_is_left_out_only_with_its_reason(site: Site) -> None:
    site.until("S4")
    page = send(site, "/setup/room_and_water", {"act": "skip:S4"})
    assert "Enter the reason in a few words." in page.text
    sent = {"act": "skip:S4", "S4.skip.reason": "no gauges here", "S1.tick": "yes"}
    assert send(site, "/setup/room_and_water", sent, page).status == 303
    body = site.desk.treatment.of("skipped")[0].body
    assert isinstance(body, Skipped)
    assert body.reason == "no gauges here"
    assert status(site, "S1") is Status.MET


def test_a_reason_without_its_button_leaves_nothing_out_and_is_not_lost(site: Site) -> None:
    site.until("S4")
    page = send(site, "/setup/room_and_water", {"S4.skip.reason": "no gauges here", "S1.tick": "yes"})
    assert page.status == 409
    assert "These words are kept with the button below them." in page.text
    assert page.form("/setup/room_and_water").fields["S4.skip.reason"] == ["no gauges here"]
    assert site.desk.treatment.of("skipped") == ()
    assert status(site, "S1") is Status.MET


def test_the_own_meter_is_left_out_only_with_a_name_at_the_unit(site: Site) -> None:
    site.until("S23c")
    sent = {"act": "skip:S23c", "S23c.skip.reason": "the meter is broken"}
    assert "Enter who at the unit agreed." in send(site, "/setup/S23c", sent).text
    assert send(site, "/setup/S23c", {**sent, "S23c.skip.unit": "the home team"}).status == 303
    assert status(site, "S23c") is Status.SKIPPED


def test_what_went_stale_says_so_and_is_asked_again(site: Site) -> None:
    site.until("S6")
    site.do(setup.happened, what="water_restart")
    page = site.get("/setup/room_and_water")
    assert status(site, "S3") is Status.STALE
    assert "too old now, or something changed since" in page.text
    assert "Do it again here:" in page.text
    send(site, "/setup/room_and_water", {"S3.supply_pressure": "as_usual"}, page)
    assert status(site, "S3") is Status.WAITING
    assert site.desk.treatment.disagreements() == {}


@pytest.mark.source("practice:b", detail="S21: the machine's own tests have to be passed")
def test_a_failed_test_is_told_at_once_also_while_another_answer_is_missing(site: Site) -> None:
    site.until("S21")
    after = send(site, "/setup/S21", {"S21.machine_tests": "failed"})
    assert after.status == 303
    page = site.get(site.get(after.to).to)
    words = "You said: Failed. The step asks for: Passed."
    assert words in page.text
    assert words in site.get("/setup/S21").text
    assert "If they fail again, don't go on with this machine." in site.get("/setup/S21").text
    assert {"S21.machine_tests", "S21.tests_failed_first"} <= site.get("/setup/S21").form("/setup/S21").names
    assert "let it do its tests again. If they fail again, don't go on" in site.get("/").text
    passed = {
        "S21.machine_tests": "passed",
        "S21.tests_failed_first": "yes",
        "S21.tests_failed_first.words": "a clamp",
    }
    assert send(site, "/setup/S21", passed).status == 303
    assert status(site, "S21") is Status.MET


def test_a_failed_test_with_every_answer_given_says_what_to_do_on_its_own_page(site: Site) -> None:
    site.until("S21")
    answers = {"S21.machine_tests": "failed", "S21.tests_failed_first": "no"}
    assert send(site, "/setup/S21", answers).status == 303
    assert status(site, "S21") is Status.BARRED
    page = site.get("/setup/S21")
    assert (
        "If they fail again, don't go on with this machine. Call your technician or your unit." in page.text
    )


@pytest.mark.source(
    "arithmetic", detail="1,500 units of 1,000 units/mL; 900 units/h; 6 h 30 min; 1.0 mL in the line"
)
@pytest.mark.source("practice:b", detail="the syringe is filled as the order says")
def test_what_is_drawn_up_stands_in_millilitres_on_its_step(site: Site) -> None:
    site.until("S18d")
    page = site.get("/setup/S18d").text
    assert "Volume of the heparin first dose: 1.5 mL" in page
    assert "Heparin pump rate: 0.9 mL/h" in page
    assert re.search(r"syringe[^:]*: [0-9.]+ mL", page)


@pytest.mark.source("practice:b", detail="S7: last disinfection kind and hours ago")
def test_the_last_cleaning_on_record_stands_where_it_is_asked_about(site: Site) -> None:
    site.until("S7")
    assert re.search(r"Last cleaning in this record: [^.]*heat[^.]*[0-9] min ago", site.get("/setup/S7").text)


@pytest.mark.source("practice:b", detail="S7: last disinfection kind and hours ago")
@pytest.mark.source(
    "arithmetic", detail="23:40 UTC on 28 April is 00:40 on 29 April in the home's summer time"
)
def test_the_last_cleaning_has_the_day_of_the_homes_clock(site: Site) -> None:
    site.move_in()
    then = datetime(2026, 4, 29, 23, 40, tzinfo=UTC)
    site.clock.pass_time(then + timedelta(minutes=10) - site.clock.now().at)
    site.do(upkeep.disinfect, agent="heat", what="rinse", started_at=then, ended_at=then)
    site.do(setup.open_night)
    site.act(lambda house: up_to(house, site.clock, "S7"))
    page = site.get("/setup/S7").text
    assert re.search(r"Last cleaning in this record: [^.]*rinse, 30 April 2026 00:40", page)


@pytest.mark.source("practice:b", detail="S21: a failed test is never passed on another try without a note")
def test_after_a_failed_machine_test_it_is_asked_again_whether_one_failed_first(site: Site) -> None:
    site.until("S21")
    send(site, "/setup/S21", {"S21.machine_tests": "failed", "S21.tests_failed_first": "no"})
    page = site.get("/setup/S21")
    assert {"S21.machine_tests", "S21.tests_failed_first"} <= page.form("/setup/S21").names
    passed = {"S21.machine_tests": "passed", "S21.tests_failed_first": "yes"}
    page = send(site, "/setup/S21", passed, page)
    assert "Enter it in a few words." in page.text
    assert status(site, "S21") is Status.BARRED
    assert page.form("/setup/S21").fields["S21.machine_tests"] == ["passed"]
    words = {"S21.tests_failed_first.words": "a clamp was shut"}
    assert send(site, "/setup/S21", words, page).status == 303
    assert status(site, "S21") is Status.MET
    held = site.desk.treatment.at_slot("answer", "tests_failed_first")
    assert [getattr(f.body, "words", "") for f in held] == ["a clamp was shut"]


@pytest.mark.source("practice:b", detail="S21: a failed test is never passed on another try without a note")
@pytest.mark.parametrize("again", [{"S21.tests_failed_first": "no"}, {}], ids=["no", "left open"])
def test_a_failed_test_on_record_wins_over_a_no(site: Site, again: dict[str, str]) -> None:
    site.until("S21")
    send(site, "/setup/S21", {"S21.machine_tests": "failed", "S21.tests_failed_first": "no"})
    send(site, "/setup/S21", {"S21.machine_tests": "passed", **again})
    assert status(site, "S21") is Status.BARRED
    page = site.get("/setup/S21")
    assert "A test that failed tonight is on record." in page.text
    assert "S21.tests_failed_first" in page.form("/setup/S21").names
    words = {"S21.tests_failed_first": "yes", "S21.tests_failed_first.words": "a clamp was shut"}
    send(site, "/setup/S21", words, page)
    assert status(site, "S21") is Status.MET


def test_two_values_lead_to_settling_and_can_be_measured_again(site: Site) -> None:
    site.until("S29")
    site.do(setup.measure, quantity="weight_before", typed="66.3")
    site.do(setup.measure, quantity="weight_before", typed="66.9")
    page = site.get("/setup/person")
    assert status(site, "S29") is Status.UNSETTLED
    assert any(link.startswith("/settle/") for link in page.links)
    assert send(site, "/setup/person", {"S29.weight_before": "66.4"}, page).status == 303
    assert [b.value for b in measured(site, "weight_before")] == ["66.4"]


def test_after_a_restart_the_clock_is_asked_about(site: Site) -> None:
    site.until("S6")
    assert status(site, "S0") is Status.MET
    site.clock.restart("boot-2")
    page = site.get(QUESTIONS)
    assert status(site, "S0") is Status.NOT_KNOWN
    assert "Look at another clock. Is it right?" in page.text
    assert send(site, QUESTIONS, {"clock": "yes"}, page).status == 303
    assert status(site, "S0") is Status.MET


def test_a_shut_step_names_what_comes_first(site: Site) -> None:
    site.open_night()
    page = site.get("/setup/packs")
    assert "Not yet. Do this first:" in page.text
    assert "S12.dialyser.code" not in page.form("/setup/packs").names


def test_settings_wait_for_the_plan_and_are_typed_without_seeing_it(site: Site) -> None:
    site.until("S26")
    page = site.get("/setup/settings")
    assert "Agree the plan first." in page.text
    assert "S26.blood_flow" not in page.form("/setup/settings").names
    evening = Evening(site)
    evening.linked("/setup/settings", page)
    page = site.get("/setup/settings")
    assert "S26.blood_flow" in page.form("/setup/settings").names
    body = page.html[page.html.index("<form") :]
    for figure in ("306", "2.3", "230", "36.5"):
        assert figure not in body


def test_a_setting_that_differs_is_named_and_read_again(site: Site) -> None:
    site.until("S26")
    evening = Evening(site)
    evening.linked("/setup/settings", site.get("/setup/settings"))
    page = site.get("/setup/settings")
    sent = evening.filled_in("/setup/settings", page)
    assert send(site, "/setup/settings", {**sent, "S26.blood_flow": "320"}, page).status == 303
    page = site.get("/setup/settings")
    assert "The machine is not set to what the plan or the prescription says." in page.text
    assert "Blood flow: machine 320 mL/min, plan 230 mL/min" in page.text
    told = site.get("/setup/settings?saved=S26").text
    assert "until the second reading" not in told, "there is none for what is typed blind against the plan"
    assert "What was read is shown when all of it was read and is as planned." in told
    names = {name for name in page.form("/setup/settings").names if name.startswith("S26.")}
    assert "S26.blood_flow" in names
    assert "S26.sodium" not in names


def test_later_goes_on_with_something_else_and_comes_back(site: Site) -> None:
    site.until("S3")
    page = site.get("/setup/room_and_water")
    later = next(link for link in page.links if link.startswith("/setup?later="))
    onward = site.get(later)
    assert onward.status == 303
    assert not onward.to.startswith("/setup/room_and_water")
    assert "later=" in onward.to


# -- who ------------------------------------------------------------------------------------------------------------


def test_who_is_not_signed_off_is_told_whom_to_call(site: Site) -> None:
    site.until("S30a")
    site.who = TOVE
    assert send(site, "/setup/S30a", {"S30a.skin": "clean_and_dry"}).status == 303
    send(site, "/setup/S30b", {"S30b.scabs": "none_there", "S30b.skin_again": "clean_and_dry"})
    page = send(site, "/setup/S30", {"S30.flashback": "both_needles"})
    assert page.status == 409
    assert "You are not signed off to put needles in." in page.text


def test_nobody_in_particular_keeps_nothing(site: Site) -> None:
    site.open_night()
    site.who = "bedside"
    page = send(site, QUESTIONS, ANSWERS)
    assert page.status == 409
    assert "You are not signed off to set up, or you are not entered here." in page.text
    assert site.desk.treatment.of("answer") == ()


# -- out --------------------------------------------------------------------------------------------------------------


def test_calling_the_night_off_needs_a_reason(site: Site) -> None:
    site.open_night()
    page = site.get("/call-off")
    assert site.fill(page, "/call-off").status == 409
    answer = site.fill(page, "/call-off", why="chlorine over the limit twice")
    assert answer.status == 303
    assert site.desk.phase in (Phase.NONE, Phase.CALLED_OFF)


def test_blood_that_runs_already_is_never_refused(site: Site) -> None:
    site.open_night()
    for who in ("bedside", ILKA, TOVE, BRAM):
        fresh = Site()
        fresh.open_night()
        fresh.who = who
        page = fresh.get("/running")
        answer = fresh.fill(page, "/running", words="found it so")
        assert (answer.status, answer.to.partition("?")[0]) == (303, "/night")
        body = fresh.desk.treatment.of("already_running")[0].body
        assert isinstance(body, AlreadyRunning)
        assert len(body.open_holds) > 40
        night = fresh.get("/night").text
        assert f"Call now: blood runs, and {len(body.open_holds)} checks were open." in night
        assert "S5 Test the water after tank 1" in night
        fresh.close()
    assert "/running" in site.get(QUESTIONS).links
    assert "/running" in site.get("/connect").links


def test_connect_shows_each_thing_that_keeps_it_shut_with_its_place(site: Site) -> None:
    site.open_night()
    page = site.get("/connect")
    assert f"Not yet. {len(site.desk.bars)} things keep connecting shut:" in page.text
    assert "/setup/packs" in page.links
    assert page.forms == [] or all(form.action != "/connect" for form in page.forms)


def test_connecting_takes_an_earlier_time_but_none_from_before_the_last_check(site: Site) -> None:
    site.set_up()
    site.clock.pass_time(timedelta(minutes=10))
    early = hhmm(site.clock.now().at - timedelta(hours=1))
    page = send(site, "/connect", {"at": early})
    assert page.status == 409
    assert "At that time not all checks were done." in page.text
    fit = hhmm(site.clock.now().at - timedelta(minutes=4))
    assert send(site, "/connect", {"at": fit}).status == 303
    assert site.desk.phase is Phase.RUNNING


def test_the_stand_in_is_told_that_she_may_not_connect(site: Site) -> None:
    site.set_up()
    site.who = TOVE
    page = send(site, "/connect", {})
    assert page.status == 409
    assert "You are not signed off to connect." in page.text
    assert site.desk.phase is Phase.SETTING_UP


def test_the_unit_said_page_takes_words_about_no_step(site: Site) -> None:
    site.open_night()
    page = site.get("/unit-said")
    assert site.fill(page, "/unit-said", unit__who="the home team", unit__words="Drink less.").status == 303
    body = site.desk.treatment.of("advice")[0].body
    assert isinstance(body, Advice)
    assert (body.about, body.allows) == ((), False)


def test_a_step_of_the_household_stands_in_its_own_words(site: Site) -> None:
    site.move_in()
    step = """
[[step]]
id = "S50"
kind = "hold"
stage = "setup"
gate = "connect"
block = "room"
after = ["S2"]
evidence = ["choice:attic_tap"]
options.attic_tap = ["shut", "drips"]
wants.attic_tap = ["shut"]
"""
    words = {
        **{f"step.S50.{part}": "Look at the tap in the attic." for part in ("do", "why", "how")},
        "choice.attic_tap": "How is the tap?",
        "option.attic_tap.shut": "Shut tight",
        "option.attic_tap.drips": "It drips",
    }
    site.do(adopt_steps, text=with_words(load_procedure().text + step, words))
    site.do(setup.open_night)
    send(site, QUESTIONS, ANSWERS)
    site.fill(site.get("/prescription/read"), "/prescription/read", version_read="3")
    page = site.get("/setup/S50")
    for words_shown in ("How is the tap?", "Shut tight", "It drips"):
        assert words_shown in page.text
    assert send(site, "/setup/S50", {"S50.attic_tap": "drips"}, page).status == 303
    assert status(site, "S50") is Status.BARRED
    assert send(site, "/setup/S50", {"S50.attic_tap": "shut"}).status == 303
    assert status(site, "S50") is Status.MET


@pytest.mark.source(
    "design",
    detail="section 5: a hold's entry that is withdrawn after connecting is a finding, never a rewind",
)
def test_a_check_that_is_taken_back_after_connecting_is_told_there_and_on_the_night_page(site: Site) -> None:
    site.connect()
    words = "An entry that a check rested on was changed after connecting (S5 "
    assert words not in site.get("/night").text
    fact = site.desk.treatment.at_slot("measured", "total_chlorine", "tank1")[0]
    page = site.get(f"/entry/{fact.id}")
    answer = site.fill(page, f"/entry/{fact.id}/back", reason="it was another day's test")
    assert words in site.get(answer.to).text
    assert words in site.get("/night").text
    assert site.desk.phase is Phase.RUNNING


@pytest.mark.source("practice:d", detail="the unit's own limits for the two pressures are set on the machine")
def test_the_limits_of_the_order_stand_where_the_machine_is_set(site: Site) -> None:
    site.until("S24")
    page = site.get("/setup/alarms").text
    assert "Venous pressure limit 200 mmHg" in page
    assert "Arterial pressure limit -180 mmHg" in page
