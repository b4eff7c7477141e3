"""One list of warnings: the same on home, night page and keyboard, in the words of where the night stands."""

from __future__ import annotations

from datetime import timedelta

import pytest

from ebbwell.cli.tonight import tonight_lines
from ebbwell.core.findings import Grade
from ebbwell.deeds import comeoff, night, orders, person, record, setup
from ebbwell.deeds.connect import already_running, connect
from ebbwell.papers.spoken import finding_words
from ebbwell.papers.warned import warnings
from ebbwell.papers.words import clock
from ebbwell.sim import hands
from ebbwell.sim.household import ILKA, READING
from tests.web.site import Site

SURE = ("outside_asked", "outside_asked_high", "outside_asked_low", "outside_own", "past_limit", "digits")


def _told(site: Site) -> list[str]:
    desk = site.desk
    return [finding_words(f, desk) for f in warnings(desk)]


@pytest.mark.source("design", detail="section 6: what the rules say, at every screen of the night")
def test_home_and_night_page_tell_the_same_of_the_readings(site: Site) -> None:
    site.connect()
    site.do(night.read, values={**READING, "systolic": "84", "diastolic": "50"}, sure=SURE)
    told = _told(site)
    assert any(words.startswith("Call now: Upper blood pressure is 84 mmHg") for words in told), told
    for page in (site.get("/"), site.get("/night")):
        for words in told:
            assert words in page.text
    lines = " ".join(" ".join(tonight_lines(site.desk)).split())
    for words in told:
        assert words in lines


@pytest.mark.source(
    "fluids:1.3", detail="total chlorine over 0.10 mg/L: don't connect; blood that runs is the unit's"
)
def test_words_are_those_of_the_phase(site: Site) -> None:
    site.until("S5")
    site.do(
        setup.measure,
        quantity="total_chlorine",
        place="tank1",
        typed="0.30",
        unit="mg/L",
        method="meter",
        sure=("outside_asked", "outside_asked_high"),
    )
    assert "Not yet: Total chlorine after tank 1 is 0.30 mg/L." in site.get("/").text
    assert "Don't connect." in site.get("/").text
    site.do(already_running, words="it runs")
    for page in (site.get("/"), site.get("/night")):
        assert "Call now: Total chlorine after tank 1 is 0.30 mg/L." in page.text
        assert "Don't connect" not in page.text
        assert "Call your unit now and do as they say." in page.text


@pytest.mark.source("practice:d2", detail="chest pain: emergency call always")
@pytest.mark.parametrize("address", ["/", "/night", "/off"])
def test_chest_pain_said_on_ones_own_page_stands_on_the_others_with_who_and_when(
    site: Site, address: str
) -> None:
    site.connect()
    site.clock.pass_time(timedelta(hours=3, minutes=10))
    site.do(person.say_symptom, by=ILKA, symptom="chest_pain")
    at = clock(site.clock.now().at, site.clock.now().zone)
    site.clock.pass_time(timedelta(minutes=20))
    words = f"Call now: pain or pressure in the chest, said by Ilka Venn at {at}."
    assert words in site.get(address).text
    site.do(orders.advise, who="Nurse Ro", words="the ambulance is coming")
    assert words not in site.get(address).text


def test_chest_pain_said_before_a_night_is_open_stands_on_the_home_page(site: Site) -> None:
    site.move_in()
    site.do(person.say_symptom, by=ILKA, symptom="chest_pain")
    assert "Call now: pain or pressure in the chest, said by Ilka Venn" in site.get("/").text


def test_a_cramp_calls_nobody(site: Site) -> None:
    site.connect()
    site.do(person.say_symptom, by=ILKA, symptom="cramp")
    assert not _told(site)


def test_what_asks_for_a_call_stands_first(site: Site) -> None:
    site.connect()
    site.do(night.read, values={**READING, "systolic": "190"}, sure=SURE)
    site.do(night.note_event, what="bleeding", symptom="bleeding")
    grades = [f.grade for f in warnings(site.desk)]
    assert grades == [Grade.STOP, Grade.CARE]


def test_needles_that_hurt_when_they_went_in_send_nobody_to_the_arm_all_night(site: Site) -> None:
    site.set_up()
    seen = tuple(f.id for f in site.desk.treatment.at_slot("measured", "pain", "arterial"))
    site.do(setup.measure, quantity="pain", place="arterial", typed="6", instead_of=seen, sure=SURE)
    site.do(already_running, words="it runs")
    assert any("6 of 10" in words for words in _told(site)), _told(site)
    assert "Uncover the arm. Look at both needles" not in site.get("/night").text


def test_while_blood_runs_a_warning_stands_above_what_comes_next_and_above_other_nights(site: Site) -> None:
    site.move_in()
    site.do(setup.open_night)
    site.do(setup.answer, question="breathless_chest_pain", answer="yes")
    site.do(comeoff.call_off, words="to hospital")
    site.clock.pass_time(timedelta(hours=20))
    site.do(setup.open_night)
    site.act(lambda house: hands.set_up(house, site.clock))
    site.do(connect)
    site.do(night.note_event, what="bleeding", symptom="bleeding")
    text = site.get("/").text
    assert text.index("Call now: bleeding") < text.index("Go to the night page")
    assert text.index("Call now: bleeding") < text.index("Was the unit called?")


@pytest.mark.source("practice:b", detail="S18: a strength that isn't the ordered one; the unit is called")
def test_what_is_wrong_with_a_value_stands_before_that_it_was_put_right(site: Site) -> None:
    site.connect()
    first = site.desk.treatment.at_slot("measured", "heparin_strength", "")[-1].id
    site.do(record.correct, of=first, changes={"value": "5000"}, reason="the empty vial says so", sure=SURE)
    told = _told(site)
    strength = next(n for n, words in enumerate(told) if "The heparin in hand is 5000 units/mL" in words)
    changed = next(n for n, words in enumerate(told) if "was changed after connecting" in words)
    assert strength < changed
    assert "goes on" not in " ".join(told)
    assert "Call your unit about it." in told[changed]
