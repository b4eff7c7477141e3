"""A home in a temporary folder and a clock that is set."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from ebbwell.core.clock import SetClock
from tests.cli.typist import evening


@pytest.fixture
def clock() -> SetClock:
    """29 April 2026, 17:00 in Dublin."""
    return evening(datetime(2026, 4, 29, 16, 0, tzinfo=UTC))


@pytest.fixture
def home(tmp_path: Path) -> str:
    """A data folder that isn't there yet."""
    return str(tmp_path / "home")
