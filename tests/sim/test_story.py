"""The story of the invented household: what it holds, and that it is the same at every telling."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from ebbwell.core.clock import SetClock, elapsed, zone_info
from ebbwell.core.errors import InputError
from ebbwell.core.ids import SeededIds
from ebbwell.deeds.people import found_household
from ebbwell.house import House
from ebbwell.sim.household import BRAM, ZONE
from ebbwell.sim.story import MARK, STORE, Story, tell
from ebbwell.sim.story.calendar import STANDS
from ebbwell.state.own_past import NightSummary, latest


@pytest.fixture(scope="module")
def story(tmp_path_factory: pytest.TempPathFactory) -> Story:
    return tell(tmp_path_factory.mktemp("story") / "demo")


@pytest.fixture(scope="module")
def house(story: Story) -> Iterator[House]:
    with House.open(story.path, story.clock(), SeededIds(99), create=False) as opened:
        yield opened


@pytest.fixture(scope="module")
def nights(house: House) -> list[NightSummary]:
    """Every treatment on which blood ran, oldest first."""
    return latest(house.look().past, before=STANDS, nights=1000)[::-1]


def test_the_record_proves_itself(house: House) -> None:
    assert house.store.verify().flaws == ()


def test_nothing_is_open_when_the_clock_stands(story: Story, house: House) -> None:
    assert house.look().treatment_id is None
    assert house.clock.now().at == story.at == STANDS
    assert story.at.astimezone(zone_info(ZONE)).strftime("%Y-%m-%d %H:%M") == "2026-04-29 17:00"


@pytest.mark.source(
    "design", detail="scenario: the last night is 27 April 2026; the clock-change night is in it"
)
def test_the_nights_are_pinned_in_time(nights: list[NightSummary]) -> None:
    assert nights[-1].night == "2026-04-27"
    moved = next(night for night in nights if night.night == "2026-03-28")
    assert moved.first_blood is not None
    assert moved.pump_stopped is not None
    zone = zone_info(ZONE)
    assert moved.first_blood.astimezone(zone).utcoffset() == timedelta(0)
    assert moved.pump_stopped.astimezone(zone).utcoffset() == timedelta(hours=1)
    assert elapsed(moved.first_blood, moved.pump_stopped) == timedelta(hours=7, minutes=30)


def test_what_lies_there_whole_is_kept_and_what_is_cut_short_is_told_again(
    story: Story, tmp_path: Path
) -> None:
    folder = tmp_path / "demo"
    shutil.copytree(story.path.parent, folder)
    kept = tell(folder)
    assert kept.kept
    assert (kept.entries, kept.treatments) == (story.entries, story.treatments)


def test_a_real_record_is_never_told_over(tmp_path: Path) -> None:
    folder = tmp_path / "demo"
    folder.mkdir()
    with House.open(folder / STORE, SetClock(STANDS, ZONE), SeededIds(1)) as real:
        real.do(found_household, by=BRAM, name="Anyone", zone=ZONE)
        entries = [entry.hash for entry in real.store.after(0)]
    with pytest.raises(InputError) as why:
        tell(folder)
    assert why.value.key == "story.not_invented"
    assert not (folder / MARK).exists()
    with House.open(folder / STORE, SetClock(STANDS, ZONE), SeededIds(2)) as real:
        assert [entry.hash for entry in real.store.after(0)] == entries
