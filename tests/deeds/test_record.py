"""Deeds about the record itself: a slip put right, two values settled, an entry taken back."""

from __future__ import annotations

from typing import Any

import pytest

from ebbwell.deeds import night as deeds
from ebbwell.deeds import record, setup
from ebbwell.deeds.connect import connect
from ebbwell.procedure.holds import Status
from ebbwell.sim.household import ILKA, READING
from ebbwell.state.night import Phase
from tests.deeds.homes import wrong
from tests.hazards.home import Home, asked, refused


def _weigh(home: Home, kg: str, **more: Any) -> str:
    return home.do(setup.measure, quantity="weight_before", typed=kg, **more).entries[0]


def test_correct_a_value_keeps_both_and_only_the_new_one_holds(weighing: Home) -> None:
    first = _weigh(weighing, "66.3")
    done = weighing.do(record.correct, of=first, changes={"value": "66.8"}, reason="read the wrong line")
    treatment = weighing.look().treatment
    held = treatment.at_slot("measured", "weight_before", "")
    assert [(fact.id, getattr(fact.body, "value", "")) for fact in held] == [(done.entries[0], "66.8")]
    assert getattr(treatment.entries[first].body, "value", "") == "66.3"
    assert treatment.entries[done.entries[0]].envelope.reason == "read the wrong line"


def test_correct_a_time_moves_the_fact(weighing: Home) -> None:
    first = _weigh(weighing, "66.3")
    earlier = weighing.clock.now().at.replace(second=0).isoformat()
    weighing.do(record.correct, of=first, changes={"at": earlier}, reason="looked at the wrong clock")
    held = weighing.look().treatment.at_slot("measured", "weight_before", "")
    assert held[0].at.isoformat() == earlier


def test_correct_one_field_of_a_reading(running: Home) -> None:
    row = running.do(deeds.read, values=READING).entries[0]
    running.do(record.correct, of=row, changes={"values.pulse": "76"}, reason="typed 70")
    body: Any = running.look().treatment.of("reading")[-1].body
    assert body.values == {**READING, "pulse": "76"}


def test_correct_asks_about_a_slip_like_a_fresh_value(weighing: Home) -> None:
    first = weighing.do(setup.measure, quantity="body_temperature", typed="36.6").entries[0]
    with asked("fahrenheit"):
        weighing.do(record.correct, of=first, changes={"value": "97.9"}, reason="read again")
    assert weighing.look().treatment.fact(first) is not None
    assert first not in weighing.look().treatment.replaced


@pytest.mark.parametrize(
    ("changes", "reason", "key"),
    [
        ({"value": "66.8"}, " ", "enter.reason"),
        ({}, "slip", "enter.changes"),
        ({"colour": "red"}, "slip", "enter.field"),
        ({"at": "soon"}, "slip", "enter.field"),
        ({"value": "heavy"}, "slip", "number.not_plain"),
    ],
)
def test_correct_refuses_what_cannot_be_read(
    weighing: Home, changes: dict[str, str], reason: str, key: str
) -> None:
    first = _weigh(weighing, "66.3")
    with wrong(key):
        weighing.do(record.correct, of=first, changes=changes, reason=reason)
    assert first not in weighing.look().treatment.replaced


def test_correct_refuses_an_entry_that_is_not_there_or_was_replaced(weighing: Home) -> None:
    first = _weigh(weighing, "66.3")
    weighing.do(record.correct, of=first, changes={"value": "66.8"}, reason="slip")
    with refused("refuse.replaced"):
        weighing.do(record.correct, of=first, changes={"value": "66.9"}, reason="slip")
    with refused("refuse.no_entry"):
        weighing.do(record.correct, of="nothing", changes={"value": "66.9"}, reason="slip")


def test_correct_of_what_connecting_rested_on_says_so(running: Home) -> None:
    weight = running.look().treatment.at_slot("measured", "weight_before", "")[0].id
    done = running.do(record.correct, of=weight, changes={"value": "66.1"}, reason="slip")
    said = [f for f in done.findings if f.rule == "changed_after_connect"]
    assert dict(said[0].params)["steps"] == "S29"
    assert running.look().phase is Phase.RUNNING


def test_withdraw_reopens_what_the_entry_met(weighing: Home) -> None:
    first = _weigh(weighing, "66.3")
    assert weighing.status("S29") is Status.MET
    done = weighing.do(record.withdraw, of=first, reason="it was the dog")
    assert weighing.status("S29") is Status.OPEN
    assert done.findings == ()
    assert first in weighing.look().treatment.entries


def test_withdraw_of_a_withdrawal_is_refused_by_its_target(weighing: Home) -> None:
    first = _weigh(weighing, "66.3")
    weighing.do(record.withdraw, of=first, reason="it was the dog")
    with refused("refuse.replaced"):
        weighing.do(record.withdraw, of=first, reason="again")


def test_a_stop_before_blood_ran_can_be_taken_back_and_stays_in_sight(weighing: Home) -> None:
    stop = weighing.do(deeds.stop_now).entries[0]
    assert weighing.look().phase is Phase.STOPPING
    with wrong("enter.reason"):
        weighing.do(record.withdraw, of=stop, reason=" ")
    weighing.do(record.withdraw, of=stop, reason="typed by mistake")
    assert weighing.look().phase is Phase.SETTING_UP
    assert stop in weighing.look().treatment.entries


@pytest.mark.hazard("H56")
def test_a_stop_said_by_the_person_is_taken_back_by_them_alone(weighing: Home) -> None:
    stop = weighing.do(deeds.stop_now, said_by="person").entries[0]
    with refused("refuse.only_the_person"):
        weighing.do(record.withdraw, of=stop, reason="a slip")
    weighing.do(record.withdraw, by=ILKA, of=stop, reason="said by Ilka")
    assert weighing.look().phase is Phase.SETTING_UP


def test_withdraw_refuses_what_happened(running: Home) -> None:
    running.do(deeds.stop_now)
    treatment = running.look().treatment
    ways = {
        "pinned": "refuse.cannot_withdraw",
        "connected": "refuse.blood_stays",
        "stop": "refuse.cannot_withdraw",
    }
    for kind, why in ways.items():
        with refused(why):
            running.do(record.withdraw, of=treatment.of(kind)[0].id, reason="it was not so")
    weight = treatment.at_slot("measured", "weight_before", "")[0].id
    with wrong("enter.reason"):
        running.do(record.withdraw, of=weight, reason="")
    with refused("refuse.no_entry"):
        running.do(record.withdraw, of="nothing", reason="slip")


def test_settle_ends_a_disagreement_by_naming_what_holds(ready: Home) -> None:
    old = ready.look().treatment.at_slot("measured", "pulse", "")[0].id
    new = ready.do(setup.measure, quantity="pulse", typed="88").entries[0]
    assert ready.status("S29b") is Status.UNSETTLED
    with refused("refuse.gate"):
        ready.do(connect)
    ready.do(record.settle, of=(old, new), holds=new, reason="counted again")
    assert [f.id for f in ready.look().treatment.at_slot("measured", "pulse", "")] == [new]
    ready.do(connect)


def test_settle_refuses_what_does_not_disagree(ready: Home) -> None:
    old = ready.look().treatment.at_slot("measured", "pulse", "")[0].id
    with refused("refuse.nothing_to_settle"):
        ready.do(record.settle, of=(old,), holds=old, reason="counted again")
    new = ready.do(setup.measure, quantity="pulse", typed="88").entries[0]
    third = ready.do(setup.measure, quantity="pulse", typed="90").entries[0]
    for of, holds in (((old, new), new), ((old, new, third), "nothing")):
        with refused("refuse.nothing_to_settle"):
            ready.do(record.settle, of=of, holds=holds, reason="counted again")
    with wrong("enter.reason"):
        ready.do(record.settle, of=(old, new, third), holds=third, reason=" ")
    assert ready.status("S29b") is Status.UNSETTLED
