"""Played nights whose sheets are put on paper."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

from ebbwell.core.clock import SetClock
from ebbwell.core.ids import SeededIds
from ebbwell.deeds import comeoff, connect, night, people, setup
from ebbwell.house import House
from ebbwell.journal.store.memory import MemoryStore
from ebbwell.papers.sheet import Sheet, build_sheet
from ebbwell.sim import hands
from ebbwell.sim.household import BRAM, READING, ZONE, move_in

EVENING = datetime(2026, 4, 29, 19, 0, tzinfo=UTC)


def do(house: House, deed: Callable[..., Any], **inputs: Any) -> None:
    """A deed as Bram, sure of what is typed."""
    hands.play(house, hands.Move(deed, inputs))


def sheet_of(house: House) -> Sheet:
    """The newest treatment's sheet."""
    newest = max(house.look().past.values(), key=lambda s: s.opened_at)
    return build_sheet(house.look(treatment=newest.treatment), house.store.heads())


def played(
    readings: int = 6,
    *,
    words: str = "a noise",
    events: int = 1,
    name: str = "",
    missing_every: int = 0,
    start: datetime = EVENING,
    pause_after: int = -1,
) -> Sheet:
    """A night with so many readings, spread over seven hours, and so many events that say ``words``.

    name: of one more person on dialysis. missing_every: each such reading lacks the venous pressure.
    pause_after: off for 20 minutes after that reading.
    """
    clock = SetClock(start, ZONE, boot="test")
    house = House(MemoryStore(SeededIds(3)), clock, SeededIds(3))
    move_in(house, clock)
    if name:
        do(house, people.enter_person, person="other", name=name, roles=("dialysis",))
    house.do(setup.open_night, by=BRAM)
    hands.set_up(house, clock)
    do(house, connect.connect)
    for n in range(readings):
        clock.pass_time(timedelta(minutes=420 // readings))
        values = {**READING, "venous_pressure": str(112 + n % 17), "arterial_pressure": str(-85 - n % 13)}
        missing = {}
        if missing_every and n % missing_every == 1:
            values.pop("venous_pressure")
            missing = {"venous_pressure": "the display was dark"}
        do(house, night.read, values=values, missing=missing)
        if n == pause_after:
            do(house, night.go_off, words="toilet")
            clock.pass_time(timedelta(minutes=20))
            do(house, night.go_on)
    for _ in range(events):
        do(house, night.note_event, what=words, words=words, done="looked")
    do(house, comeoff.come_off)
    return sheet_of(house)
