"""While "not tonight" holds, every page says so, and no page asks for a reason."""

from __future__ import annotations

from datetime import timedelta

import pytest

from ebbwell.deeds import comeoff, person, setup
from ebbwell.journal.kinds.night import Closed
from ebbwell.papers.standing_now import open_lines
from ebbwell.papers.words import step_words
from ebbwell.sim.household import BRAM, ILKA
from ebbwell.state.night import Phase
from tests.web.site import Site

PAGES = ("/off", "/night", "/happened", "/plan", "/prescription", "/hand-over", "/nights", "/people", "/who")
"""Pages of the house with nothing of their own about it."""

LINE = "Not tonight, said at 20:00 by Ilka Venn, the person on dialysis."


@pytest.mark.source("design", detail="2: the person's own word holds")
@pytest.mark.parametrize("night", [True, False], ids=["a night open", "no night"])
def test_every_page_says_in_one_line_that_not_tonight_holds(site: Site, night: bool) -> None:
    site.open_night() if night else site.move_in()
    assert not [address for address in PAGES if "Not tonight, said" in site.get(address).text]
    site.do(person.not_tonight, by=ILKA)
    for address in PAGES:
        page = site.get(address)
        assert LINE in page.text, address
        assert "/mine" in page.links, address
    for address in ("/", "/mine"):
        page = site.get(address)
        assert LINE not in page.text
        assert "Not tonight" in page.text
    site.do(person.tonight_after_all, by=ILKA)
    still = [address for address in PAGES if LINE in site.get(address).text]
    assert still == ([] if night else ["/nights"]), "an evening without a night stands among the past ones"
    assert night or f"{LINE} 20:00 taken back under the name Ilka Venn" in site.get("/nights").text


@pytest.mark.parametrize(
    ("by", "said_by", "words"),
    [
        (BRAM, "carer", "by Bram Venn for the person on dialysis."),
        (BRAM, "person", "by the person on dialysis."),
        ("bedside", "carer", "by somebody at this screen for the person on dialysis."),
    ],
)
def test_the_line_says_who_said_it(site: Site, by: str, said_by: str, words: str) -> None:
    site.move_in()
    site.do(person.not_tonight, by=by, said_by=said_by)
    assert f"Not tonight, said at 20:00 {words}" in site.get("/off").text


def test_without_a_night_the_line_goes_after_twelve_hours(site: Site) -> None:
    site.move_in()
    site.do(person.not_tonight, by=ILKA)
    site.clock.pass_time(timedelta(hours=12))
    assert "Not tonight, said" not in site.get("/off").text


def test_a_night_that_the_person_said_no_to_is_called_off_without_a_reason(site: Site) -> None:
    site.open_night()
    treatment = site.desk.treatment_id
    site.do(person.not_tonight, by=ILKA)
    page = site.get("/call-off")
    assert LINE in page.text
    assert "No reason is asked for." in page.text
    assert "why" not in page.form("/call-off").names
    assert "/setup" not in page.links
    assert site.fill(page, "/call-off").status == 303
    desk = site.act(lambda house: house.look(treatment=treatment))
    assert desk.phase is Phase.CALLED_OFF
    closed = desk.treatment.of("closed")[0].body
    assert isinstance(closed, Closed)
    assert closed.words == ""
    sheet = site.get(f"/sheet/{treatment}").text
    assert "Called off at 20:00, before any blood ran: the person on dialysis said: not tonight" in sheet
    assert "The night was called off." in site.get("/?told=called_off").text


def test_set_up_without_a_night_says_why_it_leads_to_the_first_page(site: Site) -> None:
    site.move_in()
    sent = site.get("/setup")
    assert (sent.status, sent.to) == (303, "/?told=no_night")
    assert "No night is open, so there is nothing to set up yet." in site.get(sent.to).text
    site.do(setup.open_night)
    assert "No night is open" not in site.get("/?told=no_night").text
    assert "no_such_word" not in site.get("/?told=no_such_word").html


@pytest.mark.source(
    "design", detail="what has happened can always be recorded; what nobody knows is not made up"
)
@pytest.mark.parametrize(
    ("typed", "told"), [("", "When blood began to run isn't known"), ("19:30", "first blood 19:30")]
)
def test_blood_that_ran_against_a_no_has_no_made_up_start(site: Site, typed: str, told: str) -> None:
    site.move_in()
    site.do(person.not_tonight, by=ILKA)
    page = site.get("/off")
    assert page.text.count(LINE) == 2
    assert site.fill(page, "/off", act="off", blood="none", began=typed).status == 303
    treatment = site.desk.treatment_id
    sheet = site.get(f"/sheet/{treatment}").text
    assert told in sheet
    assert ("first blood 20:00" in sheet) is False
    assert "20:00 The person on dialysis said: not tonight" in sheet
    known = site.desk.past[str(treatment)].first_blood
    assert (known is None) is (typed == "")
    if not typed:
        assert "blood ran; from when isn't known. Not tonight was said at 20:00 and not taken back." in sheet


def test_a_start_after_the_pump_stopped_is_asked_again(site: Site) -> None:
    site.move_in()
    rows = site.rows
    page = site.get("/off")
    seen = site.fill(page, "/off", act="off", blood="none", began="19:40", pump_stopped="19:30")
    assert seen.status == 409
    assert site.rows == rows


def test_once_off_no_step_of_the_running_hours_is_asked(site: Site) -> None:
    site.connect()
    step = step_words(site.desk.procedure, "S33")
    assert step in site.get("/").text
    site.do(comeoff.come_off)
    assert step not in site.get("/").text
    assert step not in open_lines(site.desk)
    assert open_lines(site.desk)


@pytest.mark.source(
    "practice:d", detail="what is felt and asks for a call: what the unit said is written down"
)
def test_what_is_felt_leads_to_where_the_word_of_the_unit_is_written(site: Site) -> None:
    site.connect()
    assert "/happened/unit" not in site.get("/").links
    site.do(person.say_symptom, by=ILKA, symptom="dizzy_faint")
    for address in ("/", "/night"):
        assert "/happened/unit" in site.get(address).links, address
    page = site.get("/happened/unit")
    assert "dizzy or about to faint" in page.text
    site.fill(page, "/happened/unit", outcome="said", who="Sister Aun", words="Lay the legs up")
    assert "dizzy or about to faint" not in site.get("/happened/unit").text
    assert "Lay the legs up" in site.get(f"/sheet/{site.desk.treatment_id}").text
