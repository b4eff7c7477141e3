"""Findings against figures that were published, and the ways in which data can be missing or odd."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.core.findings import Grade, say_finding, say_grade
from ebbwell.core.quantity import Quantity
from ebbwell.rulebook.evaluate import Fact, evaluate
from ebbwell.rulebook.load import load_rulebook
from ebbwell.science.catalogue import formula_named

BOOK = load_rulebook()


def q(value: str, unit: str) -> Quantity:
    below = value.startswith("<")
    return Quantity(Decimal(value.removeprefix("<")), unit, below)


def grades(facts: Mapping[str, Fact]) -> dict[str, Grade]:
    return {finding.rule: finding.grade for finding in evaluate(BOOK, facts)}


CHLORINE = "total_chlorine@tank1"
METHOD = "total_chlorine_method@tank1"


@pytest.mark.source("fluids:W1", detail="limit 0.1 mg/L; check value 49: strip at 0.10 fails, meter passes")
@pytest.mark.hazard("H8")
@pytest.mark.parametrize(
    ("typed", "method", "rule", "grade"),
    [
        ("0.13", "meter", "chlorine_tank1_over", Grade.STOP),
        ("0.15", "meter", "chlorine_tank1_over", Grade.STOP),
        ("0.1", "strip", "chlorine_tank1_strip", Grade.STOP),
        ("0.10", "drops", "chlorine_tank1_strip", Grade.STOP),
        ("0.10", None, "chlorine_tank1_strip", Grade.STOP),
        ("0.10", "meter", "chlorine_rising", Grade.CARE),
        ("<0.2", "meter", "chlorine_tank1_over", Grade.STOP),
        ("0.06", "meter", "chlorine_rising", Grade.CARE),
    ],
)
def test_chlorine(typed: str, method: str | None, rule: str, grade: Grade) -> None:
    found = grades({CHLORINE: q(typed, "mg/L"), METHOD: method})
    assert found == {rule: grade}


@pytest.mark.source(
    "fluids:1.3", detail="a censored result passes only if its bound is at or under the limit"
)
@pytest.mark.hazard("H8")
def test_less_than_passes_by_its_bound() -> None:
    assert grades({CHLORINE: q("<0.02", "mg/L"), METHOD: "strip"}) == {}
    assert grades({CHLORINE: q("<0.1", "mg/L"), METHOD: "strip"}) == {"chlorine_rising": Grade.CARE}


@pytest.mark.hazard("H8")
@pytest.mark.hazard("H38")
def test_blank_chlorine_is_not_known_and_never_fine() -> None:
    found = grades({CHLORINE: None})
    assert set(found.values()) == {Grade.UNKNOWN}
    assert "chlorine_tank1_over" in found


@pytest.mark.source("practice:e", detail="H10: anything but negative shuts the hold point")
@pytest.mark.hazard("H10")
@pytest.mark.parametrize(
    ("fact", "grade"),
    [
        ("negative", None),
        ("positive", Grade.STOP),
        ("smudged", Grade.STOP),
        (None, Grade.UNKNOWN),
        (q("0.1", "mg/L"), Grade.STOP),
        (q("0", "mg/L"), None),
        (q("<0.5", "mg/L"), Grade.STOP),
    ],
)
def test_residual_disinfectant(fact: Fact, grade: Grade | None) -> None:
    found = set(grades({"residual_disinfectant": fact}).values())
    assert found == (set() if grade is None else {grade})


@pytest.mark.source("fluids:F4", detail="pH 6.9 to 7.6, machine window 5 %")
def test_fluid_before_connecting() -> None:
    conductivity = {
        "fluid_conductivity@machine": q("14.8", "mS/cm"),
        "fluid_conductivity@set": q("14.0", "mS/cm"),
    }
    assert grades(conductivity) == {"conductivity_off_stop": Grade.STOP}
    assert grades({"fluid_ph": q("7.7", "pH")}) == {"ph_outside": Grade.STOP}
    assert grades({"fluid_ph": q("7.6", "pH")}) == {}
    small = {"fluid_conductivity@machine": q("14.3", "mS/cm"), "fluid_conductivity@set": q("14.0", "mS/cm")}
    assert grades(small) == {"conductivity_off_care": Grade.CARE}


@pytest.mark.source("fluids:U8", detail="nadir systolic under 90 is the definition tied most to death")
@pytest.mark.hazard("H33")
def test_low_pressure_speaks_once_and_stays_beside_happy_values() -> None:
    assert grades({"systolic": q("89", "mmHg")}) == {"systolic_very_low": Grade.STOP}
    assert grades({"systolic": q("90", "mmHg")}) == {"systolic_low": Grade.CARE}
    happy = {"systolic": q("89", "mmHg"), "pulse": q("70", "/min"), "systolic@start": q("90", "mmHg")}
    assert grades(happy) == {"systolic_very_low": Grade.STOP}
    assert grades({"systolic": q("11.9", "kPa")}) == {"systolic_very_low": Grade.STOP}


@pytest.mark.source("fluids:U9", detail="a fall of 20 mmHg systolic")
def test_fall_of_twenty() -> None:
    start = {"systolic@start": q("138", "mmHg")}
    assert grades({"systolic": q("118", "mmHg"), **start}) == {"systolic_fallen": Grade.CARE}
    assert grades({"systolic": q("119", "mmHg"), **start}) == {}


@pytest.mark.source("practice:e", detail="H26: gain 6.1 kg at 60 kg in 8 h is a stop")
@pytest.mark.hazard("H26")
def test_removal_over_cap() -> None:
    rate = Decimal(6100) / 8 / 60
    facts = {"removal_rate_per_kg": Quantity(rate, "mL/kg/h"), "removal_cap@prescribed": q("10", "mL/kg/h")}
    found = evaluate(BOOK, facts)
    assert [(f.rule, f.grade) for f in found] == [
        ("removal_over_cap", Grade.STOP),
        ("removal_rate_raised", Grade.NOTE),
    ]
    assert say_finding(found[0]) == (
        "To take all of the fluid tonight would need 12.71 mL/kg/h. The clinic's cap is 10 mL/kg/h."
    )


@pytest.mark.source("fluids:U3", detail="over 13 against at most 13 mL/kg/h; over 10 against at most 10")
def test_removal_rates_of_the_studies() -> None:
    assert grades({"removal_rate_per_kg": q("13.1", "mL/kg/h")}) == {"removal_rate_high": Grade.CARE}
    assert grades({"removal_rate_per_kg": q("13", "mL/kg/h")}) == {"removal_rate_raised": Grade.NOTE}
    assert grades({"removal_rate_per_kg": q("10", "mL/kg/h")}) == {}


@pytest.mark.source("practice:e", detail="H29: 1,000, 5,000 and 25,000 units in a mL are sold")
@pytest.mark.hazard("H29")
@pytest.mark.parametrize("vial", ["5000", "25000", "200", "2000"])
def test_heparin_strength(vial: str) -> None:
    facts = {"heparin_strength": q(vial, "units/mL"), "heparin_strength@prescribed": q("1000", "units/mL")}
    assert grades(facts) == {"heparin_strength_differs": Grade.STOP}


@pytest.mark.source("practice:e", detail="H29: compare with the last 10 nights; factor 5, 10, 25: stop")
@pytest.mark.hazard("H29")
@pytest.mark.parametrize(
    ("own", "factor"), [("1000", True), ("25000", True), ("500", True), ("2000", False), ("5000", False)]
)
def test_a_strength_that_is_ordered_is_held_against_earlier_nights(own: str, factor: bool) -> None:
    facts = {
        "heparin_strength": q("5000", "units/mL"),
        "heparin_strength@prescribed": q("5000", "units/mL"),
        "heparin_strength@own": q(own, "units/mL"),
    }
    found = grades(facts)
    assert "heparin_strength_differs" not in found
    assert ("heparin_strength_factor" in found) is factor


@pytest.mark.source("practice:e", detail="H54: a gap of 73 h is a finding")
@pytest.mark.hazard("H54")
def test_long_gap() -> None:
    assert grades({"hours_since_last_treatment": q("73", "h")}) == {"gap_long": Grade.CARE}
    assert grades({"hours_since_last_treatment": q("72", "h")}) == {}
    assert grades({"hours_since_last_treatment": q("4380", "min")}) == {"gap_long": Grade.CARE}


@pytest.mark.source(
    "fluids:P11", detail="a needle that slips out may lower venous pressure by only about 20 mmHg"
)
def test_venous_fall_asks_to_look_at_the_arm() -> None:
    found = evaluate(BOOK, {"venous_pressure": q("100", "mmHg"), "venous_pressure@last": q("120", "mmHg")})
    assert [(f.rule, f.next_step) for f in found] == [("venous_fallen", "next.look_at_arm")]


@pytest.mark.source(
    "fluids:2.2", detail="650 g at 35 mmol/L and 500 mL/min lasts 7.37 h: not a full 8 h night"
)
def test_bicarbonate_runs_dry() -> None:
    facts = {"bicarbonate_runs_dry_after": q("7.37", "h"), "treatment_minutes@prescribed": q("480", "min")}
    assert grades(facts) == {"bicarbonate_runs_dry": Grade.STOP}
    assert grades({**facts, "treatment_minutes@prescribed": q("442", "min")}) == {}


@pytest.mark.source("fluids:4.5", detail="within 0.3 kg; over 0.5 kg apart: scale, removal or entry")
def test_weight_after() -> None:
    expected = {"weight_after@expected": q("64.5", "kg")}
    assert grades({"weight_after": q("64.8", "kg"), **expected}) == {}
    assert grades({"weight_after": q("64.9", "kg"), **expected}) == {"weight_after_off_little": Grade.NOTE}
    assert grades({"weight_after": q("65.1", "kg"), **expected}) == {"weight_after_off": Grade.CARE}


@pytest.mark.source("arithmetic", detail="7.35 mL and a dead space of 1 mL in a 5 mL syringe")
def test_syringe_too_small() -> None:
    assert grades({"syringe_fill": q("8.35", "mL"), "syringe_size": q("5", "mL")}) == {
        "syringe_too_small": Grade.STOP
    }


@pytest.mark.source("practice:e", detail="H24: expired or recalled lots")
@pytest.mark.hazard("H24")
def test_lots() -> None:
    assert grades({"days_to_expiry@dialyser": q("0", "days")}) == {"item_expires_soon": Grade.NOTE}
    assert grades({"days_to_expiry@dialyser": q("-1", "days")}) == {"item_expired": Grade.STOP}
    assert grades({"days_to_expiry@saline": None})["item_expiry_unknown"] is Grade.STOP
    assert grades({"lot_recalled@tubing": True}) == {"item_recalled": Grade.STOP}


@pytest.mark.source("practice:a0", detail="last range: kept, with a stop")
@pytest.mark.hazard("H5")
def test_far_out_value_is_kept_with_a_stop() -> None:
    found = evaluate(BOOK, {"weight_before": q("310", "kg")})
    assert [(f.rule, f.grade) for f in found] == [("outside_last_range", Grade.STOP)]
    assert say_finding(found[0]).startswith("Weight before is recorded as 310 kg.")


@pytest.mark.source("practice:a0", detail="glucose 80 to 270 mg/dL is 4.5 to 15 mmol/L")
def test_units_are_converted_by_substance() -> None:
    assert grades({"glucose": q("60", "mg/dL")}) == {"glucose_outside": Grade.CARE}
    assert grades({"glucose": q("120", "mg/dL")}) == {}


def test_misfits_are_not_known_instead_of_a_crash() -> None:
    for odd in (
        "wet",
        True,
        q("5", "lb"),
        Quantity(Decimal("NaN"), "mmHg"),
        Quantity(Decimal("Infinity"), "mmHg"),
    ):
        found = grades({"systolic": odd})
        assert Grade.UNKNOWN in found.values(), odd
    assert grades({"clock_trusted": "yes"}) == {"clock_not_trusted": Grade.UNKNOWN}
    assert grades({"systolic": q("1e-90", "mmHg")})["systolic_very_low"] is Grade.STOP


def test_a_bound_that_cannot_decide_is_not_known() -> None:
    assert grades({"rejection": q("<95", "%")})["rejection_low"] is Grade.UNKNOWN
    assert grades({"rejection": q("<90", "%")})["rejection_low"] is Grade.STOP
    assert grades({"rejection": q("<89", "%")})["rejection_low"] is Grade.STOP


def test_only_takes_rules_and_facts() -> None:
    facts = {"systolic": q("80", "mmHg"), "pulse": q("120", "/min")}
    assert {f.rule for f in evaluate(BOOK, facts, only={"pulse_outside"})} >= {"pulse_outside"}
    by_fact = evaluate(BOOK, facts, only={"systolic"})
    assert {f.fact for f in by_fact} == {"systolic"}
    assert evaluate(BOOK, {}) == ()


def test_tightened_limit_is_used() -> None:
    strict = BOOK.with_limits({"chlorine": Decimal("0.05")})
    found = {f.rule: f.grade for f in evaluate(strict, {CHLORINE: q("0.06", "mg/L"), METHOD: "meter"})}
    assert found == {"chlorine_tank1_over": Grade.STOP}


def test_grade_in_words() -> None:
    assert say_grade(Grade.STOP, connected=False) == "Not yet"
    assert say_grade(Grade.STOP, connected=True) == "Call now"
    assert say_grade(Grade.CARE, connected=True) == "Look at this"


PAIRS = [pair for rule in BOOK.rules() for pair in rule.keys()]  # noqa: SIM118
KEYS = sorted({key for pair in PAIRS for key in pair if key not in ("", "*")})
UNITS = ["mmHg", "kg", "L", "min", "h", "%", "mg/L", ""]
ANY_FACT = st.one_of(
    st.none(),
    st.booleans(),
    st.sampled_from(["yes", "no", "negative", "positive", ""]),
    st.builds(
        Quantity,
        st.decimals(allow_nan=True, allow_infinity=True),
        st.sampled_from(UNITS),
        st.booleans(),
    ),
)


@given(st.dictionaries(st.sampled_from(KEYS), ANY_FACT, max_size=6))
def test_any_facts_are_judged_and_worded(facts: dict[str, Fact]) -> None:
    for finding in evaluate(BOOK, facts):
        assert finding.fact in facts
        assert say_finding(finding)


@given(
    st.dictionaries(st.sampled_from(KEYS), ANY_FACT, max_size=4),
    st.dictionaries(st.sampled_from(KEYS), ANY_FACT, max_size=4),
)
@pytest.mark.hazard("H33")
def test_more_facts_never_take_away_a_stop(facts: dict[str, Fact], more: dict[str, Fact]) -> None:
    meters = {key for key in more if key.startswith("total_chlorine_method")}
    both = {**{key: fact for key, fact in more.items() if key not in meters}, **facts}
    stops = {(f.fact, f.grade) for f in evaluate(BOOK, facts) if f.grade is Grade.STOP}
    assert stops <= {(f.fact, f.grade) for f in evaluate(BOOK, both)}


@pytest.mark.source("arithmetic")
@pytest.mark.parametrize(
    ("value", "shown"),
    [
        ("7.0002", "7.01 mL/kg/h"),
        ("7.000000000001", "7.01 mL/kg/h"),
        ("7.1236", "7.12 mL/kg/h"),
        ("9.096", "9.10 mL/kg/h"),
    ],
)
def test_a_rate_over_the_cap_is_shown_over_it(value: str, shown: str) -> None:
    facts = {
        "removal_rate_per_kg": q(value, "mL/kg/h"),
        "removal_cap@prescribed": q("7", "mL/kg/h"),
    }
    found = {f.rule: dict(f.params) for f in evaluate(BOOK, facts)}
    assert found["removal_over_cap"]["value"] == shown


def test_a_rate_at_the_cap_is_not_over_it() -> None:
    at = {"removal_rate_per_kg": q("7", "mL/kg/h"), "removal_cap@prescribed": q("7", "mL/kg/h")}
    assert "removal_over_cap" not in grades(at)


@pytest.mark.source(
    "arithmetic", detail="two decimals as on the plan, up: 1.01375 is 1.02, 0.365 is 0.37, 0.001 is 0.01"
)
@pytest.mark.parametrize(
    ("value", "shown"), [("1.01375", "1.02 L"), ("0.365", "0.37 L"), ("0.001", "0.01 L")]
)
def test_what_remains_is_told_as_the_plan_shows_it(value: str, shown: str) -> None:
    found = {f.rule: dict(f.params) for f in evaluate(BOOK, {"remains": q(value, "L")})}
    assert found["removal_remains"]["value"] == shown
    assert formula_named("remains_after").shown(Decimal(value)) == shown.split()[0]
