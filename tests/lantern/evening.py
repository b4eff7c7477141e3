"""Lantern Yard in memory, and an evening there from the first question to the closed sheet."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from ebbwell.core.clock import SetClock
from ebbwell.core.ids import SeededIds
from ebbwell.deeds import comeoff, setup
from ebbwell.deeds.connect import connect
from ebbwell.house import House
from ebbwell.journal.store.memory import MemoryStore
from ebbwell.sim import hands, lantern
from tests.hazards.home import Home

START = datetime(2026, 4, 29, 21, 0, tzinfo=UTC)
"""17:00 in Santiago."""

HALF_A_MINUTE = timedelta(seconds=30)
"""Between two readings of one person."""


def moved_in(*, units: bool = True) -> Home:
    """The household with its steps, its units and its order; nothing is open."""
    clock = SetClock(START, lantern.ZONE)
    ids = SeededIds(7)
    house = House(MemoryStore(ids), clock, ids)
    lantern.move_in(house, clock, units=units)
    return Home(clock, house)


def opened() -> Home:
    """An evening has begun."""
    home = moved_in()
    home.do(setup.open_night, by=lantern.CARER)
    return home


def set_up() -> Home:
    """Set up until blood may run."""
    home = opened()
    hands.set_up(home.house, home.clock, by=lantern.CARER, values=lantern.VALUES)
    return home


def ended() -> Home:
    """The evening is over, the person is safe, and the sheet is closed."""
    home = set_up()
    home.do(connect, by=lantern.CARER)
    home.clock.pass_time(timedelta(minutes=6))
    go_on(home.house, home.clock, frozenset({"settle"}))
    home.clock.pass_time(timedelta(minutes=200))
    go_on(home.house, home.clock, frozenset({"come_off"}))
    home.do(comeoff.person_safe, by=lantern.CARER)
    go_on(home.house, home.clock, frozenset({"after"}))
    home.do(comeoff.close, by=lantern.CARER)
    return home


def go_on(house: House, clock: SetClock, stages: frozenset[str]) -> None:
    """What these stages still ask for, each rightly, waiting where there is a wait."""
    for _ in range(80):
        desk = house.look(by=lantern.CARER)
        move = hands.next_move(desk, stages, lantern.VALUES)
        if move is not None:
            clock.pass_time(move.takes)
            hands.play(house, move, by=lantern.CARER)
            continue
        left = [
            v.until - desk.now.at
            for v in desk.views.values()
            if v.step.stage in stages and v.until is not None and v.until > desk.now.at and not v.passed
        ]
        if not left:
            return
        clock.pass_time(min(left))
    raise AssertionError("the evening goes no further")
