"""The plan on the sheet: that it was over the cap and by how much, and its times by when blood really began."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from ebbwell.deeds import comeoff, connect, orders, plan, setup
from ebbwell.papers.sheet import Sheet, build_sheet
from ebbwell.papers.sheet_pdf import pages_of, sheet_pdf
from ebbwell.papers.sheet_text import table
from ebbwell.sim import hands
from ebbwell.sim.household import PRESCRIPTION
from tests.hazards.home import Home, moved_in, night_open

HEAVY = {
    **PRESCRIPTION,
    "target_weight": "60",
    "treatment_minutes": "480",
    "removal_cap": "7",
    "rinse_back": "0.3",
}


def sheet_of(home: Home) -> Sheet:
    """Tonight's sheet."""
    return build_sheet(home.look(), home.house.store.heads())


def rows(sheet: Sheet, section: str) -> tuple[str, ...]:
    """The rows of a part."""
    found = sheet.section(section)
    return found.rows if found is not None else ()


def weighed_heavy() -> Home:
    """Set up as far as the plan, with 65.8 kg on a target of 60 kg."""
    home = moved_in(HEAVY)
    home.do(setup.open_night)
    home.until("S29")
    hands.play(home.house, hands.Move(setup.measure, {"quantity": "weight_before", "typed": "65.8"}))
    return home


@pytest.mark.hazard("H26")
@pytest.mark.source(
    "arithmetic", detail="5.8 + 0.3 + 0.2 = 6.3 L; 60 kg x 7 mL/kg/h x 8 h = 3.36 L; 6.3 - 3.36 = 2.94"
)
def test_the_sheet_says_that_the_plan_was_over_the_cap_and_by_how_much() -> None:
    home = weighed_heavy()
    home.do(orders.advise, who="Nurse on call", words="Take what fits.", about=("S26",), allows=True)
    home.do(plan.agree_plan, drink="0.2")
    odd = rows(sheet_of(home), "exceptions")
    assert (
        "The plan was over the cap: all of the fluid was 6.30 L. The cap of 7 mL/kg/h lets 3.36 L off, "
        "so 2.94 L was over it. The plan was agreed with 3.36 L." in odd
    )
    assert any(row.startswith("Allowed by Nurse on call") for row in odd)


@pytest.mark.hazard("H26")
@pytest.mark.source("arithmetic", detail="4.8 L in 8 h is 600 mL/h; by 60 kg 10 mL/kg/h; 10 - 7 = 3")
def test_the_units_own_litres_over_the_cap_are_told_by_their_rate() -> None:
    home = moved_in(HEAVY)
    home.do(setup.open_night)
    home.until("S29")
    home.do(setup.measure, quantity="weight_before", not_measured="scale is broken")
    home.do(orders.advise, who="Nurse on call", words="4.8 litres.", about=("S29", "S26"), allows=True)
    home.do(plan.agree_plan, drink="0", removal_by_unit="4.8")
    odd = rows(sheet_of(home), "exceptions")
    assert (
        "The plan was over the cap: the unit said 4.8 L. That was 10 mL/kg/h. "
        "The cap was 7 mL/kg/h, so it was 3 mL/kg/h over it." in odd
    )


@pytest.mark.source("arithmetic", detail="2.3 L in 7.5 h for 64.5 kg is 4.75 mL/kg/h, under the cap of 7")
def test_a_plan_under_the_cap_is_not_called_over_it() -> None:
    home = night_open()
    hands.set_up(home.house, home.clock)
    assert not any("over the cap" in row for row in rows(sheet_of(home), "exceptions"))


def planned_and_begun(late: timedelta) -> Sheet:
    """A night planned to begin at 22:00 that begins so much later, off at the end."""
    home = night_open()
    home.until("S26")
    begins = home.clock.now().at + timedelta(hours=1)
    home.do(plan.agree_plan, drink="0.2", start_at=begins)
    hands.set_up(home.house, home.clock)
    home.clock.pass_time(begins + late - home.clock.now().at)
    hands.set_up(home.house, home.clock)
    home.do(connect.connect)
    home.clock.pass_time(timedelta(hours=7))
    home.do(comeoff.come_off)
    return sheet_of(home)


@pytest.mark.source(
    "arithmetic", detail="7 h 30 min from first blood; heparin off 60 min before: 6 h 30 min from it"
)
def test_times_of_the_plan_are_counted_from_when_blood_began() -> None:
    sheet = planned_and_begun(timedelta(minutes=40))
    section = sheet.section("plan")
    assert section is not None
    done = {row[0]: row[1:] for row in section.table}
    first = sheet.data["times"]["first_blood"]
    began = home_time(first, timedelta())
    finish, heparin = done["End of treatment"], done["Heparin stops"]
    assert finish[0] != home_time(first, timedelta(hours=7, minutes=30))
    assert finish[1] == f"blood began {began}, so {home_time(first, timedelta(hours=7, minutes=30))}"
    assert heparin[1] == f"blood began {began}, so {home_time(first, timedelta(hours=6, minutes=30))}"


def test_a_plan_that_began_on_time_says_each_time_once() -> None:
    section = planned_and_begun(timedelta()).section("plan")
    assert section is not None
    assert not any("blood began" in cell for row in section.table for cell in row)


def test_a_sheet_with_such_times_still_takes_one_page() -> None:
    assert pages_of(sheet_pdf(planned_and_begun(timedelta(minutes=40)))) == 1


@pytest.mark.source("arithmetic", detail="40 - (15 + 9) - 3 x 2 blanks leaves 10, too few; 48 leaves 18")
def test_of_three_columns_the_last_is_broken_where_it_alone_is_too_wide() -> None:
    heads, rows = (
        ("What", "Plan", "Done"),
        [("End of treatment"[:15], "in 9 char", "blood began 20:42, so 04:22")],
    )
    assert table(heads, rows, 48) == [
        "  What             Plan       Done",
        "  End of treatmen  in 9 char  blood began 20:42,",
        "                              so 04:22",
    ]
    assert table(heads, rows, 40)[0].startswith("  What End of treatmen, Plan in 9 char, Done")


def home_time(text: str, later: timedelta) -> str:
    """An instant on Dublin's summer clock, an hour ahead of UTC."""
    return (datetime.fromisoformat(text) + later + timedelta(hours=1)).strftime("%H:%M")
