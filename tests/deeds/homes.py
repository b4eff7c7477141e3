"""The home of the tests of deeds, at five places of its night, and what a deed may raise."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache

import pytest

from ebbwell.core.clock import SetClock
from ebbwell.core.errors import InputError
from ebbwell.core.ids import SeededIds
from ebbwell.deeds import setup
from ebbwell.deeds.connect import connect
from ebbwell.house import House
from ebbwell.journal.store.memory import MemoryStore
from tests.hazards.home import Home, moved_in, night_open

LATER = 1_800_000_000_000
"""Ids of a fork come after all ids of what it was forked from."""


def fork(home: Home) -> Home:
    """The same home, to be gone on with on its own."""
    assert isinstance(home.house.store, MemoryStore)
    now = home.clock.now()
    clock = SetClock(now.at, now.zone, now.boot, now.mono)
    ids = SeededIds(5, LATER + home.house.state.row * 1000)
    house = House(
        home.house.store.fork(ids), clock, ids, state=home.house.state.copy(), household=home.house.household
    )
    return Home(clock, house)


@lru_cache(maxsize=1)
def at_s29() -> Home:
    """Set up to where the person is weighed; that is not done yet."""
    home = night_open()
    home.until("S29")
    return home


@lru_cache(maxsize=1)
def ready() -> Home:
    """The gate to connecting is open."""
    home = night_open()
    home.set_up()
    return home


@lru_cache(maxsize=1)
def running() -> Home:
    """Blood runs."""
    home = fork(ready())
    home.do(connect)
    return home


@lru_cache(maxsize=1)
def off() -> Home:
    """Off the machine after the whole night, and safe; the sheet is open."""
    home = fork(running())
    home.come_off()
    return home


def opened() -> Home:
    """A night just opened."""
    home = moved_in()
    home.do(setup.open_night)
    return home


@contextmanager
def wrong(key: str) -> Iterator[None]:
    """What was typed inside can't be read, with this key."""
    with pytest.raises(InputError) as caught:
        yield
    assert caught.value.key == key, caught.value
