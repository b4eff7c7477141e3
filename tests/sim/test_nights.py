"""Seeded fault nights: nothing acknowledged lost, doubled, invented or changed, and no way round a hold point."""

from __future__ import annotations

import pytest

from ebbwell.sim.nights import many, one

CHUNK = 10


@pytest.mark.parametrize("chunk", range(2))
def test_nothing_breaks_on_a_fault_night(chunk: int) -> None:
    summary = many(range(chunk * CHUNK, (chunk + 1) * CHUNK))
    assert summary.nights == CHUNK
    assert [(night.seed, night.broken) for night in summary.failed] == []
    assert summary.connected > 0


def test_the_same_seed_gives_the_same_night() -> None:
    assert one(7) == one(7)
