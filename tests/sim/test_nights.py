"""Seeded fault nights: nothing acknowledged lost, doubled, invented or changed, and no way round a hold point.

A seed that breaks something is played again, step by step, by ``ebbwell sim replay SEED``.
"""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from ebbwell.core.clock import zone_info
from ebbwell.sim.homes import HOMES
from ebbwell.sim.nights import STARTS, Summary, kinds, many, one, replay, setting

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


def test_every_evening_and_every_home_is_played_and_each_with_each() -> None:
    settings = [setting(seed) for seed in range(NIGHTS)]
    for zone, at in STARTS:
        assert {home for z, a, home in settings if (z, a) == (zone, at)} == set(HOMES)


@pytest.mark.source("arithmetic", detail="the zone database: offset at the beginning, and nine hours later")
def test_the_clocks_change_during_every_night_but_the_usual_one_forward_and_back() -> None:
    def offset(zone: str, at: datetime) -> timedelta | None:
        return at.astimezone(zone_info(zone)).utcoffset()

    moved: dict[str, set[bool]] = {}
    for zone, at in STARTS[1:]:
        before, after = offset(zone, at), offset(zone, at + timedelta(hours=9))
        assert before is not None
        assert after is not None
        assert before != after
        moved.setdefault(zone, set()).add(after > before)
    assert all(ways == {True, False} for ways in moved.values())
    assert len(moved) == 5


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
