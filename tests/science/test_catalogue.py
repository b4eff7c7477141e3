"""Every public formula: source, words, refusal outside its ranges, no leap at an edge, the same in other units."""

from __future__ import annotations

import hashlib
import inspect
import re
import tomllib
from decimal import Decimal, getcontext, localcontext
from importlib import resources

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ebbwell.core.errors import DomainError, UnitError, UnknownFormula, UnknownInput
from ebbwell.core.text import say
from ebbwell.core.units import UNITS, convert
from ebbwell.core.worked import Input, Outcome
from ebbwell.science import catalogue
from ebbwell.science.catalogue import (
    formula_named,
    formulas,
    formulas_digest,
    formulas_text,
    names,
    shown,
    work,
)
from ebbwell.science.formula import Formula, FormulaInput, formula, span
from tests.science.strategies import PLAIN, inputs_of, middle

KNOWN = tomllib.loads((resources.files("ebbwell.rulebook") / "sources.toml").read_text("utf-8"))["source"]
EACH = pytest.mark.parametrize("one", formulas(review=True), ids=names(review=True))
EDGES = [
    pytest.param(one, wanted, id=f"{one.name}-{wanted.name}")
    for one in formulas(review=True)
    for wanted in one.inputs
]
SUFFIX = {
    "kg": "kg",
    "l": "L",
    "ml": "mL",
    "g": "g",
    "h": "h",
    "min": "min",
    "mmhg": "mmHg",
    "c": "C",
    "cm": "cm",
    "ml_h": "mL/h",
    "ml_min": "mL/min",
    "l_min": "L/min",
    "ml_kg_h": "mL/kg/h",
    "ml_h_mmhg": "mL/h/mmHg",
    "us_cm": "uS/cm",
    "ms_cm": "mS/cm",
    "mmol_l": "mmol/L",
    "mg_l": "mg/L CaCO3",
    "chlorine_mg_l": "mg/L",
    "mg": "mg",
    "mm": "mm",
    "s": "s",
    "mpa_s": "mPa s",
    "cfu_ml": "CFU/mL",
    "per_m3": "",
    "grain_gal": "grain/gal",
    "units": "units",
    "units_h": "units/h",
    "units_ml": "units/mL",
    "percent": "%",
    "per_c": "/C",
    "factor": "",
    "kg_m3": "kg/m3",
    "parts": "parts",
    "nights": "nights",
    "m2": "m2",
    "years": "years",
    "days": "days",
    "mg_dl": "mg/dL",
    "mmol": "mmol",
    "per_week": "/week",
    "per_h": "/h",
    "mmol_min": "mmol/min",
    "mg_min": "mg/min",
}


def test_the_plain_inputs_cover_the_register() -> None:
    assert tuple(PLAIN) == names(review=True)
    assert len(names(review=True)) >= 60


@EACH
def test_source_and_words(one: Formula) -> None:
    assert one.source in KNOWN
    assert say(one.meaning)
    assert all(say(wanted.meaning) for wanted in one.inputs)
    assert one.unit in UNITS
    assert one.text


@EACH
def test_docstring_tells_units_range_and_source(one: Formula) -> None:
    lines = inspect.getdoc(one.function) or ""
    doc = " ".join(lines.split())
    assert "Source: " in doc
    assert "Raises DomainError" in doc
    if one.unit not in ("", "nights"):
        assert f"[{one.unit}]" in lines.splitlines()[0]
    numbers = re.sub(r"(?<=\d),(?=\d{3})", "", doc)
    for wanted in one.inputs:
        if one.name not in ("weight_after_expected", "left_after_nights"):
            assert f"{wanted.low.normalize():f} to {wanted.high.normalize():f}" in numbers, wanted.name


@EACH
def test_argument_names_carry_their_unit(one: Formula) -> None:
    for wanted in one.inputs:
        parts = wanted.name.split("_")
        tails = ["_".join(parts[at:]) for at in range(len(parts))]
        assert any(SUFFIX.get(tail) == wanted.unit for tail in tails), wanted.name


@EACH
def test_works_on_plain_inputs(one: Formula) -> None:
    worked = work(one.name, middle(one))
    assert worked.outcome is Outcome.OK
    assert worked.value is not None
    assert worked.value.is_finite()
    assert (worked.unit, worked.formula, worked.source) == (one.unit, one.text, one.source)
    assert [given.name for given in worked.inputs] == [wanted.name for wanted in one.inputs]
    assert all(given.value is not None for given in worked.inputs)
    assert shown(worked).endswith(one.unit)


@EACH
@settings(max_examples=30, suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data())
def test_inside_the_ranges_a_finite_value_or_a_reason(one: Formula, data: st.DataObject) -> None:
    worked = work(one.name, data.draw(inputs_of(one)))
    if worked.outcome is Outcome.OK:
        assert worked.value is not None
        assert worked.value.is_finite()
    else:
        assert worked.value is None
        assert worked.outcome in (Outcome.NOTHING, Outcome.OUT_OF_RANGE)
        assert say(worked.why, **dict(worked.why_params))


@pytest.mark.parametrize(("one", "wanted"), EDGES)
@pytest.mark.parametrize("side", ["low", "high", "nan", "inf"])
def test_refuses_outside_with_the_unit_in_the_words(one: Formula, wanted: FormulaInput, side: str) -> None:
    tiny = Decimal("1e-9")
    value = {
        "low": wanted.low - tiny,
        "high": wanted.high + tiny,
        "nan": Decimal("NaN"),
        "inf": Decimal("inf"),
    }
    inputs = {**middle(one), wanted.name: value[side]}
    with pytest.raises(DomainError) as caught:
        one.function(**inputs)
    assert caught.value.key == "science.out_of_range"
    words = say(caught.value.key, **caught.value.params)
    assert wanted.name in words
    assert f"to {wanted.high:f} {wanted.unit}".rstrip() in words
    worked = work(one.name, inputs)
    assert (worked.value, worked.outcome) == (None, Outcome.OUT_OF_RANGE)
    assert say(worked.why, **dict(worked.why_params)) == words


@pytest.mark.parametrize(("one", "wanted"), [edge for edge in EDGES if not str(edge.id).endswith("-nights")])
def test_no_leap_at_an_edge(one: Formula, wanted: FormulaInput) -> None:
    """A hair inside the range gives a hair's difference; whole counts may step by one."""
    for edge, sign in ((wanted.low, 1), (wanted.high, -1)):
        inside = edge + sign * (abs(edge) or Decimal("0.001")) * Decimal("1e-9")
        at = work(one.name, {**middle(one), wanted.name: edge})
        near = work(one.name, {**middle(one), wanted.name: inside})
        assert at.outcome is near.outcome
        if at.value is not None and near.value is not None:
            room = 1 if one.unit == "nights" else Decimal("1e-5") * max(1, abs(at.value))
            assert abs(at.value - near.value) <= room


@pytest.mark.parametrize(("one", "wanted"), EDGES)
def test_the_same_in_other_units(one: Formula, wanted: FormulaInput) -> None:
    base = middle(one)
    if wanted.name not in base:
        base[wanted.name] = wanted.default if wanted.default is not None else wanted.low
    expected = work(one.name, base).value
    assert expected is not None
    for other in UNITS.values():
        if other.kind == UNITS[wanted.unit].kind and other.symbol != wanted.unit:
            typed = Input(
                "typed", convert(base[wanted.name], wanted.unit, other.symbol), other.symbol, "entry-1"
            )
            worked = work(one.name, {**base, wanted.name: typed})
            if worked.outcome is Outcome.OUT_OF_RANGE:
                assert base[wanted.name] in (wanted.low, wanted.high)
                continue
            assert worked.value is not None
            assert abs(worked.value - expected) <= Decimal("1e-20") * max(1, abs(expected))
            got = next(given for given in worked.inputs if given.name == wanted.name)
            assert (got.unit, got.entry) == (wanted.unit, "entry-1")


@pytest.mark.parametrize(("one", "wanted"), EDGES)
def test_not_known_stays_not_known(one: Formula, wanted: FormulaInput) -> None:
    for none in (None, Input("typed", None, wanted.unit, "entry-1")):
        worked = work(one.name, {**middle(one), wanted.name: none})
        assert (worked.value, worked.outcome, worked.why) == (None, Outcome.MISSING, "science.missing")
        assert dict(worked.why_params) == {"inputs": wanted.name}


def test_left_out_is_missing_unless_it_has_a_default() -> None:
    worked = work("removal_volume", {})
    assert worked.outcome is Outcome.MISSING
    assert dict(worked.why_params)["inputs"] == "weight_before_kg, target_weight_kg, rinse_back_l"
    zero = {given.name: given.value for given in worked.inputs}
    assert zero["drink_l"] == 0


def test_names_are_looked_up() -> None:
    with pytest.raises(UnknownFormula) as formula_caught:
        work("make_it_so", {})
    assert formula_caught.value.exit_code == 14
    assert say(formula_caught.value.key, **formula_caught.value.params)
    with pytest.raises(UnknownInput) as input_caught:
        work("removal_rate", {"volume_kg": Decimal(2)})
    assert input_caught.value.exit_code == 15
    assert "volume_kg" in say(input_caught.value.key, **input_caught.value.params)


def test_another_kind_of_unit_is_refused() -> None:
    with pytest.raises(UnitError):
        work("removal_rate", {"volume_l": Input("volume_l", Decimal(2), "kg"), "hours_h": Decimal(4)})


def test_floats_are_refused() -> None:
    with pytest.raises(TypeError, match="volume_l must be a Decimal, not float"):
        formula_named("removal_rate").function(volume_l=2.0, hours_h=Decimal(4))


def test_the_callers_decimal_settings_change_nothing() -> None:
    expected = work("removal_rate", {"volume_l": Decimal("2.3"), "hours_h": Decimal("7.5")}).value
    with localcontext() as context:
        context.prec = 3
        assert work("removal_rate", {"volume_l": Decimal("2.3"), "hours_h": Decimal("7.5")}).value == expected
    assert getcontext().prec == 28


def test_shown_rounds_to_the_careful_side() -> None:
    assert formula_named("cap_volume").shown(Decimal("3.3862")) == "3.38"
    assert formula_named("remains_after").shown(Decimal("1.5138")) == "1.52"
    assert formula_named("removal_rate").shown(Decimal("306.65")) == "306.7"
    assert formula_named("weight_gain").shown(Decimal("-0.04")) == "0.0"


@pytest.mark.source("examples:E6.7", detail="0.125 mL/h: a small rate keeps its digits")
def test_drug_figures_carry_no_zeros_after_the_last_digit() -> None:
    rate = formula_named("heparin_rate_ml")
    assert [rate.shown(Decimal(text)) for text in ("0.125", "0.900", "1", "10.0")] == [
        "0.125",
        "0.9",
        "1",
        "10",
    ]
    assert formula_named("heparin_total").shown(Decimal("7350.0")) == "7350"
    assert formula_named("syringe_fill").shown(Decimal("8.351")) == "8.36"


def test_the_text_that_is_pinned() -> None:
    text = formulas_text()
    assert all(f"\n{name} [" in f"\n{text}" for name in names(review=True))
    assert formulas_digest() == hashlib.sha256(text.encode()).hexdigest()


def test_the_text_changes_with_a_range(monkeypatch: pytest.MonkeyPatch) -> None:
    from dataclasses import replace

    before = formulas_digest()
    one = formula_named("removal_rate")
    wider = replace(one.inputs[0], high=Decimal(31))
    monkeypatch.setitem(catalogue._FORMULAS, one.name, replace(one, inputs=(wider, *one.inputs[1:])))
    assert formulas_digest() != before


def test_a_formula_must_name_each_range() -> None:
    with pytest.raises(ValueError, match="arguments and ranges differ"):

        @formula(unit="L", text="a", source="arithmetic", places=1, a_l=span("L", "0", "1"))
        def made_up(*, b_l: Decimal) -> Decimal:
            return b_l

    with pytest.raises(ValueError, match="by name only"):

        @formula(unit="L", text="a", source="arithmetic", places=1, a_l=span("L", "0", "1"))
        def also_made_up(a_l: Decimal) -> Decimal:
            return a_l


@pytest.mark.source("arithmetic")
@pytest.mark.parametrize(
    ("value", "most", "text"),
    [
        ("451.15", "451.15", "451.1"),
        ("451.16", "451.15", "451.2"),
        ("451.5", "451.5", "451.5"),
        ("451.5000000000000000000000000000001", "451.5", "451.5"),
        ("306.65", "451.5", "306.7"),
        ("451.54", "451.5", "451.6"),
    ],
)
def test_a_figure_is_never_shown_on_the_other_side_of_what_it_is_held_against(
    value: str, most: str, text: str
) -> None:
    assert formula_named("removal_rate").shown(Decimal(value), Decimal(most)) == text
