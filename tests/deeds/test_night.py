"""Deeds while blood runs."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from ebbwell.deeds import night as deeds
from ebbwell.deeds import orders
from ebbwell.deeds.medicines import ordered_medicines
from ebbwell.journal.kinds.night import Event, Given, Reading
from ebbwell.sim.household import PRESCRIPTION, READING
from ebbwell.state.night import Phase
from tests.deeds.homes import wrong
from tests.hazards.home import MINUTE, Home, asked, refused, rules


def _body(home: Home, entry: str) -> Any:
    fact = home.look().treatment.fact(entry)
    assert fact is not None
    return fact.body


def test_read_keeps_a_row_and_the_reason_for_what_is_left_out(running: Home) -> None:
    values = {**READING}
    del values["pulse"]
    done = running.do(deeds.read, values=values, missing={"pulse": "meter is flat"}, when="start")
    body = _body(running, done.entries[0])
    assert isinstance(body, Reading)
    assert body.values == values
    assert (body.missing, body.when, body.asked) == ({"pulse": "meter is flat"}, "start", ())


def test_read_is_open_in_every_phase_of_an_open_treatment(night: Home, running: Home, off: Home) -> None:
    for home in (night, running, off):
        home.do(deeds.read, by="visitor", values={"pulse": "70"})
        assert len(home.look().treatment.of("reading")) >= 1


def test_read_refuses_a_row_of_nothing_and_without_a_night(home: Home, running: Home) -> None:
    with refused("refuse.no_night"):
        home.do(deeds.read, values=READING)
    with wrong("enter.reading"):
        running.do(deeds.read, values={}, words="  ")
    with wrong("enter.future"):
        running.do(deeds.read, values={"pulse": "70"}, at=running.clock.now().at + 3 * MINUTE)
    with wrong("number.two_marks"):
        running.do(deeds.read, values={"pulse": "7..0"})


def test_read_asks_about_a_missing_minus_and_keeps_the_question(running: Home) -> None:
    with asked("minus") as caught:
        running.do(deeds.read, values={"arterial_pressure": "90"})
    keys = tuple(q.key for q in caught.value.questions)
    done = running.do(deeds.read, values={"arterial_pressure": "90"}, sure=keys)
    body = _body(running, done.entries[0])
    assert (body.values, body.asked) == ({"arterial_pressure": "90"}, keys)


def test_read_says_what_the_rules_find(running: Home) -> None:
    usual = running.do(deeds.read, values=READING)
    assert usual.findings == ()
    sure = ("outside_asked", "outside_asked_low", "swapped", "outside_last")
    low = running.do(deeds.read, values={**READING, "systolic": "84"}, sure=sure)
    assert "systolic_low" in rules(low.findings) or "systolic_very_low" in rules(low.findings)


def test_note_event_keeps_words_and_who_said_them(running: Home) -> None:
    done = running.do(
        deeds.note_event, what=" venous alarm ", words="line was bent", done="put right", said_by="person"
    )
    assert _body(running, done.entries[0]) == Event(
        what="venous alarm", words="line was bent", done="put right", said_by="person"
    )


def test_note_event_refuses_an_event_without_a_word(home: Home, running: Home) -> None:
    with wrong("enter.event"):
        running.do(deeds.note_event, what=" ")
    with refused("refuse.no_night"):
        home.do(deeds.note_event, what="cramp")


def test_give_keeps_amount_and_unit(running: Home) -> None:
    done = running.do(deeds.give, what="saline", typed="0,2", unit="L", words="for the cramp")
    assert _body(running, done.entries[0]) == Given(
        what="saline", amount="0.2", unit="L", words="for the cramp"
    )


def test_give_keeps_a_medicine_with_who_ordered_it(running: Home) -> None:
    by = {"medicine": True, "ordered_by": "Dr Invented, by phone"}
    at = running.clock.now().at - 5 * MINUTE
    done = running.do(deeds.give, what="iron", typed="100", unit="mg", at=at, **by)
    assert _body(running, done.entries[0]) == Given(what="iron", amount="100", unit="mg", **by)
    assert done.findings == ()
    assert "iron: 100 mg. Ordered by Dr Invented, by phone" in running.sheet()


def test_give_keeps_a_medicine_nobody_ordered_and_says_so(running: Home) -> None:
    done = running.do(deeds.give, what="iron", typed="100", unit="mg", medicine=True)
    assert rules(done.findings) == ["medicine_without_order"]
    assert "Who ordered it is not entered" in running.sheet()


@pytest.mark.hazard("H52")
def test_what_is_shown_of_medicines_is_the_order_word_for_word(home: Home, running: Home) -> None:
    shown = dict(ordered_medicines(running.look()))
    assert shown == {line: PRESCRIPTION[line] for line in shown}
    assert set(shown) == {line for line in PRESCRIPTION if "heparin" in line or line == "anticoagulant"} - {
        "heparin_dead_space"
    }
    home.do(orders.transcribe, number="4", giver="unit", valid_from="2026-04-29", lines=dict(PRESCRIPTION))
    assert ordered_medicines(home.look()) == ()


def test_give_refuses_what_is_no_amount(home: Home, running: Home) -> None:
    with wrong("enter.given"):
        running.do(deeds.give, what="", typed="0.2", unit="L")
    with wrong("enter.unit_of_medicine"):
        running.do(deeds.give, what="iron", typed="100", unit=" ", medicine=True)
    with wrong("enter.amount"):
        running.do(deeds.give, what="saline", typed="-0.2", unit="L")
    with wrong("number.not_plain"):
        running.do(deeds.give, what="saline", typed="some", unit="L")
    with refused("refuse.no_night"):
        home.do(deeds.give, what="saline", typed="0.2", unit="L")


@pytest.mark.hazard("H56")
def test_stop_now_is_never_refused(home: Home, night: Home, running: Home, off: Home) -> None:
    phases = []
    for place in (home, night, running, off):
        done = place.do(deeds.stop_now, by="somebody", said_by="person")
        assert rules(done.findings) == ["stop_pressed"]
        phases.append(place.look().phase)
    assert phases == [Phase.NONE, Phase.STOPPING, Phase.STOPPING, Phase.SAFE]


def test_go_off_pauses_the_night(running: Home) -> None:
    running.do(deeds.go_off, words="toilet")
    assert running.look().phase is Phase.PAUSED


def test_go_on_ends_the_pause(running: Home) -> None:
    running.do(deeds.go_off)
    running.clock.pass_time(timedelta(minutes=12))
    running.do(deeds.go_on)
    assert running.look().phase is Phase.RUNNING


def test_go_off_refuses_only_without_a_night(home: Home, running: Home) -> None:
    with refused("refuse.no_night"):
        home.do(deeds.go_off)
    running.do(deeds.go_off, by="visitor")


def test_go_on_refuses_without_a_night_and_a_time_to_come(home: Home, running: Home) -> None:
    with refused("refuse.no_night"):
        home.do(deeds.go_on)
    running.do(deeds.go_off)
    with wrong("enter.future"):
        running.do(deeds.go_on, at=running.clock.now().at + timedelta(hours=1))
    assert running.look().phase is Phase.PAUSED


def test_change_set_leaves_the_night_running(running: Home) -> None:
    done = running.do(deeds.change_set, words="clotted")
    assert _body(running, done.entries[0]).words == "clotted"
    assert running.look().phase is Phase.RUNNING


def test_change_set_refuses_without_a_night(home: Home) -> None:
    with refused("refuse.no_night"):
        home.do(deeds.change_set, words="clotted")
