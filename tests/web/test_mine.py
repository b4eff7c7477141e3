"""The page of the person on dialysis: not tonight, stop, how it feels, notes, who may read what."""

from __future__ import annotations

from datetime import timedelta

import pytest

from ebbwell.deeds import comeoff, person, record, setup
from ebbwell.journal.kinds.bedside import Annotation, NotTonight
from ebbwell.journal.kinds.night import Event
from ebbwell.sim.household import BRAM, ILKA, TOVE
from ebbwell.state.night import Phase
from ebbwell.state.standing import held_back
from tests.web.site import Site


@pytest.fixture
def ilka(site: Site) -> Site:
    """The person on dialysis at the screen, a night being set up."""
    site.open_night()
    site.who = ILKA
    return site


def test_not_tonight_is_one_tap_without_a_reason_and_shuts_the_gate(ilka: Site) -> None:
    page = ilka.get("/mine")
    form = page.form("/mine/not-tonight")
    assert form.names == {"key"}
    assert ilka.fill(page, "/mine/not-tonight").status == 303
    desk = ilka.desk
    said = desk.treatment.of("not_tonight")[0].body
    assert isinstance(said, NotTonight)
    assert said.said_by == "person"
    assert held_back(desk.standing, desk.now.at) is not None
    assert "bar.not_tonight" in {bar.key for bar in desk.bars}
    assert (
        "Connecting is shut for this night, unless the person on dialysis takes it back."
        in ilka.get("/mine").text
    )


def test_the_same_tap_twice_is_one_entry(ilka: Site) -> None:
    page = ilka.get("/mine")
    ilka.fill(page, "/mine/not-tonight")
    rows = ilka.rows
    assert ilka.fill(page, "/mine/not-tonight").status == 303
    assert ilka.rows == rows


@pytest.mark.parametrize("who", [BRAM, TOVE, "bedside"])
def test_others_can_say_it_for_them_and_never_take_it_back(site: Site, who: str) -> None:
    site.open_night()
    site.who = who
    site.fill(site.get("/mine"), "/mine/not-tonight")
    said = site.desk.treatment.of("not_tonight")[0].body
    assert getattr(said, "said_by", "") == "carer"
    page = site.get("/mine")
    assert not [form for form in page.forms if form.action == "/mine/after-all"]
    rows = site.rows
    key = site.act(lambda house: house.ids.new())
    assert site.post("/mine/after-all", {"key": key}).status == 409
    assert site.rows == rows


def test_the_person_takes_it_back(ilka: Site) -> None:
    ilka.fill(ilka.get("/mine"), "/mine/not-tonight")
    assert ilka.fill(ilka.get("/mine"), "/mine/after-all").status == 303
    desk = ilka.desk
    assert held_back(desk.standing, desk.now.at) is None
    assert desk.phase is Phase.SETTING_UP


@pytest.mark.source("design", detail="2: the person's own word holds, also against the carer")
def test_a_no_that_was_taken_back_stands_for_the_person_to_see(ilka: Site) -> None:
    ilka.fill(ilka.get("/mine"), "/mine/not-tonight")
    ilka.clock.pass_time(timedelta(minutes=2))
    ilka.fill(ilka.get("/mine"), "/mine/after-all")
    words = "Not tonight was said at 20:00. It was taken back at 20:02 under the name Ilka Venn."
    for address in ("/mine", "/"):
        page = ilka.get(address).text
        assert words in page
        assert "It can't tell who presses." in page
    ilka.clock.pass_time(timedelta(hours=12))
    assert words not in ilka.get("/").text


def test_a_no_that_was_put_right_and_then_taken_back_is_told_all_the_same(site: Site) -> None:
    site.move_in()
    said = site.do(person.not_tonight, by=ILKA, words="tird").entries[0]
    site.do(record.correct, by=ILKA, of=said, changes={"words": "tired"}, reason="typing slip")
    site.clock.pass_time(timedelta(minutes=2))
    site.do(person.tonight_after_all, by=ILKA)
    assert "It was taken back at 20:02 under the name Ilka Venn." in site.get("/").text


def test_a_no_after_coming_off_is_a_note_and_shuts_no_night(site: Site) -> None:
    site.connect()
    site.do(comeoff.come_off)
    site.do(person.not_tonight, by=ILKA)
    page = site.get("/mine").text
    assert "Connecting is shut" not in page
    assert "No night can be opened" not in page


def test_while_blood_runs_the_page_offers_stop(site: Site) -> None:
    site.connect()
    site.who = ILKA
    page = site.get("/mine")
    assert not [form for form in page.forms if form.action == "/mine/not-tonight"]
    assert "Stop now" in page.text
    assert site.fill(page, "/stop").status == 303
    assert site.desk.phase is Phase.STOPPING
    assert getattr(site.desk.treatment.of("stop")[0].body, "said_by", "") == "person"


def test_how_it_feels_is_kept_as_said_by_the_person(ilka: Site) -> None:
    page = ilka.get("/mine")
    assert ilka.fill(page, "/mine/feel", symptom="cramp", words="left calf").status == 303
    body = ilka.desk.treatment.of("event")[0].body
    assert isinstance(body, Event)
    assert (body.symptom, body.words, body.said_by) == ("cramp", "left calf", "person")
    assert "left calf" in ilka.get("/mine").text


@pytest.mark.source("practice:d", detail="pain in the chest: stop, the unit or the emergency number")
def test_what_asks_for_a_call_stays_on_the_page(ilka: Site) -> None:
    ilka.fill(ilka.get("/mine"), "/mine/feel", symptom="chest_pain")
    page = ilka.get("/mine")
    assert 'class="finding stop"' in page.html
    assert "pain or pressure in the chest" in page.text


@pytest.mark.parametrize(
    "typed", [{}, {"symptom": "other"}], ids=["nothing picked", "something else, no words"]
)
def test_a_feeling_without_a_word_is_asked_for_it(ilka: Site, typed: dict[str, str]) -> None:
    rows = ilka.rows
    seen = ilka.fill(ilka.get("/mine"), "/mine/feel", **typed)
    assert seen.status == 409
    assert "Not kept yet" in seen.text
    assert ilka.rows == rows


def test_without_a_night_a_feeling_is_kept_too(site: Site) -> None:
    site.move_in()
    site.who = ILKA
    assert site.fill(site.get("/mine"), "/mine/feel", symptom="headache").status == 303
    assert site.desk.standing.of("event")


def test_a_note_stands_on_the_sheet_as_written(ilka: Site) -> None:
    page = ilka.get("/mine")
    treatment = ilka.desk.treatment_id
    assert treatment is not None
    seen = ilka.fill(page, "/mine/note", note="My arm hurt <b>all</b> evening", treatment=treatment)
    assert seen.to == f"/sheet/{treatment}?kept=note"
    body = ilka.desk.treatment.of("annotation")[0].body
    assert isinstance(body, Annotation)
    assert (body.words, body.said_by) == ("My arm hurt <b>all</b> evening", "person")
    sheet = ilka.get(f"/sheet/{treatment}")
    assert "My arm hurt <b>all</b> evening" in sheet.text
    assert "<b>all</b>" not in sheet.html


def test_an_old_sheet_leads_to_its_own_note(ilka: Site) -> None:
    first = ilka.desk.treatment_id
    for _ in range(12):
        ilka.do(comeoff.call_off, words="told for this test")
        ilka.clock.pass_time(timedelta(days=1))
        ilka.do(setup.open_night)
    page = ilka.get(f"/sheet/{first}")
    link = next(link for link in page.links if link.startswith("/mine?night="))
    note = ilka.get(link.partition("#")[0])
    seen = ilka.fill(note, "/mine/note", note="I remember this night", treatment=str(first))
    assert seen.to == f"/sheet/{first}?kept=note"
    assert "I remember this night" in ilka.get(f"/sheet/{first}").text


def test_two_nights_of_one_day_differ_and_none_is_picked_for_a_note(ilka: Site) -> None:
    first = str(ilka.desk.treatment_id)
    ilka.do(comeoff.call_off, words="told for this test")
    ilka.clock.pass_time(timedelta(minutes=5))
    ilka.do(setup.open_night)
    page = ilka.get("/mine")
    assert "Tonight, 29 April 2026, opened at 20:05" in page.text
    assert " 29 April 2026, opened at 20:00" in page.text
    assert "treatment" not in page.form("/mine/note").fields
    rows = ilka.rows
    assert ilka.fill(page, "/mine/note", note="which night?").status == 409
    assert ilka.rows == rows
    assert ilka.get(f"/mine?night={first}").form("/mine/note").fields["treatment"] == [first]


def test_a_note_by_a_carer_says_who_wrote_it(site: Site) -> None:
    site.open_night()
    treatment = str(site.desk.treatment_id)
    site.fill(site.get("/mine"), "/mine/note", note="She slept", treatment=treatment)
    assert "written by Bram Venn" in site.get("/mine").text
    assert "Note: She slept (written by Bram Venn)" in site.get(f"/sheet/{treatment}").text


def test_an_empty_note_and_one_for_no_night_are_not_kept(ilka: Site) -> None:
    page = ilka.get("/mine")
    rows = ilka.rows
    assert ilka.fill(page, "/mine/note", note="  ").status == 409
    assert ilka.rows == rows


def test_it_says_who_may_read_what(ilka: Site) -> None:
    page = ilka.get("/mine")
    for words in (
        "Everyone at this computer can read all of it",
        "It has no passphrase: anyone who has the computer can read it.",
        "The clinic sees nothing by itself",
        "Bram Venn",
    ):
        assert words in page.text


def test_before_anybody_is_entered_the_page_leads_to_the_beginning_and_leaves_no_gap(site: Site) -> None:
    page = site.get("/mine")
    assert "Nobody is entered as the person on dialysis yet." in page.text
    assert "/begin" in page.links
    assert "belongs to" not in page.text
    assert "Entered here" not in page.text
