"""What the person said before a night was opened stands on the sheet of that night."""

from __future__ import annotations

from datetime import timedelta

import pytest

from ebbwell.deeds import comeoff, person, setup
from ebbwell.deeds.connect import already_running
from ebbwell.journal.kinds.marks import Withdrawn
from ebbwell.papers.sheet import build_sheet
from ebbwell.sim.household import BRAM, ILKA
from tests.hazards.home import MINUTE, Home, moved_in


@pytest.fixture
def home() -> Home:
    """The invented household at 18:00, no night open."""
    return moved_in()


def _rows(home: Home, section: str, treatment: str | None = None) -> tuple[str, ...]:
    desk = home.house.look(treatment=treatment or home.look().treatment_id)
    found = build_sheet(desk, home.house.store.heads()).section(section)
    return found.rows if found is not None else ()


def _no(home: Home) -> None:
    home.do(person.not_tonight, by=ILKA)
    home.clock.pass_time(2 * MINUTE)


def _back(home: Home) -> None:
    home.do(person.tonight_after_all, by=ILKA)
    home.clock.pass_time(2 * MINUTE)


@pytest.mark.source("design", detail="2: the person's own word holds; the clinic reads sheets only")
def test_the_next_sheet_carries_what_was_said_before_it(home: Home) -> None:
    _no(home)
    _back(home)
    home.do(person.say_symptom, by=ILKA, symptom="dizzy_faint")
    home.do(person.say_symptom, by=ILKA, symptom="headache")
    home.do(setup.open_night)
    exceptions, events = _rows(home, "exceptions"), _rows(home, "events")
    assert exceptions[0] == (
        "18:00 The person on dialysis said: not tonight; 18:02 taken back under the name Ilka Venn: "
        "tonight after all. What holds: tonight after all, since 18:02."
    )
    dizzy = "18:04 Feels: dizzy or about to faint (said by the person on dialysis)"
    assert f"Before the night was opened: {dizzy}" in exceptions
    assert not any("headache" in row for row in exceptions)
    assert [row[:5] for row in events] == ["18:00", "18:02", "18:04", "18:04"]
    assert dizzy in events
    assert any("headache" in row for row in events)


def test_an_evening_without_a_night_stands_on_the_next_sheet_with_its_date_and_on_no_other(
    home: Home,
) -> None:
    before = home.whole_night()
    home.clock.pass_time(timedelta(hours=14))
    home.do(person.say_symptom, by=ILKA, symptom="cold_shivering")
    home.do(person.not_tonight, by=BRAM, said_by="carer", words="she wants to sleep")
    home.clock.pass_time(timedelta(hours=20))
    after = home.whole_night()
    home.clock.pass_time(timedelta(hours=14))
    third = home.whole_night()
    said = "said for the person on dialysis: not tonight: she wants to sleep"
    assert said in home.sheet(after)
    assert "shivering" in home.sheet(after)
    for other in (before, third):
        assert "not tonight" not in home.sheet(other)
        assert "shivering" not in home.sheet(other)
    first = _rows(home, "exceptions", after)[0]
    assert " 2026 " in first.partition("Bram")[0]


def test_what_is_older_than_a_day_stands_on_no_later_sheet(home: Home) -> None:
    _no(home)
    home.clock.pass_time(timedelta(hours=25))
    home.do(setup.open_night)
    assert not any("not tonight" in row for row in _rows(home, "exceptions"))


@pytest.mark.source("design", detail="2: the person's own word holds")
def test_every_no_and_taking_back_stands_in_order_and_what_holds_is_last(home: Home) -> None:
    _no(home)
    _back(home)
    home.do(setup.open_night)
    _no(home)
    _back(home)
    _no(home)
    (row,) = (r for r in _rows(home, "exceptions") if "not tonight" in r)
    assert [part[:5] for part in row.split("; ")] == ["18:00", "18:02", "18:04", "18:06", "18:09"]
    assert row.endswith("What holds: not tonight, said at 18:09 and not taken back.")
    sheet = home.sheet()
    for made_up in ("Reason:", "said by the person.", "no reason"):
        assert made_up not in sheet
    backs = [e for e in home.entries() if isinstance(e.body, Withdrawn)]
    assert backs
    assert {e.envelope.reason for e in backs} == {None}


def test_blood_that_ran_against_a_no_of_the_night_called_off_before_says_so(home: Home) -> None:
    home.do(setup.open_night)
    _no(home)
    home.do(comeoff.call_off, words="")
    home.clock.pass_time(MINUTE)
    home.do(already_running)
    assert _rows(home, "exceptions")[0] == (
        "By this record blood ran, though not tonight was said at 18:00 and not taken back."
    )
