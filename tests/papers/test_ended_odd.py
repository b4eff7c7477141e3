"""What the sheet says first of a night that ended badly."""

from __future__ import annotations

from datetime import timedelta

import pytest

from ebbwell.deeds import comeoff, night, record, setup
from ebbwell.deeds.connect import already_running
from ebbwell.papers.exceptions import exceptions
from tests.hazards.home import Home, moved_in


@pytest.fixture
def found_running() -> Home:
    """Blood found running on a night that was just opened."""
    home = moved_in()
    home.do(setup.open_night)
    home.do(already_running)
    return home


def _top(home: Home) -> str:
    treatment = next(iter(home.house.state.past))
    return " | ".join(exceptions(home.house.look(treatment=treatment), {}))


@pytest.mark.source("practice:d2", detail="bleeding asks for what the unit taught, and a call, at once")
def test_a_needle_that_bled_stands_among_the_exceptions(found_running: Home) -> None:
    found_running.do(night.note_event, what="bleeding", symptom="bleeding", words="the vein needle")
    found_running.do(night.note_event, what="cramp", symptom="cramp")
    top = _top(found_running)
    assert "leeding at a needle" in top
    assert "cramp" not in top


def test_words_at_closing_stand_among_the_exceptions(found_running: Home) -> None:
    found_running.do(comeoff.come_off, blood_returned="none")
    left = {v.step.id for v in found_running.look().views.values() if v.step.gate == "close"}
    open_ones = {s for s in left if not found_running.look().views[s].passed}
    found_running.do(comeoff.close, because=dict.fromkeys(open_ones, "tired"), words="Unit not called yet")
    assert "At closing: Unit not called yet" in _top(found_running)


@pytest.mark.source("practice:b", detail="S5, S24, S25, S27, S31: what can still be looked at and can hurt")
def test_many_open_checks_are_no_wall_and_those_that_hurt_come_first(found_running: Home) -> None:
    line = next(one for one in _top(found_running).split(" | ") if "found running" in one)
    assert line.index("S25") < line.index("S24") < line.index("S31") < line.index("S27") < line.index("S5 ")
    assert " more (its entry names all). Words" in line
    assert len(line) < 500


def test_a_correction_whose_lines_read_alike_shows_what_changed(found_running: Home) -> None:
    found_running.clock.pass_time(timedelta(minutes=41))
    done = found_running.do(night.read, values={"pulse": "70"}, when="min60", sure=("not_its_time",))
    asked = {"sure": ("not_its_time",)}
    found_running.do(record.correct, of=done.entries[0], changes={"when": "start"}, reason="a slip", **asked)
    line = next(one for one in _top(found_running).split(" | ") if "corrected" in one)
    was, now = line.split("Was: ")[1].split(". Reason")[0].split(". Now: ")
    assert was != now
