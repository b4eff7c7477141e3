"""The clinic's own lines in the lists of chemical limits: stricter or added, as entries, held against every report."""

from __future__ import annotations

from decimal import Decimal

import pytest

from ebbwell.deeds import record, water
from ebbwell.deeds.desk import Asked
from ebbwell.deeds.water_lines import set_water_line
from ebbwell.deeds.water_now import water_findings
from ebbwell.journal.kinds.water import WaterLineSet
from ebbwell.papers.describe import describe
from ebbwell.rulebook.water_lists import load_water_lists
from ebbwell.science.water_report import WaterLevel
from ebbwell.sim.elsewhere import written_elsewhere
from ebbwell.state.water import reports
from ebbwell.state.water_lines import list_now
from tests.deeds.homes import wrong
from tests.hazards.home import Home, refused

D = Decimal
LEAD = {
    "list": "international",
    "item": "lead",
    "unit": "mg/L",
    "most": "0.002",
    "again": "0.002",
    "stands_in": "sheet of May",
    "allowed_by": "Nurse Ann",
    "how": "written",
}
ADDED = {**LEAD, "item": "another", "name": "Free copper", "most": "20", "again": "20", "unit": "ug/L"}
REPORT = {
    "laboratory": "County",
    "sampled_on": "2026-04-01",
    "port": "tap",
    "list": "international",
    "unit": "mg/L",
}


def most(home: Home, item: str, place: str = "international") -> tuple[Decimal, str] | None:
    """The figure of a line as it holds, with its unit."""
    found = {limit.item: limit for limit in list_now(home.look().standing, place)}
    return (found[item].most, found[item].unit) if item in found else None


@pytest.mark.source("fluids:1.1", detail="lead 0.005 mg/L; 0.003 is under it and over a clinic's 0.002")
def test_set_water_line_makes_a_line_stricter_and_each_report_is_held_against_it(home: Home) -> None:
    home.do(water.enter_report, typed={**REPORT, "line.lead": "0.003"})
    assert not water_findings(home.look())
    home.do(set_water_line, typed=LEAD)
    assert most(home, "lead") == (D("0.002"), "mg/L")
    (view,) = reports(home.look().standing)
    assert [(line.limit.item, line.level) for line in view.open] == [("lead", WaterLevel.OVER)]
    assert "water_report_over" in {f.rule for f in water_findings(home.look())}
    assert most(home, "lead", "united_kingdom") == (D(5), "ug/L")


@pytest.mark.source("arithmetic", detail="20 ug/L = 0.02 mg/L, and 0.021 mg/L is over it")
def test_a_line_that_no_list_has_is_added_and_asked_of_each_report(home: Home) -> None:
    home.do(set_water_line, typed=ADDED)
    item = "own.Free_copper"
    assert most(home, item) == (D(20), "ug/L")
    home.do(water.enter_report, typed={**REPORT, f"line.{item}": "0.021"})
    (view,) = reports(home.look().standing)
    assert [(line.limit.item, str(line.result)) for line in view.open] == [(item, "21 ug/L")]
    (fact,) = home.look().standing.of("water_report")
    assert "Free copper 0.021 mg/L" in describe(fact.body)
    (fact,) = home.look().standing.of("water_line_set")
    assert "Free copper: set to 20 ug/L by your unit. It stands in: sheet of May." in describe(fact.body)


def test_a_name_that_a_list_has_goes_by_the_lists_own_item(home: Home) -> None:
    home.do(
        set_water_line, typed={**ADDED, "name": " LEAD ", "unit": "mg/L", "most": "0.001", "again": "0.001"}
    )
    assert most(home, "lead") == (D("0.001"), "mg/L")


def test_an_item_of_another_list_is_added_with_what_its_figure_counts(home: Home) -> None:
    home.do(
        set_water_line, typed={**LEAD, "list": "united_kingdom", "item": "nitrate", "most": "2", "again": "2"}
    )
    limit = next(one for one in list_now(home.look().standing, "united_kingdom") if one.item == "nitrate")
    assert (limit.most, limit.form) == (D(2), "as nitrogen")


def test_an_added_line_is_taken_off_with_the_units_word(home: Home) -> None:
    home.do(set_water_line, typed=ADDED)
    home.do(water.enter_report, typed={**REPORT, "line.own.Free_copper": "0.021", "line.lead": "0.001"})
    off = {"list": "international", "item": "own.Free_copper", "take_off": "yes"}
    with wrong("water.words_needed"):
        home.do(set_water_line, typed=off)
    home.do(set_water_line, typed={**LEAD, **off, "most": "", "again": ""})
    assert most(home, "own.Free_copper") is None
    (view,) = reports(home.look().standing)
    assert view.lines is not None
    assert not view.open


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"most": "0.006", "again": "0.006"}, "water.line_over"),
        ({"most": "6", "again": "6", "unit": "ug/L"}, "water.line_over"),
        ({"most": "0.005", "again": "0.005"}, "water.line_same"),
        ({"again": "0.003"}, "enter.limit_again"),
        ({"most": "", "again": ""}, "water.number_needed"),
        ({"most": "<0.002", "again": "<0.002"}, "water.wrong"),
        ({"most": "0", "again": "0"}, "water.wrong"),
        ({"most": "a bit", "again": "a bit"}, "water.wrong"),
        ({"unit": ""}, "water.pick_needed"),
        ({"item": ""}, "water.pick_needed"),
        ({"item": "another"}, "water.words_needed"),
        ({"item": "another", "name": "!"}, "water.words_needed"),
        ({"list": "moon"}, "water.pick_needed"),
        ({"stands_in": " "}, "water.words_needed"),
        ({"allowed_by": ""}, "water.words_needed"),
        ({"how": "dreamt"}, "water.pick_needed"),
        ({"take_off": "yes"}, "water.line_not_added"),
    ],
)
@pytest.mark.hazard("H67")
def test_set_water_line_refuses_half_of_it_and_what_is_looser_than_the_list(
    home: Home, change: dict[str, str], key: str
) -> None:
    with wrong(key):
        home.do(set_water_line, typed={**LEAD, **change})
    assert not home.look().standing.of("water_line_set")


@pytest.mark.hazard("H67")
def test_a_looser_figure_is_asked_about_and_names_who_allowed_it(home: Home) -> None:
    home.do(set_water_line, typed=LEAD)
    looser = {**LEAD, "most": "0.004", "again": "0.004"}
    with wrong("water.words_needed"):
        home.do(set_water_line, typed={**looser, "allowed_by": ""})
    with pytest.raises(Asked):
        home.do(set_water_line, typed=looser)
    home.do(set_water_line, typed=looser, sure=("water_line_looser",))
    assert most(home, "lead") == (D("0.004"), "mg/L")
    assert len(home.look().standing.of("water_line_set")) == 1


@pytest.mark.hazard("H67")
def test_withdraw_refuses_a_line_of_the_clinic(home: Home) -> None:
    entry = home.do(set_water_line, typed=LEAD).entries[0]
    with refused("refuse.limit_looser"):
        home.do(record.withdraw, of=entry, reason="a mistake")
    assert most(home, "lead") == (D("0.002"), "mg/L")


FIGURE = {"unit": "mg/L", "stands_in": "elsewhere", "allowed_by": "Ann", "how": "phone"}


@pytest.mark.parametrize(("item", "here"), [("lead", LEAD), ("own.Free_copper", ADDED)])
def test_of_two_made_apart_the_stricter_holds(home: Home, item: str, here: dict[str, str]) -> None:
    home.do(set_water_line, typed=here)
    body = WaterLineSet(list="international", item=item, most="0.001", **FIGURE)
    home.house.take_in([written_elsewhere(home.house, None, body)])
    assert most(home, item) == (D("0.001"), "mg/L")


@pytest.mark.parametrize(
    "change",
    [
        {"most": "0.5"},
        {"most": "a little"},
        {"most": "-1"},
        {"unit": "uS/cm"},
        {"list": "moon"},
    ],
)
def test_a_figure_of_another_computer_that_cannot_be_taken_changes_nothing(
    home: Home, change: dict[str, str]
) -> None:
    body = WaterLineSet(**{"list": "international", "item": "lead", "most": "0.001", **FIGURE, **change})
    home.house.take_in([written_elsewhere(home.house, None, body)])
    assert list_now(home.look().standing, "international") == load_water_lists().chemical_list(
        "international"
    )
