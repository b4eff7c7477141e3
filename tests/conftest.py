"""What holds for every test: how long an example takes is never what fails it; ``make bench`` measures."""

from __future__ import annotations

import gc

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")

GARBAGE = (50_000, 20, 50)
"""Rounds of the collector are rarer than usual: a night in memory makes and drops a great many small things."""


def pytest_collection_finish() -> None:
    """The tests themselves stay to the end, so the collector needn't look at them over and over."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(*GARBAGE)
