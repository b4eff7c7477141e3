"""Readings past a limit, and the answers of the morning, on the sheet."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from decimal import Decimal

import pytest

from ebbwell.core.clock import SetClock
from ebbwell.core.ids import SeededIds
from ebbwell.deeds import comeoff, connect, night, setup
from ebbwell.house import House
from ebbwell.journal.store.memory import MemoryStore
from ebbwell.sim import hands
from ebbwell.sim.household import BRAM, READING, ZONE, move_in
from tests.papers.nights import EVENING, do, sheet_of


@pytest.fixture
def clock() -> SetClock:
    """The evening of the invented night."""
    return SetClock(EVENING, ZONE, boot="test")


@pytest.fixture
def running(clock: SetClock) -> Iterator[House]:
    """The invented household with blood running."""
    ids = SeededIds(3)
    with House(MemoryStore(ids), clock, ids) as made:
        move_in(made, clock)
        made.do(setup.open_night, by=BRAM)
        hands.set_up(made, clock)
        do(made, connect.connect)
        yield made


def _rows(house: House, name: str) -> tuple[str, ...]:
    part = sheet_of(house).section(name)
    assert part is not None
    return part.rows


@pytest.mark.source("practice:d", detail="high venous, low arterial pressure: act, and call")
def test_values_past_the_units_limits_stand_first_with_their_times(running: House, clock: SetClock) -> None:
    for venous, arterial in (("210", "-185"), ("120", "-90"), ("205", "-90")):
        clock.pass_time(timedelta(minutes=30))
        do(running, night.read, values={**READING, "venous_pressure": venous, "arterial_pressure": arterial})
    rows = _rows(running, "exceptions")
    first = [row for row in rows if row.startswith("Call now")]
    assert rows[: len(first)] == tuple(first), "they come before all the rest"
    venous_row = next(row for row in first if "Venous pressure is 210 mmHg" in row)
    assert "Your unit's limit is 200 mmHg." in venous_row
    assert venous_row.count("205 mmHg") == 1
    assert any("Arterial pressure is -185 mmHg" in row for row in first)


@pytest.mark.source("practice:c", detail="C1 to C20: what is recorded of coming off")
def test_every_answer_of_the_morning_is_on_the_sheet_and_the_unusual_ones_among_the_first(
    running: House,
) -> None:
    do(running, setup.choose, step="C1", name="end_reason", option="ill")
    do(running, setup.choose, step="C7", name="blood_return", option="haemolysis")
    do(running, setup.choose, step="C5", name="removal_and_heparin", option="both_off")
    run, odd = (" ".join(_rows(running, name)) for name in ("morning", "exceptions"))
    for words in ("The person is unwell", "Like cherry juice, or see-through"):
        assert words in run
        assert words in odd
    assert "Both are off" in run
    do(running, comeoff.come_off, blood_returned="all")
    assert "Blood given back: all" in " ".join(_rows(running, "morning"))
    assert "Both are off" not in odd


@pytest.mark.source("practice:e", detail="H42: filled in later from memory: seen at and written at both kept")
def test_many_lines_written_late_in_one_go_are_one_line_that_names_each(
    running: House, clock: SetClock
) -> None:
    start = clock.now().at
    clock.pass_time(timedelta(hours=4))
    for n in range(5):
        at = start + timedelta(minutes=20 * (n + 1))
        do(running, night.note_event, what=f"alarm number {n + 1}", at=at)
        clock.pass_time(timedelta(minutes=1))
    late = [row for row in _rows(running, "exceptions") if "written down late" in row]
    assert len(late) == 1
    assert late[0].startswith("5 lines written down late")
    assert "(144 to 220 min after)" in late[0]
    events = " ".join(_rows(running, "events"))
    for n in range(5):
        assert f"alarm number {n + 1}" in late[0]
        assert f"alarm number {n + 1}" in events


@pytest.mark.source("design", detail="6: exceptions first; a night called off is one")
def test_a_night_called_off_says_so_first_with_its_reason(clock: SetClock) -> None:
    ids = SeededIds(3)
    with House(MemoryStore(ids), clock, ids) as house:
        move_in(house, clock)
        house.do(setup.open_night, by=BRAM)
        do(house, comeoff.call_off, words="chlorine over the limit")
        first = _rows(house, "exceptions")[0]
    assert first.startswith("Called off at 20:00")
    assert first.endswith("before any blood ran: chlorine over the limit")


@pytest.mark.source("practice:c", detail="C9: fall on standing over 20, against the pressure lying")
@pytest.mark.parametrize(("standing", "told"), [("100", True), ("101", False)])
def test_a_pressure_taken_upright_is_held_against_the_one_lying(
    running: House, standing: str, told: bool
) -> None:
    do(running, night.read, values={"systolic": "121", "diastolic": "70"}, when="lying")
    do(running, night.read, values={"systolic": standing, "diastolic": "68"}, when="standing")
    odd = " ".join(_rows(running, "exceptions"))
    assert ("Lying it was 121 mmHg: it fell by 21 mmHg" in odd) is told
    assert "at the start: it fell" not in odd


@pytest.mark.source("arithmetic", detail="450 - 321 = 129 min")
@pytest.mark.source("common practice", detail="a treatment more than 15 min short is noted")
@pytest.mark.parametrize(("minutes", "told"), [("321", "129 min short"), ("435", "")])
def test_a_treatment_that_ran_short_stands_among_what_was_not_as_planned(
    running: House, minutes: str, told: str
) -> None:
    do(running, setup.measure, quantity="treatment_minutes", typed=minutes)
    (row,) = [row for row in _rows(running, "exceptions") if row.startswith("For the sheet: ")] or [""]
    assert ("The treatment ran" in row) is bool(told)
    assert told in row


@pytest.mark.source("practice:a0", detail="fluid removed: within 0.15 L of what is due")
@pytest.mark.parametrize(("apart", "told"), [("0.66", True), ("0.15", False), ("-0.16", True)])
def test_fluid_removed_that_is_off_the_plan_stands_there_with_both_figures(
    running: House, apart: str, told: bool
) -> None:
    plan = running.look().treatment.last("plan")
    assert plan is not None
    planned = plan.body.figures["fluid_to_remove"]
    done = Decimal(planned.partition(" ")[0]) - Decimal(apart)
    do(running, setup.measure, quantity="fluid_removed", typed=str(done))
    words = f"Fluid removed is {done} L. The plan says {planned}."
    assert (
        any(row.startswith("For the sheet: ") and words in row for row in _rows(running, "exceptions"))
        is told
    )
