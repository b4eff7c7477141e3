"""Tonight: one next thing, what is open, what changed, the course of the night; the clock asked about first."""

from __future__ import annotations

from datetime import timedelta

import pytest

from ebbwell.deeds import comeoff, person, setup
from ebbwell.deeds.connect import already_running
from ebbwell.deeds.orders import advise, transcribe
from ebbwell.journal.kinds.orders import Plan
from ebbwell.papers.words import clock
from ebbwell.procedure.scene import CLOCK_QUESTION
from ebbwell.sim.household import ILKA, PRESCRIPTION, UNIT, ZONE
from ebbwell.state.night import Phase
from tests.web.site import Site, up_to


def test_without_a_home_it_leads_to_the_beginning(site: Site) -> None:
    seen = site.get("/")
    assert (seen.status, seen.to) == (303, "/begin")


def test_between_nights_one_button_opens_tonight_and_leads_to_the_set_up(site: Site) -> None:
    site.move_in()
    page = site.get("/")
    assert "Tonight, Wednesday 29 April" in page.text
    assert "Begin the night when you are ready" in page.text
    assert "It hears no alarm and calls nobody" in page.text
    rows = site.rows
    seen = site.fill(page, "/")
    assert (seen.status, seen.to) == (303, "/setup")
    assert site.desk.phase is Phase.SETTING_UP
    assert site.rows > rows


def test_the_same_form_sent_twice_opens_one_night(site: Site) -> None:
    site.move_in()
    page = site.get("/")
    site.fill(page, "/")
    rows = site.rows
    assert site.fill(page, "/").status in (303, 409)
    assert site.rows == rows
    assert len(site.desk.past) == 1


def test_a_stale_tab_opens_no_second_night_and_says_why(site: Site) -> None:
    site.move_in()
    stale = site.get("/")
    site.do(setup.open_night)
    rows = site.rows
    seen = site.fill(stale, "/")
    assert seen.status == 409
    assert "Not kept yet" in seen.text
    assert site.rows == rows


def test_an_order_without_its_second_check_comes_first(site: Site) -> None:
    site.move_in()
    lines = dict(PRESCRIPTION, target_weight="64.0")
    done = site.do(transcribe, number="4", giver=UNIT, valid_from="2026-04-29", lines=lines)
    page = site.get("/")
    assert f"/prescription/check/{done.entries[0]}" in page.links
    assert not [form for form in page.forms if form.action == "/"]


def test_what_is_open_leads_to_its_bundle_with_marks(site: Site) -> None:
    site.open_night()
    page = site.get("/")
    assert "Still open" in page.text
    assert "Questions before you begin: 0 of" in page.text
    assert "still open, connecting waits for it" in page.html
    assert any(link.startswith("/setup/") for link in page.links)
    assert "/setup" in page.links


def test_what_waits_stands_with_the_time_at_which_it_is_over(site: Site) -> None:
    site.until("S4")
    site.clock.pass_time(timedelta(minutes=1))
    step = site.desk.procedure.step("S3")
    site.do(setup.choose, step="S3", name="supply_pressure", option=step.options["supply_pressure"][0])
    site.do(setup.start_wait, step="S3")
    length = next(e.length for e in step.evidence if e.form == "wait")
    assert length is not None
    over = site.desk.treatment.of("waited")[-1].at + length
    page = site.get("/")
    assert f"What waits {over + timedelta(hours=1):%H:%M} Then its wait is over: S3" in page.text


def test_set_up_whole_it_leads_to_connecting(site: Site) -> None:
    site.set_up()
    page = site.get("/")
    assert "/connect" in page.links
    assert "By the clock, as planned" in page.text


@pytest.mark.source(
    "arithmetic", detail="first blood 20:30 Dublin; 450 min later 04:00; heparin off 60 min before"
)
def test_while_blood_runs_the_course_is_counted_from_first_blood(site: Site) -> None:
    site.connect()
    page = site.get("/")
    assert "/night" in page.links
    start = site.desk.treatment.of("connected")[0].at
    end = start + timedelta(minutes=450)
    assert f"Thu {(end + timedelta(hours=1)):%H:%M}" in page.text
    assert f"Thu {(end - timedelta(minutes=60) + timedelta(hours=1)):%H:%M}" in page.text
    assert "End: 7 h 30 min done" in page.text


@pytest.mark.source("arithmetic", detail="450 min of treatment, heparin off 60 min before, from first blood")
def test_while_blood_runs_the_page_tells_one_end_and_one_time_for_heparin(site: Site) -> None:
    site.connect()
    end = site.desk.treatment.of("connected")[0].at + timedelta(minutes=450)
    text = site.get("/").text
    planned = site.desk.treatment.last("plan")
    assert isinstance(planned.body, Plan)
    assert planned.body.figures["finish_at"] != clock(end, ZONE), "agreed for another time than blood ran"
    assert f"End of treatment: {clock(end, ZONE)}, counted from first blood" in text
    off = clock(end - timedelta(minutes=60), ZONE)
    assert f"Heparin stops: {off}, counted from first blood" in text
    assert text.count("End of treatment:") == 1


def test_blood_that_runs_with_checks_open_says_call_now_on_this_page_too(site: Site) -> None:
    site.until("S9")
    site.do(already_running)
    assert "Call now: blood runs, and" in site.get("/").text


def test_after_a_restart_the_clock_is_asked_about_first_and_the_answer_is_kept(site: Site) -> None:
    site.until("S9")
    site.clock.pass_time(timedelta(minutes=1))
    site.clock.restart("boot-2")
    page = site.get("/")
    assert "This computer was started again" in page.text
    assert page.html.index("clock_right") < page.html.index('id="next"')
    seen = site.fill(page, "/clock", clock_right="yes")
    assert (seen.status, seen.to) == (303, "/")
    answer = site.desk.treatment.at_slot("answer", CLOCK_QUESTION)[-1]
    assert getattr(answer.body, "answer", "") == "yes"
    assert "This computer was started again" not in site.get("/").text


def test_an_answer_about_the_clock_that_is_none_is_refused(site: Site) -> None:
    site.until("S9")
    site.clock.restart("boot-2")
    page = site.get("/")
    rows = site.rows
    seen = site.post("/clock", {"key": page.form("/clock").fields["key"][0], "clock_right": "perhaps"})
    assert seen.status == 409
    assert site.rows == rows


def test_not_tonight_takes_the_button_away(site: Site) -> None:
    site.move_in()
    site.do(person.not_tonight, by=ILKA)
    page = site.get("/")
    until = site.clock.now().at + timedelta(hours=12)
    assert (
        f"No night can be opened until Thu {clock(until, ZONE)}, unless the person takes it back."
        in page.text
    )
    assert f"No night can be opened until Thu {clock(until, ZONE)}" in site.get("/mine").text
    assert "unit hears nothing from here" in page.text
    assert not [form for form in page.forms if form.action == "/"]
    key = site.act(lambda house: house.ids.new())
    rows = site.rows
    assert site.post("/", {"key": key}).status == 409
    assert site.rows == rows


def test_what_changed_since_the_last_night_stands_with_its_day(site: Site) -> None:
    site.connect()
    site.clock.pass_time(timedelta(hours=7, minutes=30))
    stopped = site.clock.now().at
    site.do(comeoff.come_off, times={"pump_stopped": stopped}, blood_returned="all")
    page = site.get("/")
    assert "/off" in page.links
    assert "By the clock, as planned" not in page.text
    site.clock.pass_time(timedelta(minutes=20))
    site.do(comeoff.person_safe, sure=(comeoff.UNSAID,))
    left = [v.step.id for v in site.desk.views.values() if v.step.gate == "close" and not v.passed]
    site.do(comeoff.close, because=dict.fromkeys(left, "not done in this test"))
    site.clock.pass_time(timedelta(hours=6))
    at = site.clock.now().at + timedelta(hours=1)
    site.do(advise, who="the home team", words="Ring us about the arm.")
    site.clock.pass_time(timedelta(days=1))
    page = site.get("/")
    assert f"What changed since the last night Thu {at:%H:%M}" in page.text
    assert "Ring us about the arm." in page.text


def test_the_looks_are_kept_in_the_browser_and_lead_back(site: Site) -> None:
    site.move_in()
    seen = site.post("/look", {"look": "night", "back": "/people"})
    assert (seen.status, seen.to) == (303, "/people")
    assert "look=night" in seen.headers["set-cookie"]
    assert "HttpOnly" in seen.headers["set-cookie"]
    seen = site.post("/look", {"look": "auto", "back": "/"})
    assert 'look=""' in seen.headers["set-cookie"]


@pytest.mark.parametrize(
    "back", ["//elsewhere.example/", "https://elsewhere.example/", "/\\elsewhere", "", "x"]
)
def test_a_look_never_leads_elsewhere(site: Site, back: str) -> None:
    assert site.post("/look", {"look": "day", "back": back}).to == "/"


def test_what_ages_greys_out_with_the_page_and_is_asked_for_anew(site: Site) -> None:
    site.set_up()
    html = site.get("/").html
    assert "data-fresh" in html
    assert 'class="row stale"' in html
    assert '<p class="stale">Agreed at' in html


def test_where_nobody_is_named_it_asks_who_is_here_first(site: Site) -> None:
    site.move_in()
    assert "Say who is here" not in site.get("/").text
    site.who = "bedside"
    page = site.get("/")
    assert page.text.index("Say who is here") < page.text.index("Begin the night")
    assert "/who" in page.links


def test_not_tonight_stands_above_a_night_that_was_opened(site: Site) -> None:
    site.open_night()
    site.do(person.not_tonight, by=ILKA)
    page = site.get("/")
    assert "Nothing is to be connected, unless the person takes it back." in page.text
    assert "/call-off" in page.links
    assert "S33" not in page.text, "no step of a night on which nothing ran is still to do"
    assert "C1 " not in page.text


def test_looking_writes_nothing(site: Site) -> None:
    site.open_night()
    rows = site.rows
    site.get("/")
    assert site.rows == rows


@pytest.mark.source("fluids:1.3", detail="rule 3: after tank 2 also over 0.1 the night is called off")
def test_a_value_that_stops_the_night_stands_above_the_next_step_and_is_told_once(site: Site) -> None:
    site.open_night()
    site.act(lambda house: up_to(house, site.clock, "S5"))
    for tank, typed in (("tank1", "0.13"), ("tank2", "0.11")):
        sure = ("outside_asked", "digits", "past_limit", "tenfold")
        site.do(setup.measure, quantity="total_chlorine", place=tank, typed=typed, method="meter", sure=sure)
    page = site.get("/")
    for value in ("0.13 mg/L", "0.11 mg/L"):
        assert page.text.count(value) == 1
        assert page.html.index(value) < page.html.index('id="next"')
    assert "S5b Test the water after tank 2 for total chlorine: The value keeps this step shut." in page.text
    assert "/call-off" in page.links


def test_a_night_that_a_value_stops_has_no_course_on_the_clock(site: Site) -> None:
    site.set_up()
    assert "By the clock, as planned" in site.get("/").text
    first = tuple(fact.id for fact in site.desk.treatment.at_slot("measured", "total_chlorine", "tank2"))
    sure = ("outside_asked", "digits", "past_limit", "tenfold")
    chlorine = {"quantity": "total_chlorine", "place": "tank2", "typed": "0.12", "method": "meter"}
    site.do(setup.measure, **chlorine, instead_of=first, sure=sure)
    page = site.get("/")
    assert "0.12 mg/L" in page.text
    assert "By the clock, as planned" not in page.text


def test_the_way_to_call_the_night_off_stands_on_this_page_only_where_a_value_stops_it(site: Site) -> None:
    site.open_night()
    assert "/call-off" not in site.get("/").links
