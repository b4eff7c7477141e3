"""Seeded fault nights: nothing acknowledged lost, doubled, invented or changed, and no way round a hold point.

A seed that breaks something is played again, step by step, by ``ebbwell sim replay SEED``.
"""

from __future__ import annotations

import pytest

from ebbwell.sim.nights import Summary, kinds, many, one, replay

NIGHTS = 1000
"""Nights of every run of the tests. Source: design section 10, gate 2."""
CHUNK = 100
SOAK = 20_000
SOAK_CHUNK = 500


def told(summary: Summary) -> list[tuple[int, str]]:
    """Seeds that broke something, with what they broke."""
    return [(night.seed, night.broken) for night in summary.failed]


@pytest.mark.parametrize("chunk", range(NIGHTS // CHUNK))
def test_nothing_breaks_on_fault_nights(chunk: int) -> None:
    summary = many(range(chunk * CHUNK, (chunk + 1) * CHUNK))
    assert told(summary) == []
    assert summary.nights == CHUNK
    assert [kind for kind in kinds() if summary.counts[kind] == 0] == []
    assert summary.connected >= CHUNK // 5
    assert summary.came_off >= CHUNK // 5


@pytest.mark.soak
@pytest.mark.parametrize("chunk", range(SOAK // SOAK_CHUNK))
def test_nothing_breaks_on_many_more_fault_nights(chunk: int) -> None:
    summary = many(range(NIGHTS + chunk * SOAK_CHUNK, NIGHTS + (chunk + 1) * SOAK_CHUNK))
    assert told(summary) == []
    assert summary.nights == SOAK_CHUNK


def test_the_same_seed_gives_the_same_night() -> None:
    for seed in (1, 7, 30):
        assert one(seed).log == one(seed).log


def test_a_night_is_replayed_step_by_step(capsys: pytest.CaptureFixture[str]) -> None:
    assert replay(7) == 0
    printed = capsys.readouterr().out.splitlines()
    assert printed[:-1] == list(one(7).log)
    assert printed[-1].startswith("7: ")
