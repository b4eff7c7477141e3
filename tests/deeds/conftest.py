"""Homes at the places of a night where deeds are tried; each test has its own to go on with."""

from __future__ import annotations

import pytest

from tests.deeds import homes
from tests.hazards.home import Home, moved_in


@pytest.fixture
def home() -> Home:
    """Moved in; no night is open."""
    return moved_in()


@pytest.fixture
def night() -> Home:
    """A night just opened."""
    return homes.opened()


@pytest.fixture
def weighing() -> Home:
    """All of the set-up that needs no weight is done."""
    return homes.fork(homes.at_s29())


@pytest.fixture
def ready() -> Home:
    """The gate is open."""
    return homes.fork(homes.ready())


@pytest.fixture
def running() -> Home:
    """Blood runs."""
    return homes.fork(homes.running())


@pytest.fixture
def off() -> Home:
    """Off and safe, the sheet open."""
    return homes.fork(homes.off())
