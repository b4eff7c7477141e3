"""What the person on dialysis can say without reason, sign-off or gate."""

from __future__ import annotations

from datetime import timedelta

import pytest

from ebbwell.core.findings import Grade
from ebbwell.core.text import say
from ebbwell.deeds import comeoff, person, record, setup
from ebbwell.deeds.connect import already_running, connect
from ebbwell.journal.kinds.bedside import Annotation, NotTonight
from ebbwell.journal.kinds.night import SYMPTOMS, Event
from ebbwell.papers.spoken import finding_words
from ebbwell.sim.elsewhere import START_OF_CHAIN, written_elsewhere
from ebbwell.sim.household import ILKA
from ebbwell.state.night import Phase
from tests.deeds.homes import wrong
from tests.hazards.home import MINUTE, Home, refused, rules


def test_not_tonight_shuts_connecting_though_every_hold_point_is_met(ready: Home) -> None:
    done = ready.do(person.not_tonight, by="bedside")
    assert rules(done.findings) == ["not_tonight"]
    assert done.findings[0].grade is Grade.STOP
    assert ready.look().phase is Phase.STOPPING
    with refused("refuse.phase.stopping"):
        ready.do(connect)


def test_not_tonight_keeps_the_next_night_from_being_opened(home: Home, night: Home) -> None:
    night.do(person.not_tonight)
    night.do(comeoff.call_off, words="not tonight")
    home.do(person.not_tonight, words="my daughter visits")
    for place in (home, night):
        with refused("refuse.not_tonight"):
            place.do(setup.open_night)
        place.clock.pass_time(timedelta(hours=12))
        place.do(setup.open_night)
        assert place.look().phase is Phase.SETTING_UP


def test_not_tonight_is_never_refused(home: Home, night: Home, running: Home, off: Home) -> None:
    phases = []
    for place in (home, night, running, off):
        done = place.do(person.not_tonight, by="somebody nobody entered")
        assert done.entries
        phases.append(place.look().phase)
    assert phases == [Phase.NONE, Phase.STOPPING, Phase.STOPPING, Phase.SAFE]


def test_not_tonight_is_a_stop_while_blood_runs(running: Home) -> None:
    done = running.do(person.not_tonight, words="I want off")
    assert rules(done.findings) == ["stop_pressed"]
    (stop,) = running.look().treatment.of("stop")
    assert (stop.body.words, stop.body.said_by) == ("I want off", "person")  # type: ignore[attr-defined]


def test_blood_that_ran_all_the_same_is_taken_in_and_stands_on_the_sheet(night: Home) -> None:
    night.do(person.not_tonight)
    night.do(already_running)
    assert night.look().phase is Phase.RUNNING
    assert "not tonight" in night.sheet()


def test_tonight_after_all_opens_the_night_again(ready: Home) -> None:
    ready.do(person.not_tonight)
    ready.do(person.tonight_after_all, by=ILKA)
    assert ready.look().phase is Phase.SETTING_UP
    assert not ready.look().standing.of("not_tonight")
    ready.do(connect)
    assert "not tonight" in ready.sheet()


def test_tonight_after_all_refuses_everyone_but_the_person(home: Home) -> None:
    with refused("refuse.nothing_to_take_back"):
        home.do(person.tonight_after_all, by=ILKA)
    first = home.do(person.not_tonight).entries[0]
    with refused("refuse.only_the_person"):
        home.do(person.tonight_after_all)
    with refused("refuse.only_the_person"):
        home.do(person.tonight_after_all, by="bedside")
    with refused("refuse.cannot_withdraw"):
        home.do(record.withdraw, of=first, reason="a slip")


def test_say_symptom_is_kept_as_said_by_the_person(running: Home) -> None:
    done = running.do(person.say_symptom, symptom="cramp", words=" left calf ")
    fact = running.look().treatment.fact(done.entries[0])
    assert fact is not None
    assert fact.body == Event(what="cramp", symptom="cramp", words="left calf", said_by="person")
    assert done.findings == ()
    assert "Feels: cramp. left calf (said by the person" in running.sheet()


@pytest.mark.source("practice:d", detail="chest pain, breathless, fever and shivering, bleeding: call")
@pytest.mark.parametrize("symptom", ["chest_pain", "breathless", "cold_shivering", "bleeding"])
def test_say_symptom_asks_for_a_call_where_the_table_does(running: Home, symptom: str) -> None:
    done = running.do(person.say_symptom, symptom=symptom)
    assert [(f.rule, f.grade) for f in done.findings] == [("symptom_call", Grade.STOP)]
    words = finding_words(done.findings[0], running.look())
    assert "what your unit taught you" in words
    assert say(f"symptom.{symptom}") in words


def test_say_symptom_is_taken_without_a_night(home: Home) -> None:
    home.do(person.say_symptom, by="anybody", symptom="headache")
    assert len(home.look().standing.of("event")) == 1


def test_say_symptom_refuses_a_word_that_is_none_and_a_time_to_come(running: Home) -> None:
    with wrong("enter.option"):
        running.do(person.say_symptom, symptom="blue")
    with wrong("enter.words"):
        running.do(person.say_symptom, symptom="other")
    with wrong("enter.future"):
        running.do(person.say_symptom, symptom="cramp", at=running.clock.now().at + 5 * MINUTE)
    assert "other" in SYMPTOMS


def test_annotate_puts_a_note_on_an_old_sheet(home: Home) -> None:
    treatment = home.whole_night()
    before = home.sheet(treatment)
    done = home.do(person.annotate, by=ILKA, treatment=treatment, words="I was cold all night.")
    fact = home.house.look(treatment=treatment).treatment.fact(done.entries[0])
    assert fact is not None
    assert fact.body == Annotation(words="I was cold all night.", said_by="person")
    assert "I was cold all night." not in before
    assert "I was cold all night." in home.sheet(treatment)
    home.do(person.annotate, treatment=treatment, words="the heater was off")
    notes = home.house.look(treatment=treatment).treatment.of("annotation")
    assert [f.body.said_by for f in notes] == ["person", "carer"]  # type: ignore[attr-defined]


def test_annotate_refuses_nothing_and_nowhere(home: Home, running: Home) -> None:
    with wrong("enter.note"):
        running.do(person.annotate, words=" ")
    with refused("refuse.no_night"):
        home.do(person.annotate, words="a note")


def test_who_may_say_it_for_the_person(night: Home) -> None:
    done = night.do(person.not_tonight, said_by="carer")
    fact = night.look().treatment.fact(done.entries[0])
    assert fact is not None
    assert fact.body == NotTonight(said_by="carer")
    with wrong("enter.option"):
        night.do(person.not_tonight, said_by="neighbour")


def test_a_word_said_on_another_device_shuts_the_gate_here(ready: Home) -> None:
    said = written_elsewhere(ready.house, None, NotTonight(), START_OF_CHAIN)
    ready.house.take_in([said])
    assert [bar.key for bar in ready.look().bars] == ["bar.not_tonight"]
    with refused("refuse.gate"):
        ready.do(connect)
    ready.do(person.tonight_after_all, by=ILKA)
    ready.do(connect)
