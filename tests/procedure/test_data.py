"""The shipped procedure against the order, skips, checks and validity that the reference sets."""

from __future__ import annotations

import re
from datetime import timedelta
from functools import cache
from hashlib import sha256
from itertools import product

import pytest

from ebbwell.core.errors import InputError
from ebbwell.procedure.conditions import CHECKS
from ebbwell.procedure.evidence import CODE_LINES
from ebbwell.procedure.lint import lint
from ebbwell.procedure.load import load_procedure
from ebbwell.procedure.model import (
    CONDITIONS,
    ITEMS,
    REOPENERS,
    SETTINGS,
    STAGES,
    STAGES_BEHIND_CONNECT,
    Step,
)
from ebbwell.rulebook.load import load_rulebook

NIGHT = load_procedure()
BEFORE_BLOOD = [step for step in NIGHT.steps if step.gate == "connect"]
AFTER_BLOOD = [step for step in NIGHT.steps if step.stage in STAGES_BEHIND_CONNECT]


def _homes() -> tuple[frozenset[str], ...]:
    """The steps that apply, for every mix of conditions that a home can have."""
    either = [
        ({"fistula"}, {"fistula", "buttonhole"}, {"catheter"}),
        (
            {"blood_thinner", "heparin"},
            {"blood_thinner", "low_molecular", "no_heparin_pump"},
            {"no_heparin", "no_heparin_pump"},
        ),
        ({"dry_bicarbonate"}, {"liquid_bicarbonate"}),
        ({"prime_to_drain"}, {"prime_given"}),
        ({"blood_returned"}, {"blood_kept_out"}),
        ({"chemical_used"}, set()),
        ({"two_tanks"}, set()),
        ({"overnight"}, set()),
    ]
    homes = set()
    for parts in product(*either):
        holds = set().union(*parts, {""})
        homes.add(frozenset(step.id for step in NIGHT.steps if step.only_if in holds))
    return tuple(homes)


HOMES = _homes()


@cache
def before_in(home: frozenset[str], step_id: str) -> frozenset[str]:
    """What must come before a step in a home; a step that doesn't apply there carries no order with it."""
    seen: set[str] = set()
    waiting = [step_id]
    while waiting:
        fresh = (set(NIGHT.step(waiting.pop()).after) & home) - seen
        seen |= fresh
        waiting += fresh
    return frozenset(seen)


def parts_of(number: str) -> list[Step]:
    """The steps that one row of the reference was split into: S18 gives S18, S18a and so on."""
    return [step for step in NIGHT.steps if re.fullmatch(f"{number}[a-z]?", step.id)]


@pytest.mark.source("practice:b", detail="rows S0 to S34")
@pytest.mark.source("practice:c", detail="rows C1 to C20")
@pytest.mark.parametrize("row", [f"S{n}" for n in range(35)] + [f"C{n}" for n in range(1, 21)])
def test_every_row_of_the_reference_is_a_step(row: str) -> None:
    assert parts_of(row)


@pytest.mark.source("practice:b", detail="S0, S2 before everything")
@pytest.mark.parametrize("step", NIGHT.steps, ids=NIGHT.ids)
def test_the_questions_and_the_prescription_come_first(step: Step) -> None:
    first = {"S0", "S0b", "S2"}
    wanted = {"S0": set(), "S0b": set(), "S2": {"S0", "S0b"}}.get(step.id, first)
    for home in HOMES:
        if step.id in home:
            assert wanted & home <= before_in(home, step.id)


@pytest.mark.source("practice:b", detail="order rules to encode")
@pytest.mark.parametrize(
    ("earlier", "later"),
    [
        ("S29", "S26"),
        ("S3", "S5"),
        ("S5", "S9"),
        ("S5", "S10"),
        ("S5", "S11"),
        ("S6", "S9"),
        ("S6", "S10"),
        ("S6", "S11"),
        ("S7", "S8"),
        ("S8", "S20"),
        ("S1", "S12"),
        ("S1", "S13"),
        ("S1", "S14"),
        ("S1", "S15"),
        ("S1", "S16"),
        ("S1", "S17"),
        ("S13", "S19"),
        ("S14", "S19"),
        ("S15", "S19"),
        ("S16", "S19"),
        ("S23a", "S20"),
        ("S30", "S31"),
        ("S31", "S32"),
    ],
)
def test_order_holds_whatever_conditions_apply(earlier: str, later: str) -> None:
    homes = [home for home in HOMES if {earlier, later} <= home]
    assert homes
    assert all(earlier in before_in(home, later) for home in homes)


@pytest.mark.source("practice:b", detail="S12-S18 in any order after S1")
@pytest.mark.parametrize("thinner", ["S18", "S18b", "S18c", "S18d"])
def test_heparin_comes_after_the_room_and_its_questions(thinner: str) -> None:
    assert "S1" in NIGHT.before(thinner)


@pytest.mark.source("practice:b", detail="S12-S18 in any order")
def test_packs_lines_and_heparin_wait_for_none_of_each_other() -> None:
    rows = {number: {step.id for step in parts_of(f"S{number}")} for number in range(12, 19)}
    for number, ids in rows.items():
        others = set().union(*(rows[other] for other in rows if other != number))
        for each in ids:
            assert not NIGHT.before(each) & others


@pytest.mark.source("practice:b", detail="S23b, S26, S27, S29 before S30")
@pytest.mark.parametrize("needle_step", ["S30", "S30c"])
@pytest.mark.parametrize("earlier", ["S23b", "S23c", "S26", "S26b", "S27", "S29", "S29b"])
def test_fluid_settings_sensors_and_weight_come_before_needles(needle_step: str, earlier: str) -> None:
    assert earlier in NIGHT.before(needle_step)


@pytest.mark.source("practice:b", detail="S29c and S29d: the access is looked at before it is opened")
def test_the_access_is_checked_before_it_is_opened() -> None:
    assert "S29c" in NIGHT.before("S30")
    assert "S29d" in NIGHT.before("S30c")


@pytest.mark.source("practice:b", detail="S21 before S22 end")
def test_whatever_waits_for_the_round_of_saline_waits_for_the_machine_tests() -> None:
    behind = NIGHT.successors["S22"]
    assert behind
    assert all("S21" in NIGHT.before(each) for each in behind)


@pytest.mark.source("practice:b", detail="nothing behind S32 can be entered as done before S32")
@pytest.mark.source("practice:e", detail="H56: nothing gates coming off")
@pytest.mark.parametrize("step", AFTER_BLOOD, ids=lambda step: step.id)
def test_after_first_blood_steps_wait_for_connecting_only(step: Step) -> None:
    assert step.after == ("S32",)
    assert step.gate in ("close", "next_night")


@pytest.mark.source("practice:c", detail="only C16 blocks the next night")
def test_only_cleaning_the_machine_gates_the_next_night() -> None:
    assert [step.id for step in NIGHT.steps if step.gate == "next_night"] == ["C16"]


@pytest.mark.source("practice:c", detail="person safe C1-C13, close later today C14-C20")
@pytest.mark.parametrize("number", range(1, 21))
def test_coming_off_has_two_stages(number: int) -> None:
    assert {step.stage for step in parts_of(f"C{number}")} == {"come_off" if number <= 13 else "after"}


def test_stages_never_run_backwards() -> None:
    """Source: arithmetic. A step never waits for one of a later stage."""
    for step in NIGHT.steps:
        for each in step.after:
            assert STAGES.index(NIGHT.step(each).stage) <= STAGES.index(step.stage)


def test_no_order_rule_is_there_twice() -> None:
    """Source: arithmetic. An edge that others imply whatever applies could be dropped without any test seeing it."""
    for step in NIGHT.steps:
        for each in step.after:
            homes = [home for home in HOMES if {step.id, each} <= home]
            rest = [other for other in step.after if other != each]
            needed = [
                home
                for home in homes
                if not any(each in before_in(home, other) for other in rest if other in home)
            ]
            assert needed, (step.id, each)


@pytest.mark.source("practice:b", detail="may be skipped with a reason; H77 for S30b")
def test_what_may_be_skipped_before_connecting() -> None:
    reason = {step.id for step in BEFORE_BLOOD if step.skip == "reason"}
    assert reason == {"S1", "S4", "S24", "S29e", "S30b"}
    assert [step.id for step in BEFORE_BLOOD if step.skip == "unit"] == ["S23c"]


@pytest.mark.source("practice:b", detail="never skipped")
@pytest.mark.parametrize(
    "step_id",
    [
        "S2",
        "S5",
        "S8",
        "S9",
        "S10",
        "S12",
        "S17",
        "S19",
        "S21",
        "S23a",
        "S23b",
        "S25",
        "S26",
        "S27",
        "S29",
        "S31",
    ],
)
def test_what_is_never_skipped(step_id: str) -> None:
    step = NIGHT.step(step_id)
    assert (step.kind, step.skip, step.gate) == ("hold", "never", "connect")


@pytest.mark.source("practice:c", detail="kind R of the table; C10 W; C12 R if the person can't stand")
def test_what_may_be_skipped_after_first_blood() -> None:
    may = {step.id for step in AFTER_BLOOD if step.skip == "reason"}
    assert may == {"S33", "S33b", "S33c", "C1", "C6b", "C10", "C12", "C14", "C15", "C17", "C20"}


@pytest.mark.source("practice:b", detail="second checks, as decided")
def test_second_checks_are_those_decided() -> None:
    seconds = {step.id: step.second for step in NIGHT.steps if step.second != "none"}
    assert seconds == {
        "S5": "person_or_photo",
        "S5b": "person_or_photo",
        "S8": "reread",
        "S18": "reread",
        "S18c": "reread",
        "S9": "scan",
        "S10": "scan",
        "S12": "scan",
        "S13": "scan",
        "S14": "scan",
        "S26": "blind",
        "S26b": "blind",
    }


@pytest.mark.source("practice:b", detail="weight and pressure 60 min")
@pytest.mark.parametrize("step_id", ["S29", "S29b", "S29c", "S29d"])
def test_the_person_is_checked_within_the_hour(step_id: str) -> None:
    assert NIGHT.step(step_id).valid == timedelta(minutes=60)


@pytest.mark.source("fluids:1.3", detail="test validity 2 to 4 h")
@pytest.mark.source("practice:b", detail="S28: set not older than 2 to 4 h since priming")
@pytest.mark.parametrize("step_id", ["S5", "S5b", "S19"])
def test_chlorine_and_prime_hold_for_two_to_four_hours(step_id: str) -> None:
    valid = NIGHT.step(step_id).valid
    assert valid is not None
    assert timedelta(hours=2) <= valid <= timedelta(hours=4)


@pytest.mark.source("practice:b", detail="S3, S19, S22, S23, S33: lengths of the waits")
@pytest.mark.parametrize(
    ("step_id", "least", "most"),
    [("S3", 15, 20), ("S19", 5, 10), ("S22", 10, 20), ("S23b", 5, 5), ("S33", 5, 5)],
)
def test_waits_are_as_long_as_the_table_says(step_id: str, least: int, most: int) -> None:
    lengths = [evidence.length for evidence in NIGHT.step(step_id).evidence if evidence.length is not None]
    assert len(lengths) == 1
    assert timedelta(minutes=least) <= lengths[0] <= timedelta(minutes=most)


@pytest.mark.source("practice:b", detail="rules for interruptions; practice:e H2, H9, H24")
@pytest.mark.parametrize(
    ("word", "steps"),
    [
        ("happened:water_restart", {"S3", "S5", "S5b", "S6"}),
        ("happened:carbon_changed", {"S5", "S5b"}),
        ("disinfected:chemical", {"S7", "S8", "S8a"}),
        ("prescription", {"S9", "S10", "S12", "S18", "S26", "S26b"}),
        ("happened:dialyser_changed", {"S12", "S15", "S16", "S19", "S20"}),
        ("happened:set_opened", {"S13", "S15", "S16", "S17", "S19"}),
    ],
)
def test_what_reopens_a_step(word: str, steps: set[str]) -> None:
    assert steps <= {step.id for step in NIGHT.steps if word in step.reopens_on}


@pytest.mark.source("practice:e", detail="H24: a recalled lot reopens its hold point")
def test_every_step_with_a_lot_reopens_on_a_recall() -> None:
    with_lot = {step.id for step in NIGHT.steps if any(e.form == "lot" for e in step.evidence)}
    assert with_lot == {step.id for step in NIGHT.steps if "recalled" in step.reopens_on}


@pytest.mark.source("practice:e", detail="H12: no critical hold has a sole yes-button")
@pytest.mark.parametrize("step", [s for s in BEFORE_BLOOD if s.kind == "hold"], ids=lambda step: step.id)
def test_no_hold_before_blood_is_met_by_a_tick(step: Step) -> None:
    assert {evidence.form for evidence in step.evidence} - {"tick"}
    for evidence in step.evidence:
        if evidence.form in ("choice", "answer") and step.id != "S21":
            assert set(step.wants[evidence.name]) < set(step.options[evidence.name])


@pytest.mark.source("practice:b", detail="S26: the settings compared")
def test_the_settings_of_the_table_are_typed_blind() -> None:
    asked = {e.name for number in ("S26", "S26b") for e in NIGHT.step(number).evidence if e.form == "setting"}
    assert asked == set(SETTINGS)


@pytest.mark.source("practice:e", detail="H30: any yes shuts S18")
@pytest.mark.parametrize("question", ["bleeding", "fall", "operation", "new_medicine"])
@pytest.mark.parametrize("step_id", ["S0", "S18a"])
def test_a_yes_that_matters_for_heparin_shuts_it(step_id: str, question: str) -> None:
    step = NIGHT.step(step_id)
    assert step.wants[question] == ("no",)
    assert step.advisable
    assert {"S18", "S18c", "S18d"} <= NIGHT.behind(step_id)


@pytest.mark.source(
    "practice:b", detail="the unit's word can't stand in for a test result, a code or a setting"
)
@pytest.mark.parametrize(
    "step_id", ["S5", "S5b", "S8", "S9", "S10", "S12", "S17", "S18", "S19", "S25", "S26"]
)
def test_what_the_units_word_cannot_open(step_id: str) -> None:
    assert not NIGHT.step(step_id).advisable


def test_words_of_the_data_are_known_elsewhere() -> None:
    """Source: arithmetic. What the data names has somebody who answers to that name."""
    rulebook = load_rulebook()
    assert set(CONDITIONS) - {""} == set(CHECKS)
    assert {step.only_if for step in NIGHT.steps} == set(CONDITIONS)
    assert {word for step in NIGHT.steps for word in step.reopens_on} == set(REOPENERS)
    every = (*NIGHT.steps, *load_procedure("evening_bags").steps)
    lots = {e.name for step in every for e in step.evidence if e.form == "lot"}
    assert lots == set(ITEMS)
    assert set(CODE_LINES) <= lots
    judged = {at for rule in rulebook.rules() if rule.id.startswith("item_") for at in rule.at}
    assert judged <= lots
    assert "low_molecular" in lots


@pytest.mark.source("practice:a0", detail="fields whose value keeps the step shut (stop)")
@pytest.mark.parametrize(
    ("step_id", "rules"),
    [
        ("S5", {"chlorine_tank1_over", "chlorine_tank1_strip"}),
        ("S5b", {"chlorine_tank2_over", "chlorine_tank2_strip"}),
        ("S6", {"rejection_low"}),
        ("S8", {"residual_positive"}),
        ("S9b", {"acid_runs_dry"}),
        ("S18", {"heparin_strength_differs"}),
        ("S23b", {"conductivity_outside", "fluid_too_hot"}),
        ("S23c", {"meters_apart", "ph_outside"}),
        ("S29b", {"body_temperature_high"}),
        ("S30", {"needle_tries_over"}),
    ],
)
def test_limits_that_keep_a_step_shut(step_id: str, rules: set[str]) -> None:
    assert rules <= {bound.removeprefix("rule:") for bound in NIGHT.step(step_id).bounds}
    assert all(load_rulebook().rule(rule).grade == "stop" for rule in rules)


def test_bounds_can_be_known_once_the_step_has_its_evidence() -> None:
    """Source: arithmetic. A rule for several places would stay "not known" for a place the step never asks about."""
    rulebook = load_rulebook()
    for step in NIGHT.steps:
        asked = {str(evidence).removeprefix("measured:") for evidence in step.evidence}
        for bound in step.bounds:
            keys = rulebook.rule(bound.removeprefix("rule:")).keys()
            assert len(keys) == 1 or {key for key, _ in keys} <= asked


def test_the_text_is_its_own_fingerprint() -> None:
    """Source: arithmetic."""
    assert NIGHT.digest == sha256(NIGHT.text.encode()).hexdigest()
    assert load_procedure() is NIGHT
    assert lint(NIGHT) == ()


@pytest.mark.parametrize("name", ["nowhere", "../data/overnight_fistula", ""])
def test_an_unknown_name_is_refused(name: str) -> None:
    with pytest.raises(InputError) as caught:
        load_procedure(name)
    assert caught.value.key == "procedure.no_such"


def test_an_unknown_step_is_refused() -> None:
    with pytest.raises(InputError) as caught:
        NIGHT.step("S99")
    assert caught.value.key == "procedure.no_step"
