"""How far a night has come, read from its entries."""

from __future__ import annotations

from datetime import timedelta

import pytest

from ebbwell.journal.kinds import Body
from ebbwell.journal.kinds.bedside import NotTonight
from ebbwell.journal.kinds.house import HandedOver
from ebbwell.journal.kinds.night import (
    AlreadyRunning,
    CameOff,
    Closed,
    Connected,
    Off,
    On,
    Safe,
    Stop,
)
from ebbwell.state.night import (
    Phase,
    carer_in_charge,
    first_blood,
    holder,
    phase,
    pump_stopped,
    ran_from,
)
from tests.state.book import START, Book, pinned

CONNECTED = Connected(satisfied={}, shown={}, plan="")
CAME_OFF = CameOff(times={}, blood_returned="all")


@pytest.mark.parametrize(
    ("bodies", "where"),
    [
        ([], Phase.NONE),
        ([pinned()], Phase.SETTING_UP),
        ([pinned(), Stop()], Phase.STOPPING),
        ([pinned(), NotTonight()], Phase.STOPPING),
        ([pinned(), NotTonight(), CONNECTED], Phase.RUNNING),
        ([pinned(), CONNECTED], Phase.RUNNING),
        ([pinned(), AlreadyRunning(open_holds=())], Phase.RUNNING),
        ([pinned(), CONNECTED, Off()], Phase.PAUSED),
        ([pinned(), CONNECTED, Off(), On()], Phase.RUNNING),
        ([pinned(), CONNECTED, Off(), On(), Off()], Phase.PAUSED),
        ([pinned(), CONNECTED, Off(), Stop()], Phase.STOPPING),
        ([pinned(), CONNECTED, Stop(), CAME_OFF], Phase.OFF),
        ([pinned(), CAME_OFF], Phase.OFF),
        ([pinned(), CONNECTED, CAME_OFF, Safe()], Phase.SAFE),
        ([pinned(), CONNECTED, CAME_OFF, Safe(), Stop()], Phase.SAFE),
        ([pinned(), CONNECTED, CAME_OFF, Closed()], Phase.CLOSED),
        ([pinned(), Closed(called_off=True)], Phase.CALLED_OFF),
    ],
    ids=lambda value: value.value if isinstance(value, Phase) else "",
)
def test_the_phase_is_what_has_happened(bodies: list[Body], where: Phase) -> None:
    book = Book()
    for body in bodies:
        book.add(body)
    assert phase(book.facts()) is where


def test_first_blood_is_the_earliest_that_says_so() -> None:
    book = Book()
    book.add(CONNECTED, at=START + timedelta(minutes=50))
    book.elsewhere(AlreadyRunning(open_holds=()), at=START + timedelta(minutes=40))
    facts = book.facts()
    assert first_blood(facts) == START + timedelta(minutes=40)
    ran = ran_from(facts)
    assert ran is not None
    assert ran.kind == "already_running"
    assert first_blood(Book().facts()) is None


@pytest.mark.parametrize(
    ("times", "stopped"),
    [
        ({}, None),
        ({"pump_stopped": "2026-04-30T05:00:00+00:00"}, START + timedelta(hours=12)),
        ({"pump_stopped": "2026-04-30T07:00:00+02:00"}, START + timedelta(hours=12)),
        ({"pump_stopped": "at dawn"}, None),
    ],
)
def test_when_the_pump_stopped(times: dict[str, str], stopped: object) -> None:
    book = Book()
    assert pump_stopped(book.facts()) is None
    book.add(CameOff(times=times, blood_returned="all"))
    assert pump_stopped(book.facts()) == stopped


@pytest.mark.hazard("H73")
@pytest.mark.source("practice:e", detail="H73: one store holds a treatment; takeover reopens all")
def test_the_holder_is_who_opened_or_last_took_over() -> None:
    book = Book()
    assert holder(book.facts()) is None
    opened = book.add(pinned())
    assert holder(book.facts()) == (opened.writer, 0)
    taken = book.elsewhere(HandedOver(stage="store"))
    assert holder(book.facts()) == (taken.writer, taken.seq)
    back = book.add(HandedOver(stage="store"), replaces=(taken.id,))
    assert holder(book.facts()) == (back.writer, back.seq)


@pytest.mark.hazard("H73")
def test_two_stores_that_both_took_over_hold_nothing() -> None:
    book = Book()
    book.add(pinned())
    book.elsewhere(HandedOver(stage="store"))
    book.add(HandedOver(stage="store"))
    assert holder(book.facts()) is None


def test_a_treatment_opened_twice_has_no_holder() -> None:
    book = Book()
    book.add(pinned())
    book.elsewhere(pinned())
    assert holder(book.facts()) is None


@pytest.mark.hazard("H55")
@pytest.mark.source("practice:e", detail="H55: unaccepted: the first keeps it")
def test_in_charge_is_who_opened_until_somebody_accepts() -> None:
    book = Book()
    assert carer_in_charge(book.facts()) is None
    book.add(pinned(), by="bram")
    offer = book.add(HandedOver(stage="offered", to_person="tove"), by="bram")
    assert carer_in_charge(book.facts()) == "bram"
    book.add(HandedOver(stage="accepted", to_person="tove", offer=offer.id), by="tove")
    assert carer_in_charge(book.facts()) == "tove"
