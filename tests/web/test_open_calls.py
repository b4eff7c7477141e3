"""A call of one night that nothing answers goes on to the next evening, until the unit's word is on record."""

from __future__ import annotations

from datetime import timedelta

import pytest

from ebbwell.deeds import comeoff, night, orders, person, setup
from ebbwell.deeds.open_calls import open_calls
from ebbwell.papers.words import clock
from ebbwell.sim.household import ILKA
from tests.web.site import Seen, Site

ASKED = "Was the unit called? What did they say?"


def _next_evening(site: Site) -> Seen:
    """The home page on the evening after, with the night before ended."""
    site.clock.pass_time(timedelta(hours=20))
    return site.get("/")


def _call_off(site: Site) -> None:
    site.do(comeoff.call_off, words="not with this")


def _chlorine(site: Site) -> str:
    """A night called off over the water; gives its treatment."""
    site.until("S5")
    treatment = site.desk.treatment_id or ""
    sure = ("outside_asked", "outside_asked_high", "decimal", "digits")
    site.do(
        setup.measure,
        quantity="total_chlorine",
        place="tank1",
        typed="0.30",
        unit="mg/L",
        method="meter",
        sure=sure,
    )
    _call_off(site)
    return treatment


@pytest.mark.source("fluids:1.3", detail="total chlorine over 0.10 mg/L: no treatment with this water, call")
def test_failed_chlorine_stands_on_the_next_evenings_home_and_set_up_until_the_units_word_is_written(
    site: Site,
) -> None:
    treatment = _chlorine(site)
    home = _next_evening(site)
    assert "total chlorine, after tank 1: 0.30 mg/L" in home.text
    assert ASKED in home.text
    assert "On 29 April 2026" in home.text
    site.do(setup.open_night)
    assert ASKED in _first_screen(site).text
    form = site.get(f"/happened/unit?night={treatment}")
    assert "total chlorine" in form.text
    said = {"outcome": "said", "who": "Nurse Ro", "words": "new carbon came today"}
    kept = site.fill(form, "/happened/unit", night=treatment, **said)
    assert (kept.status, kept.to) == (303, f"/sheet/{treatment}?kept=happened-unit")
    assert ASKED not in site.get("/").text
    assert "new carbon came today" in site.get(f"/sheet/{treatment}").text
    assert not open_calls(site.desk)


def _first_screen(site: Site) -> Seen:
    page = site.get("/setup")
    for _ in range(4):
        if page.status != 303:
            return page
        page = site.get(page.to)
    return page


@pytest.mark.source("practice:T12", detail="37.8 C and over: unit before connecting")
def test_fever_of_a_night_called_off_is_asked_about_on_the_next_evening(site: Site) -> None:
    site.until("S29")
    sure = ("outside_asked", "outside_asked_high", "outside_own", "outside_own_high")
    site.do(setup.measure, quantity="body_temperature", typed="38.2", unit="C", sure=sure)
    _call_off(site)
    assert "body temperature: 38.2 C" in _next_evening(site).text


def _ended(site: Site) -> None:
    site.do(comeoff.come_off, blood_returned="none")
    site.do(comeoff.person_safe, sure=(comeoff.UNSAID,))
    steps = {v.step.id: "in a hurry" for v in site.desk.views.values() if not v.passed}
    site.do(comeoff.close, because=steps)


@pytest.mark.source("practice:d2", detail="haemolysis: emergency call; C7b: call the unit")
def test_blood_like_cherry_juice_is_asked_about_after_the_sheet_was_closed(site: Site) -> None:
    site.connect()
    site.do(setup.choose, step="C7", name="blood_return", option="haemolysis")
    _ended(site)
    assert "the blood looked: Like cherry juice" in _next_evening(site).text


def test_blood_that_the_unit_was_called_about_is_not_asked_about_again(site: Site) -> None:
    site.connect()
    site.do(setup.choose, step="C7", name="blood_return", option="haemolysis")
    site.do(setup.choose, step="C7b", name="unit_called", option="called")
    _ended(site)
    assert ASKED not in _next_evening(site).text


@pytest.mark.source("practice:d2", detail="chest pain, breathless: emergency call always")
def test_chest_pain_of_the_night_is_told_with_who_said_it_and_when(site: Site) -> None:
    site.connect()
    site.clock.pass_time(timedelta(hours=3))
    site.do(person.say_symptom, by=ILKA, symptom="chest_pain")
    at = clock(site.clock.now().at, site.clock.now().zone)
    _ended(site)
    text = _next_evening(site).text
    assert f"pain or pressure in the chest, said by Ilka Venn at {at}" in text


def test_the_units_word_of_the_same_night_answers_what_came_before_it_and_nothing_after(site: Site) -> None:
    site.connect()
    site.do(night.note_event, what="chest_pain", symptom="chest_pain")
    site.clock.pass_time(timedelta(minutes=5))
    site.do(orders.advise, who="Nurse Ro", words="come off and call the ambulance")
    assert not open_calls(site.desk), "tonight's own aren't among them"
    site.clock.pass_time(timedelta(minutes=5))
    site.do(night.note_event, what="bleeding", symptom="bleeding")
    _ended(site)
    text = _next_evening(site).text
    assert "bleeding at a needle, written down by" in text.casefold()
    assert "in the chest" not in text


def test_a_word_about_one_step_answers_no_other_call(site: Site) -> None:
    site.connect()
    site.do(night.note_event, what="chest_pain", symptom="chest_pain")
    site.do(orders.advise, who="Nurse Ro", words="2.3 litres", about=("S29",), allows=True)
    _ended(site)
    assert "in the chest" in _next_evening(site).text


def test_a_night_with_nothing_to_call_about_asks_nothing(site: Site) -> None:
    site.connect()
    site.do(night.note_event, what="cramp", symptom="cramp")
    _ended(site)
    assert ASKED not in _next_evening(site).text
    assert 'name="night"' not in site.get("/happened/unit").html


def test_the_night_that_the_word_is_about_has_to_be_picked(site: Site) -> None:
    treatment = _chlorine(site)
    _next_evening(site)
    form = site.get("/happened/unit")
    said = {"outcome": "said", "who": "Nurse Ro", "words": "asked about the plan"}
    answer = site.fill(form, "/happened/unit", **said)
    assert answer.status == 409
    assert "Pick the night" in answer.text
    form = site.get("/happened/unit")
    answer = site.fill(form, "/happened/unit", night="tonight", **said)
    assert answer.status == 303
    assert [call.treatment for call in open_calls(site.desk)][:1] == [treatment]
