"""No colour after the first carbon tank: a result only where the reagent is known to colour before it."""

from __future__ import annotations

from typing import Any

import pytest

from ebbwell.deeds import record, rereading, setup
from ebbwell.deeds.desk import Done
from ebbwell.deeds.water_plant import set_plant
from ebbwell.journal.kinds.marks import Measured
from ebbwell.papers.describe import describe
from ebbwell.procedure.holds import Status
from ebbwell.sim import hands
from ebbwell.sim.household import TOVE
from tests.deeds.homes import wrong
from tests.hazards.home import Home, night_open, rules

CONTROL = "chlorine_control_blank"
STEPS = "0 0.1 0.5"


@pytest.fixture
def home() -> Home:
    """A night set up as far as the test after the first tank."""
    home = night_open()
    home.until("S5")
    return home


def try_it(home: Home, typed: str, **more: Any) -> Done:
    """Test the water after the first tank, in the place of what stood there."""
    seen = tuple(f.id for f in home.look().treatment.at_slot("measured", "total_chlorine", "tank1"))
    inputs = {"quantity": "total_chlorine", "place": "tank1", "method": "strip", "instead_of": seen, **more}
    return home.do(setup.measure, typed=typed, **inputs)


def body(home: Home) -> Measured:
    """The test after the first tank that stands."""
    found = home.look().treatment.at_slot("measured", "total_chlorine", "tank1")[-1].body
    assert isinstance(found, Measured)
    return found


def second(home: Home, typed: str) -> None:
    """The photo of the same test."""
    values = {"total_chlorine@tank1": typed}
    home.do(rereading.second_check, step="S5", how="photo", photo="p", values=values)


@pytest.mark.hazard("H8")
@pytest.mark.source("fluids:1.3", detail="rule 5: no colour counts only where tap before carbon coloured")
@pytest.mark.parametrize("typed", ["0", "0.00", "<0.1", "< 0,02"])
def test_measure_refuses_no_colour_without_what_tap_water_did(home: Home, typed: str) -> None:
    with wrong("enter.control"):
        try_it(home, typed)
    assert not home.look().treatment.at_slot("measured", "total_chlorine", "tank1")


@pytest.mark.hazard("H8")
@pytest.mark.source("fluids:1.3", detail="rule 5")
@pytest.mark.parametrize(("control", "counts"), [("coloured", True), ("blank", False), ("not_done", False)])
def test_no_colour_counts_only_where_tap_water_coloured(home: Home, control: str, counts: bool) -> None:
    done = try_it(home, "<0.1", control=control)
    assert (body(home).control, body(home).typed) == (control, "<0.1")
    assert (CONTROL in rules(done.findings)) is (control == "blank")
    assert (home.status("S5") is Status.SECOND) is counts
    if counts:
        second(home, "<0.1")
        assert home.status("S5") is Status.MET
        return
    view = home.look().views["S5"]
    assert (view.status, view.why) == (Status.BARRED, "hold.limit")
    assert view.until is None, "no run of the water is waited for"
    assert CONTROL in {finding.rule for finding in view.findings}
    assert "S5" in home.bars()
    try_it(home, "<0.1", control="coloured")
    assert home.status("S5") is Status.SECOND


@pytest.mark.hazard("H8")
def test_a_test_that_showed_a_colour_itself_needs_no_other_water(home: Home) -> None:
    try_it(home, "0.03")
    assert (home.status("S5"), body(home).control) == (Status.SECOND, "")


def test_behind_the_last_tank_no_colour_needs_no_second_look_at_the_kit(home: Home) -> None:
    home.until("S5b")
    test = {"quantity": "total_chlorine", "place": "tank2", "method": "strip"}
    home.do(setup.measure, typed="<0.1", **test)
    assert home.status("S5b") is Status.SECOND


@pytest.mark.hazard("H8")
def test_a_value_put_right_to_no_colour_opens_the_hold_again(home: Home) -> None:
    try_it(home, "0.03")
    second(home, "0.03")
    fact = home.look().treatment.at_slot("measured", "total_chlorine", "tank1")[-1]
    home.do(record.correct, of=fact.id, changes={"value": "<0.02"}, reason="misread")
    assert home.status("S5") is Status.BARRED
    fact = home.look().treatment.at_slot("measured", "total_chlorine", "tank1")[-1]
    with wrong("enter.option"):
        home.do(record.correct, of=fact.id, changes={"control": "maybe"}, reason="tap water was tested")
    home.do(record.correct, of=fact.id, changes={"control": "coloured"}, reason="tap water was tested")
    assert (home.status("S5"), home.why("S5")) == (Status.SECOND, "")


@pytest.mark.hazard("H8", "H22")
def test_two_people_who_saw_another_control_are_unsettled(home: Home) -> None:
    try_it(home, "<0.1", control="coloured")
    test = {"quantity": "total_chlorine", "place": "tank1", "method": "strip", "typed": "<0.1"}
    home.do(setup.measure, by=TOVE, control="blank", **test)
    assert home.status("S5") is Status.UNSETTLED


# -- steps of the strip ---------------------------------------------------------------------------------------------


def test_set_plant_keeps_the_steps_and_each_test_by_strip_takes_them_along(home: Home) -> None:
    home.do(set_plant, typed={"chlorine_steps": STEPS})
    try_it(home, "<0.1", control="coloured")
    assert (body(home).steps, body(home).value, body(home).below) == ("0 / 0.1 / 0.5", "0.1", True)
    words = describe(body(home))
    assert "steps 0 / 0.1 / 0.5 mg/L" in words
    assert "coloured in tap water from before the carbon" in words
    try_it(home, "0.03", method="meter")
    assert body(home).steps == ""


@pytest.mark.source("fluids:1.3", detail="a strip with steps 0, 0.1, 0.5 can't tell 0.09 from 0.12")
@pytest.mark.parametrize("typed", ["0.05", "<0.05", "0.2"])
def test_measure_refuses_what_lies_between_two_steps(home: Home, typed: str) -> None:
    home.do(set_plant, typed={"chlorine_steps": STEPS})
    with wrong("enter.between_steps"):
        try_it(home, typed, control="coloured", sure=("outside_asked",))


@pytest.mark.hazard("H8")
@pytest.mark.source(
    "arithmetic", detail="nothing on a strip of 0 and 0.5 is less than 0.5, which is over 0.1"
)
def test_nothing_on_a_strip_too_coarse_for_the_limit_does_not_pass(home: Home) -> None:
    home.do(set_plant, typed={"chlorine_steps": "0 0.5 1"})
    try_it(home, "0", control="coloured")
    assert (home.status("S5"), home.why("S5")) == (Status.BARRED, "hold.limit")


@pytest.mark.parametrize("typed", ["0.1", "0 to 0.5", "-0.1 0.5", "none"])
def test_set_plant_refuses_steps_that_are_none(home: Home, typed: str) -> None:
    with wrong("water.steps_needed"):
        home.do(set_plant, typed={"chlorine_steps": typed})


def test_the_sheet_says_what_less_than_meant_and_what_tap_water_did(home: Home) -> None:
    home.do(set_plant, typed={"chlorine_steps": STEPS})
    try_it(home, "<0.1", control="blank")
    text = home.sheet()
    said = (
        "(strip; steps 0 / 0.1 / 0.5 mg/L; the same test did not colour in tap water from before the carbon)"
    )
    assert f"total chlorine, after tank 1: <0.1 mg/L {said}" in text


def test_hands_answer_for_tap_water_where_a_home_reads_no_colour() -> None:
    home = night_open()
    home.until("S5")
    step = home.look().procedure.step("S5")
    for typed, control in (("<0.02", "coloured"), ("0.00", "coloured"), ("0.03", "")):
        move = hands.for_evidence(home.look(), step, step.evidence[0], {"total_chlorine@tank1": typed})
        home.do(move.deed, **move.inputs)
        assert (body(home).typed, body(home).control) == (typed, control)
