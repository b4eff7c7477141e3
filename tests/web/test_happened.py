"""Something happened: each short form, what it keeps, and what it says when something is missing."""

from __future__ import annotations

from datetime import timedelta

import pytest

from ebbwell.deeds import night
from ebbwell.journal.kinds.bedside import Rechecked, SampleDue, SampleTaken
from ebbwell.journal.kinds.marks import Happened, LotUsed
from ebbwell.journal.kinds.night import Event, Given, NewSet, Off
from ebbwell.journal.kinds.orders import Advice
from ebbwell.state.night import Phase
from tests.web.site import Seen, Site

NAMES = ("event", "given", "off", "set", "unit", "reopens", "sample", "samples", "note")


def _fill(site: Site, name: str, /, **typed: str) -> Seen:
    return site.fill(site.get(f"/happened/{name}"), f"/happened/{name}", **typed)


def test_the_list_leads_to_every_form_and_each_opens(site: Site) -> None:
    site.connect()
    page = site.get("/happened")
    for name in NAMES:
        assert f"/happened/{name}" in page.links
        assert site.get(f"/happened/{name}").status == 200


def test_without_a_night_the_list_says_so(site: Site) -> None:
    site.move_in()
    page = site.get("/happened")
    assert "No night is open" in page.text
    assert "/happened/event" not in page.links


@pytest.mark.parametrize("address", ["/happened/nonsense", "/happened/kept/nonsense"])
def test_what_is_not_there_says_so(site: Site, address: str) -> None:
    site.connect()
    assert site.get(address).status == 404


def test_an_alarm_is_one_pick_and_is_told_back(site: Site) -> None:
    site.connect()
    site.clock.pass_time(timedelta(minutes=50))
    answer = _fill(site, "event", what="venous_low", done="uncovered the arm", at="21:15")
    assert answer.status == 303
    fact = site.desk.treatment.of("event")[-1]
    assert isinstance(fact.body, Event)
    assert (fact.body.what, fact.body.done) == ("alarm: low venous pressure", "uncovered the arm")
    assert fact.at.strftime("%H:%M") == "20:15"
    page = site.get(answer.to)
    assert "Written down" in page.text
    assert "21:15 alarm: low venous pressure" in page.text


@pytest.mark.source("practice:d", detail="chest pain: call at once")
@pytest.mark.parametrize("said_by", ["carer", "person"])
def test_a_symptom_that_asks_for_a_call_says_so_at_once(site: Site, said_by: str) -> None:
    site.connect()
    page = site.get(_fill(site, "event", what="chest_pain", said_by=said_by).to)
    body = site.desk.treatment.of("event")[-1].body
    assert isinstance(body, Event)
    assert (body.symptom, body.said_by) == ("chest_pain", said_by)
    assert "Call now" in page.text
    assert "/first-action/chest_pain" in page.links
    assert "Show what to do first for: chest pain, or short of breath" in page.text


def test_the_same_event_sent_twice_is_one(site: Site) -> None:
    site.connect()
    page = site.get("/happened/event")
    for _ in range(3):
        site.fill(page, "/happened/event", what="air")
    assert len(site.desk.treatment.of("event")) == 1


@pytest.mark.parametrize(
    ("name", "typed", "words"),
    [
        ("event", {}, "Pick what it was."),
        ("event", {"what": "air", "at": "25:00"}, "Type the time like 21:40"),
        ("given", {"amount": "200"}, "Pick what was given."),
        ("given", {"what": "saline"}, "Type how much was given"),
        ("given", {"what": "saline", "amount": "a cup"}, "a cup"),
        ("given", {"what": "medicine", "amount": "1", "unit": "tablets"}, ""),
        ("given", {"what": "medicine", "amount": "1", "name": "P"}, ""),
        ("unit", {"words": "Go on."}, ""),
        ("unit", {"who": "Nurse"}, ""),
        ("reopens", {}, "Pick what was changed or stopped."),
        ("note", {}, ""),
        ("samples", {"when": "after"}, ""),
        ("samples", {"names": "blood"}, "Pick when they are to be drawn."),
        ("sample", {"when": "after"}, ""),
    ],
)
def test_what_is_missing_is_told_and_nothing_is_kept(
    site: Site, name: str, typed: dict[str, str], words: str
) -> None:
    site.connect()
    rows = site.rows
    page = _fill(site, name, **typed)
    assert page.status == 409
    assert words in page.text
    assert "Look at this first" in page.text
    assert site.rows == rows
    form = page.form(f"/happened/{name}")
    for field, value in typed.items():
        assert form.fields.get(field) == [value], "what was typed stays"


def test_a_word_that_is_not_offered_is_refused(site: Site) -> None:
    site.connect()
    rows = site.rows
    for name, field in (("event", "what"), ("off", "blood"), ("set", "why"), ("reopens", "what")):
        assert site.post(f"/happened/{name}", {field: "made_up"}).status == 409
    assert site.rows == rows


def test_saline_and_a_medicine_are_kept_with_their_units(site: Site) -> None:
    site.connect()
    assert _fill(site, "given", what="saline", amount="150").status == 303
    page = site.get(
        _fill(site, "given", what="medicine", name="Paracetamol-like", amount="1", unit="tablet").to
    )
    saline, medicine = (f.body for f in site.desk.treatment.of("given")[-2:])
    assert isinstance(saline, Given)
    assert isinstance(medicine, Given)
    assert (saline.what, saline.amount, saline.unit, saline.medicine) == ("saline", "150", "mL", False)
    assert (medicine.what, medicine.unit, medicine.medicine) == ("Paracetamol-like", "tablet", True)
    assert "Look at this" in page.text


def test_lines_of_the_order_about_medicines_are_shown_where_one_is_given(site: Site) -> None:
    site.connect()
    text = site.get("/happened/given").text
    assert "900 units/h" in text


def test_what_the_unit_said_is_kept_in_its_words(site: Site) -> None:
    site.connect()
    _fill(site, "unit", who="Nurse on call", words="Come off an hour early.")
    body = site.desk.treatment.of("advice")[-1].body
    assert isinstance(body, Advice)
    assert (body.who, body.words, body.allows) == ("Nurse on call", "Come off an hour early.", False)


def test_water_that_stopped_opens_checks_again_before_connecting(site: Site) -> None:
    site.set_up()
    assert site.desk.gate_open
    assert _fill(site, "reopens", what="water_restart").status == 303
    assert isinstance(site.desk.treatment.of("happened")[-1].body, Happened)
    assert not site.desk.gate_open


def test_off_and_on_again_with_what_is_looked_at_in_between(site: Site) -> None:
    site.connect()
    answer = _fill(site, "off", blood="circulating", words="bathroom")
    assert answer.to == "/happened/again/on_again?kept=happened-off"
    assert site.desk.phase is Phase.PAUSED
    body = site.desk.treatment.of("off")[-1].body
    assert isinstance(body, Off)
    assert (body.blood, body.words) == ("circulating", "bathroom")
    page = site.get("/happened/again/on_again")
    assert site.fill(page, "/happened/again/on_again").status == 409
    kept = site.fill(page, "/happened/again/on_again", clots="none_seen", air="seen")
    assert kept.status == 303
    said = {
        f.body.check: f.body.option
        for f in site.desk.treatment.of("rechecked")
        if isinstance(f.body, Rechecked)
    }
    assert said == {"clots": "none_seen", "air": "seen"}
    again = site.get("/happened/again/on_again")
    assert "Call your unit before you go on." in again.text
    site.clock.pass_time(timedelta(minutes=20))
    assert "Off for a while." in site.get("/night").text
    done = site.get(_fill(site, "on").to)
    assert site.desk.phase is Phase.RUNNING
    assert "Call now" in done.text


def test_going_on_is_never_held_up_by_what_was_not_looked_at(site: Site) -> None:
    site.connect()
    site.do(night.go_off)
    page = site.get("/happened/on")
    assert "Not looked at yet" in page.text
    assert 'href="/happened/again/on_again"' in page.html
    assert site.fill(page, "/happened/on").status == 303
    assert site.desk.phase is Phase.RUNNING


def test_a_new_set_leads_to_its_checks_and_packs(site: Site) -> None:
    site.connect()
    answer = _fill(site, "set", why="clotted", blood="none")
    assert answer.to == "/happened/again/new_set?kept=happened-set"
    body = site.desk.treatment.of("new_set")[-1].body
    assert isinstance(body, NewSet)
    assert (body.why, body.blood_returned) == ("clotted", "none")
    assert "/happened/packs" in site.get("/happened/again/new_set").links
    pack = {"item": "tubing", "code": "T-H2", "lot": "T6606", "expiry": "2027-06", "intact": "yes"}
    assert _fill(site, "packs", **pack).status == 303
    opened = site.desk.treatment.of("lot_used")[-1].body
    assert isinstance(opened, LotUsed)
    assert (opened.lot, opened.expiry) == ("T6606", "2027-06-30")
    assert opened.new_set == site.desk.treatment.of("new_set")[-1].id
    assert _fill(site, "packs", **{**pack, "expiry": "June"}).status == 409


def test_a_pack_of_a_new_set_that_was_never_begun_is_refused(site: Site) -> None:
    site.connect()
    page = _fill(site, "packs", item="tubing", code="T", lot="T", intact="yes")
    assert page.status == 409


def test_samples_are_asked_for_and_drawn(site: Site) -> None:
    site.connect()
    _fill(site, "samples", names="bloods\nculture", when="after", ordered_by="Nurse")
    due = site.desk.treatment.of("sample_due")[-1]
    assert isinstance(due.body, SampleDue)
    assert due.body.samples == ("bloods", "culture")
    assert _fill(site, "sample", due=f"{due.id}|bloods|after", label="17").status == 303
    taken = site.desk.treatment.of("sample_taken")[-1].body
    assert isinstance(taken, SampleTaken)
    assert (taken.sample, taken.of, taken.label) == ("bloods", due.id, "17")
    page = site.get("/happened/sample")
    assert "culture, at the end" in page.text
    assert "bloods, at the end" not in page.text


def test_an_event_written_while_the_server_was_away_is_dated_by_the_gap(site: Site) -> None:
    site.connect()
    site.clock.pass_time(timedelta(hours=2))
    late = {"queued": "yes", "made": "5000", "sent": str(5000 + 1_200_000), "made_under": "3 abc"}
    assert site.post("/happened/event", {"what": "bleeding", "words": "venous", **late}).status == 303
    fact = site.desk.treatment.of("event")[-1]
    assert isinstance(fact.body, Event)
    assert fact.at == site.clock.now().at - timedelta(minutes=20)
    assert (fact.body.symptom, fact.body.made_under) == ("bleeding", "3 abc")
    assert "lost its computer" in fact.body.words
