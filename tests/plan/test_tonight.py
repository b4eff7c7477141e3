"""Tonight's plan: the usual night, what fits and what remains, nothing, not known, and no heparin."""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import UTC, datetime
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.core.errors import UnitError
from ebbwell.core.text import say
from ebbwell.core.worked import Input, Outcome
from ebbwell.plan.inputs import PlanInputs, Word
from ebbwell.plan.tonight import TonightPlan, plan_tonight
from tests.plan.nights import number, usual

D = Decimal
FLUID = ("removal_volume", "fits_tonight", "remains_after", "removal_rate", "removal_rate_per_kg")


def value(plan: TonightPlan, name: str) -> Decimal:
    line = plan.line(name)
    assert line is not None, name
    assert line.outcome is Outcome.OK, line
    assert line.value is not None
    return line.value


def outcome(plan: TonightPlan, name: str) -> Outcome:
    line = plan.line(name)
    assert line is not None, name
    return line.outcome


@pytest.mark.source(
    "arithmetic", detail="fluids 6, rows 36 and 38, fluids 3.3 and the usual night of the invented household"
)
def test_the_usual_night() -> None:
    plan = plan_tonight(usual())
    assert plan.figures() == {
        "weight_gain": "1.8 kg",
        "weight_gain_share": "2.8 %",
        "removal_volume": "2.30 L",
        "cap_volume": "3.38 L",
        "fits_tonight": "2.30 L",
        "remains_after": "0.00 L",
        "removal_rate": "306.7 mL/h",
        "removal_rate_per_kg": "4.75 mL/kg/h",
        "weight_after_expected": "64.5 kg",
        "heparin_run_time": "6.50 h",
        "heparin_volume": "1.5 mL",
        "heparin_rate_ml": "0.9 mL/h",
        "heparin_total": "7350 units",
        "syringe_fill": "8.35 mL",
        "units_per_kg": "23.3 units/kg",
        "units_per_kg_h": "14 units/kg/h",
        "fluid_volume": "135.0 L",
        "acid_needed": "3.86 L",
        "acid_runs_dry_after": "9.72 h",
        "bicarbonate_powder_needed": "397.0 g",
        "bicarbonate_runs_dry_after": "12.28 h",
        "blood_processed": "103.5 L",
        "rejection": "98.06 %",
        "product_needed": "175.0 L",
        "feed_needed": "350 L",
        "finish_at": "05:30",
        "heparin_stop_at": "04:30",
    }
    assert plan.finish_at == datetime(2026, 4, 30, 4, 30, tzinfo=UTC)
    assert plan.heparin_stop_at == datetime(2026, 4, 30, 3, 30, tzinfo=UTC)


def test_each_line_names_the_entries_it_rests_on() -> None:
    plan = plan_tonight(usual())
    removal = plan.line("removal_volume")
    assert removal is not None
    entries = {given.name: given.entry for given in removal.inputs}
    assert entries == {
        "weight_before_kg": "entry-weight_before",
        "target_weight_kg": "entry-target_weight",
        "rinse_back_l": "entry-rinse_back",
        "prime_given_l": "entry-connection",
        "drink_l": "entry-drink",
        "saline_l": "entry-saline",
        "losses_l": "entry-losses",
    }
    assert set(entries.values()) <= set(plan.rests_on)
    assert list(plan.rests_on) == sorted(set(plan.rests_on))


def test_every_line_has_words_for_its_name_and_reason() -> None:
    for inputs in (
        usual(),
        PlanInputs(),
        usual(anticoagulant=Word("none")),
        usual(anticoagulant=Word("low_molecular")),
    ):
        for line in plan_tonight(inputs).lines:
            assert say(f"formula.{line.name}")
            assert bool(line.why) == (line.outcome is not Outcome.OK)
            if line.why:
                assert say(line.why, **dict(line.why_params))


@pytest.mark.source("arithmetic", detail="fluids 4.3: 4.4 kg over, 3.386 L fits, 1.514 L remains")
@pytest.mark.hazard("H26")
def test_over_the_cap_shows_what_fits_and_what_remains() -> None:
    plan = plan_tonight(usual(weight_before=number("weight_before", "68.9", "kg")))
    assert value(plan, "removal_volume") == D("4.9")
    assert value(plan, "fits_tonight") == D("3.38625")
    assert value(plan, "remains_after") == D("1.51375")
    assert value(plan, "removal_rate") == D("451.5")
    assert value(plan, "removal_rate_per_kg") == 7
    assert value(plan, "weight_after_expected") == D("66.01375")
    asked = plan.facts["removal_rate_per_kg"]
    assert asked is not None
    assert asked.value > 10
    remains = plan.facts["remains"]
    assert remains is not None
    assert remains.value == D("1.51375")


@pytest.mark.hazard("H26")
@pytest.mark.source("practice:e", detail="hazard H26: gain 6.1 kg at 60 kg over 8 h is beyond any usual cap")
def test_a_gain_of_six_kilograms() -> None:
    plan = plan_tonight(
        usual(
            weight_before=number("weight_before", "66.1", "kg"),
            target_weight=number("target_weight", "60", "kg"),
            treatment_minutes=number("treatment_minutes", "480", "min"),
            drink=number("drink", "0", "L"),
            rinse_back=number("rinse_back", "0", "L"),
        )
    )
    asked = plan.facts["removal_rate_per_kg"]
    assert asked is not None
    assert asked.value.quantize(D("0.1")) == D("12.7")
    assert value(plan, "fits_tonight") == D("3.36")
    assert value(plan, "removal_rate_per_kg") <= 7


@pytest.mark.hazard("H61")
@given(
    before=st.decimals(min_value=50, max_value=90, places=1),
    cap=st.decimals(min_value=1, max_value=13, places=1),
    minutes=st.integers(120, 600),
    drink=st.decimals(min_value=0, max_value=2, places=1),
)
def test_nothing_shown_goes_beyond_hours_or_cap(
    before: Decimal, cap: Decimal, minutes: int, drink: Decimal
) -> None:
    inputs = usual(
        weight_before=number("weight_before", str(before), "kg"),
        removal_cap=number("removal_cap", str(cap), "mL/kg/h"),
        treatment_minutes=number("treatment_minutes", str(minutes), "min"),
        drink=number("drink", str(drink), "L"),
    )
    plan = plan_tonight(inputs)
    line = plan.line("removal_rate_per_kg")
    assert line is not None
    if line.value is None:
        assert line.outcome is Outcome.NOTHING
    else:
        assert 0 <= line.value <= cap * D("1.0000000001")
        assert value(plan, "fits_tonight") + value(plan, "remains_after") == value(plan, "removal_volume")
    assert inputs.start_at is not None
    assert plan.finish_at is not None
    assert (plan.finish_at - inputs.start_at).total_seconds() == minutes * 60


@pytest.mark.parametrize("before", ["64.0", "63.2", "50"])
@pytest.mark.hazard("H61")
def test_nothing_to_remove(before: str) -> None:
    plan = plan_tonight(usual(weight_before=number("weight_before", before, "kg")))
    for name in FLUID:
        line = plan.line(name)
        assert line is not None
        assert (line.value, line.outcome) == (None, Outcome.NOTHING)
        assert plan.figures()[name] == "nothing"
        fact = plan.facts[name]
        assert fact is not None
        assert fact.value == 0
    assert value(plan, "cap_volume") > 0
    assert value(plan, "weight_after_expected") == D(before) + D("0.5")
    assert not any("-" in text for name, text in plan.figures().items() if name in FLUID)


NUMBERS = [
    (field.name, line)
    for field, line in (
        (field, line)
        for field in fields(PlanInputs)
        for line in {
            "target_weight": ("removal_volume", "cap_volume", "removal_rate_per_kg", "units_per_kg"),
            "treatment_minutes": (
                "cap_volume",
                "removal_rate",
                "heparin_run_time",
                "fluid_volume",
                "acid_needed",
            ),
            "removal_cap": ("fits_tonight", "remains_after", "removal_rate", "removal_rate_per_kg"),
            "blood_flow": ("blood_processed",),
            "dialysate_flow": ("fluid_volume", "acid_needed", "acid_runs_dry_after", "product_needed"),
            "rinse_back": ("removal_volume", "fits_tonight", "removal_rate", "weight_after_expected"),
            "heparin_strength": ("heparin_volume", "heparin_rate_ml", "syringe_fill"),
            "heparin_first_dose": ("heparin_volume", "heparin_total", "syringe_fill"),
            "heparin_rate": ("heparin_rate_ml", "heparin_total", "syringe_fill"),
            "heparin_stop_before_end": ("heparin_run_time", "heparin_total", "syringe_fill"),
            "heparin_dead_space": ("syringe_fill",),
            "acid_parts": ("acid_needed", "acid_runs_dry_after"),
            "bicarbonate_mixed": ("bicarbonate_powder_needed", "bicarbonate_runs_dry_after"),
            "weight_before": ("removal_volume", "fits_tonight", "removal_rate", "weight_gain"),
            "last_weight_after": ("weight_gain", "weight_gain_share"),
            "drink": ("removal_volume", "removal_rate"),
            "saline": ("removal_volume", "removal_rate"),
            "losses": ("removal_volume", "removal_rate"),
            "acid_can": ("acid_runs_dry_after",),
            "bicarbonate_powder": ("bicarbonate_runs_dry_after",),
            "feed_conductivity": ("rejection",),
            "product_conductivity": ("rejection",),
            "recovery": ("feed_needed",),
        }.get(field.name, ())
    )
]


@pytest.mark.parametrize(("field", "line"), NUMBERS)
def test_not_known_is_never_guessed(field: str, line: str) -> None:
    known = getattr(usual(), field)
    plan = plan_tonight(usual(**{field: replace(known, value=None)}))
    assert outcome(plan, line) is Outcome.MISSING
    assert plan.figures()[line] == "missing"
    if (field, line) != ("removal_cap", "removal_rate_per_kg"):
        assert plan.facts[line] is None
    if field != "recovery":
        assert outcome(plan_tonight(usual(**{field: None})), line) is Outcome.MISSING


def test_what_the_removal_asks_for_is_known_without_a_cap() -> None:
    asked = plan_tonight(usual(removal_cap=None)).facts["removal_rate_per_kg"]
    assert asked is not None
    assert asked.value.quantize(D("0.001")) == D("4.755")


def test_nothing_known_gives_no_number_at_all() -> None:
    plan = plan_tonight(PlanInputs())
    assert all(line.value is None for line in plan.lines)
    assert {line.outcome for line in plan.lines} == {Outcome.MISSING}
    assert all(fact is None for fact in plan.facts.values())
    assert (plan.finish_at, plan.heparin_stop_at, plan.rests_on) == (None, None, ())


def test_the_convention_for_the_prime_must_be_known() -> None:
    assert outcome(plan_tonight(usual(connection=None)), "removal_volume") is Outcome.MISSING
    assert outcome(plan_tonight(usual(connection=Word("prime_given"))), "removal_volume") is Outcome.MISSING
    given_prime = usual(connection=Word("prime_given"), prime_given=number("prime_given", "0.25", "L"))
    assert value(plan_tonight(given_prime), "removal_volume") == D("2.55")
    to_drain = usual(prime_given=number("prime_given", "0.25", "L"))
    assert value(plan_tonight(to_drain), "removal_volume") == D("2.3")


@pytest.mark.parametrize("kind", ["none", "low_molecular"])
def test_no_heparin_sums_but_a_line_that_says_so(kind: str) -> None:
    plan = plan_tonight(usual(anticoagulant=Word(kind, "entry-anticoagulant")))
    line = plan.line("heparin")
    assert line is not None
    assert (line.value, line.outcome) == (None, Outcome.NOTHING)
    assert plan.heparin_stop_at is None
    assert not [name for name in plan.figures() if name.startswith(("heparin_", "syringe", "units_"))]
    assert not [name for name in plan.facts if name.startswith(("heparin", "syringe", "units_"))]


def test_heparin_not_known_says_so_and_gives_no_figures() -> None:
    plan = plan_tonight(usual(anticoagulant=None))
    assert outcome(plan, "heparin") is Outcome.MISSING
    assert outcome(plan, "syringe_fill") is Outcome.MISSING
    assert plan.heparin_stop_at is None


def test_a_first_dose_from_its_own_syringe() -> None:
    plan = plan_tonight(usual(first_dose_from_syringe=False))
    assert value(plan, "syringe_fill") == D("6.85")
    assert value(plan, "heparin_total") == 7350


def test_a_stop_longer_than_the_treatment_is_out_of_range() -> None:
    plan = plan_tonight(usual(heparin_stop_before_end=number("heparin_stop_before_end", "451", "min")))
    assert outcome(plan, "heparin_run_time") is Outcome.OUT_OF_RANGE
    assert outcome(plan, "syringe_fill") is Outcome.MISSING
    assert plan.heparin_stop_at is None


@pytest.mark.source("arithmetic", detail="fluids 2.2: 5 L at 400 mL/min in 1 + 34 runs dry before 8 h")
def test_a_container_that_runs_dry_before_the_end() -> None:
    plan = plan_tonight(
        usual(
            dialysate_flow=number("dialysate_flow", "400", "mL/min"),
            treatment_minutes=number("treatment_minutes", "480", "min"),
        )
    )
    margin = plan.facts["acid_margin"]
    assert margin is not None
    assert margin.value < 0
    powder = plan.facts["bicarbonate_margin"]
    assert powder is not None
    assert powder.value > 0


def test_start_up_draw_and_usable_share_count_where_they_are_known() -> None:
    plain_plan = plan_tonight(usual())
    careful = plan_tonight(
        usual(
            acid_start_up=number("acid_start_up", "0.5", "L"),
            bicarbonate_usable=number("bicarbonate_usable", "90", "%"),
        )
    )
    more = value(careful, "acid_needed") - value(plain_plan, "acid_needed")
    assert more.quantize(D("0.0001")) == D("0.5")
    assert value(careful, "acid_runs_dry_after") < value(plain_plan, "acid_runs_dry_after")
    assert value(careful, "bicarbonate_runs_dry_after") < value(plain_plan, "bicarbonate_runs_dry_after")


def test_liquid_bicarbonate() -> None:
    plan = plan_tonight(
        usual(
            bicarbonate_form=Word("liquid"), bicarbonate_parts=number("bicarbonate_parts", "1.225", "parts")
        )
    )
    assert value(plan, "bicarbonate_liquid_needed").quantize(D("0.001")) == D("4.725")
    assert plan.line("bicarbonate_powder_needed") is None
    unknown = plan_tonight(usual(bicarbonate_form=None))
    assert outcome(unknown, "bicarbonate") is Outcome.MISSING
    assert unknown.facts["bicarbonate_margin"] is None


@pytest.mark.source("arithmetic", detail="0.45359237 kg a pound: 146.2 lb is 66.3 kg")
def test_pounds_and_hours_are_converted() -> None:
    plan = plan_tonight(
        usual(
            weight_before=Input("weight_before", D("146.2"), "lb", "entry-w"),
            treatment_minutes=Input("treatment_minutes", D("7.5"), "h", "entry-t"),
        )
    )
    assert plan.figures()["removal_volume"] == "2.32 L"
    assert plan.finish_at == plan_tonight(usual()).finish_at


def test_another_kind_of_unit_is_refused() -> None:
    with pytest.raises(UnitError):
        plan_tonight(usual(weight_before=Input("weight_before", D("66.3"), "L")))


def test_swapped_conductivities_give_no_rejection() -> None:
    plan = plan_tonight(
        usual(
            feed_conductivity=number("feed_conductivity", "12", "uS/cm"),
            product_conductivity=number("product_conductivity", "620", "uS/cm"),
        )
    )
    assert outcome(plan, "rejection") is Outcome.OUT_OF_RANGE


def test_same_inputs_same_plan() -> None:
    assert plan_tonight(usual()) == plan_tonight(usual())


@pytest.mark.hazard("H26")
@pytest.mark.source("arithmetic", detail="7 x 64.45 = 451.15 mL/h, which rounds to 451.2")
def test_a_rate_at_the_cap_is_not_shown_over_it() -> None:
    over = usual(
        weight_before=number("weight_before", "68.9", "kg"),
        target_weight=number("target_weight", "64.45", "kg"),
    )
    plan = plan_tonight(over)
    assert value(plan, "removal_rate") == D("451.15")
    assert plan.figures()["removal_rate"] == "451.1 mL/h"
    assert plan.figures()["removal_rate_per_kg"] == "7.00 mL/kg/h"


@pytest.mark.hazard("H26")
@given(before=st.decimals(min_value=60, max_value=80, places=2), minutes=st.integers(200, 600))
def test_what_is_shown_says_what_is_so(before: D, minutes: int) -> None:
    plan = plan_tonight(
        usual(
            weight_before=number("weight_before", str(before), "kg"),
            treatment_minutes=number("treatment_minutes", str(minutes), "min"),
        )
    )
    for name, most in plan.bounds.items():
        text = plan.figures()[name].split()[0]
        if text[:1].isdigit():
            assert D(text) <= most
    asked, remains = plan.facts["removal_rate_per_kg"], plan.facts["remains"]
    if asked is not None and remains is not None and asked.value:
        assert (asked.value > 7) is (remains.value > 0)
