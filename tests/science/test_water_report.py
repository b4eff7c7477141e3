"""A laboratory's report against the list: the one line that fails is named, and nothing is guessed."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.core.errors import DomainError, InputError, UnitError
from ebbwell.core.quantity import Quantity
from ebbwell.core.text import say
from ebbwell.rulebook.water_lists import load_water_lists
from ebbwell.science.water_report import (
    LabLine,
    WaterLevel,
    WaterLine,
    compare_report,
    failing,
    limit_as,
    strictest,
)

D = Decimal
LISTS = load_water_lists()
LIMITS = LISTS.chemical_list("international")
NAMES = [limit.item for limit in LIMITS]
AT_LIMIT = [LabLine(one.item, Quantity(one.most, one.unit), one.form) for one in LIMITS]


def lab(item: str, value: str, unit: str = "mg/L", form: str = "") -> LabLine:
    below = value.startswith("<")
    return LabLine(item, Quantity(D(value.removeprefix("<")), unit, below), form)


def only(line: LabLine) -> WaterLine:
    return next(found for found in compare_report(LIMITS, [line]) if found.limit.item == line.item)


@pytest.mark.source("fluids:W1", detail="highest allowed: at the limit is within")
def test_a_report_at_every_limit_is_within() -> None:
    lines = compare_report(LIMITS, AT_LIMIT)
    assert [line.level for line in lines] == [WaterLevel.WITHIN] * 22
    assert failing(lines) == ()


@pytest.mark.parametrize("item", NAMES)
def test_the_one_line_that_fails_is_named(item: str) -> None:
    report = [
        LabLine(line.item, Quantity(line.result.value * D("1.01"), line.result.unit), line.form)
        if line.item == item
        else line
        for line in AT_LIMIT
    ]
    found = failing(compare_report(LIMITS, report))
    assert [(line.limit.item, line.level) for line in found] == [(item, WaterLevel.OVER)]
    assert say(f"water_item.{item}")


@pytest.mark.parametrize("item", NAMES)
def test_a_line_that_is_not_there_is_missing_and_not_within(item: str) -> None:
    found = failing(compare_report(LIMITS, [line for line in AT_LIMIT if line.item != item]))
    assert [(line.limit.item, line.level, line.result) for line in found] == [
        (item, WaterLevel.MISSING, None)
    ]


@pytest.mark.source(
    "common practice", detail='no source: "< x" passes only if x is at or under the limit (fluids 1.1)'
)
@pytest.mark.parametrize(
    ("value", "level"),
    [
        ("<0.005", WaterLevel.WITHIN),
        ("<0.001", WaterLevel.WITHIN),
        ("<0.006", WaterLevel.CANT_TELL),
        ("0.006", WaterLevel.OVER),
    ],
)
def test_less_than_keeps_its_sign(value: str, level: WaterLevel) -> None:
    found = only(lab("lead", value))
    assert found.level is level
    assert found.result is not None
    assert found.result.below is value.startswith("<")


@pytest.mark.source("arithmetic", detail="row 10: 2 mg/L as nitrogen is 8.85 as nitrate")
@pytest.mark.parametrize(
    ("value", "unit", "form", "level"),
    [
        ("2", "mg/L", "as nitrogen", WaterLevel.WITHIN),
        ("2.01", "mg/L", "as nitrogen", WaterLevel.OVER),
        ("8.85", "mg/L", "as nitrate", WaterLevel.WITHIN),
        ("8.86", "mg/L", "as nitrate", WaterLevel.OVER),
        ("8.85", "mg/L", "as nitrogen", WaterLevel.OVER),
        ("0.142", "mmol/L", "as nitrate", WaterLevel.WITHIN),
        ("0.142", "mmol/L", "as nitrogen", WaterLevel.WITHIN),
        ("0.143", "mmol/L", "as nitrate", WaterLevel.OVER),
    ],
)
def test_nitrate_by_the_form_of_the_report(value: str, unit: str, form: str, level: WaterLevel) -> None:
    assert only(lab("nitrate", value, unit, form)).level is level


def test_nitrate_without_its_form_is_refused() -> None:
    with pytest.raises(DomainError) as caught:
        compare_report(LIMITS, [lab("nitrate", "2")])
    assert "nitrogen" in say(caught.value.key, **caught.value.params)


@pytest.mark.source("fluids:W3", detail="the same numbers in ug/L")
@pytest.mark.parametrize(
    ("item", "value", "unit", "level"),
    [
        ("aluminium", "10", "ug/L", WaterLevel.WITHIN),
        ("aluminium", "10.1", "ug/L", WaterLevel.OVER),
        ("sodium", "3.0", "mmol/L", WaterLevel.WITHIN),
        ("sodium", "3.01", "mmol/L", WaterLevel.OVER),
        ("calcium", "0.05", "mmol/L", WaterLevel.WITHIN),
        ("calcium", "0.051", "mmol/L", WaterLevel.OVER),
        ("calcium", "0.2", "mg/dL", WaterLevel.WITHIN),
    ],
)
def test_other_units(item: str, value: str, unit: str, level: WaterLevel) -> None:
    assert only(lab(item, value, unit)).level is level


@pytest.mark.source(
    "common practice", detail="no source: over 20 times the limit offer both readings (fluids 1.1)"
)
def test_a_slip_of_the_unit_is_offered_and_not_taken() -> None:
    found = only(lab("aluminium", "6"))
    assert found.level is WaterLevel.OVER
    assert found.other_reading == Quantity(D(6), "ug/L")
    assert only(lab("aluminium", "0.2")).other_reading is None
    assert only(lab("aluminium", "0.201")).other_reading is not None
    assert only(lab("aluminium", "6000", "ug/L")).other_reading is None


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (lab("total_chlorine", "0.05", form="free"), "total"),
        (lab("nitrate", "2", form="as something"), "nitrogen"),
        (lab("gold", "1"), "gold"),
        (lab("lead", "-1"), "lead"),
        (lab("lead", "NaN"), "lead"),
    ],
)
def test_what_does_not_fit_is_refused(line: LabLine, words: str) -> None:
    with pytest.raises(DomainError) as caught:
        compare_report(LIMITS, [line])
    assert words in say(caught.value.key, **caught.value.params)


def test_an_item_twice_is_refused() -> None:
    with pytest.raises(DomainError) as caught:
        compare_report(LIMITS, [lab("lead", "0.001"), lab("lead", "0.002")])
    assert "2 times" in say(caught.value.key, **caught.value.params)


@pytest.mark.parametrize(("item", "unit"), [("lead", "mS/cm"), ("lead", "mmol/L"), ("sulphate", "mmol/L")])
def test_another_kind_of_unit_is_refused(item: str, unit: str) -> None:
    with pytest.raises(UnitError):
        compare_report(LIMITS, [lab(item, "0.001", unit)])


@pytest.mark.source("fluids:W6", detail="where another list is stricter the lower figure holds")
def test_of_two_lists_the_lower_figure_holds() -> None:
    from dataclasses import replace

    own = [
        replace(one, most=D(4), jurisdiction="drinking water")
        for one in LISTS.chemical_list("united_kingdom")
        if one.item == "lead"
    ]
    both = {one.item: one for one in strictest(LIMITS, own)}
    assert both["lead"].jurisdiction == "drinking water"
    assert len(both) == 22
    assert {one.item: one for one in strictest(own, LIMITS)}["lead"].most == 4
    with pytest.raises(DomainError):
        strictest(LIMITS, [replace(own[0], form="as the ion")])


def test_a_list_that_is_not_there_is_said() -> None:
    with pytest.raises(InputError) as caught:
        LISTS.chemical_list("nowhere")
    assert "nowhere" in say(caught.value.key, **caught.value.params)
    with pytest.raises(InputError):
        LISTS.microbe_line("microbe", "water_standard", "japan")


def test_every_item_of_every_list_has_words() -> None:
    assert all(say(f"water_item.{one.item}") for one in LISTS.chemicals)


@given(item=st.sampled_from(NAMES), value=st.decimals(0, 500, places=4), below=st.booleans())
def test_more_is_never_judged_better(item: str, value: Decimal, below: bool) -> None:
    form = next(one.form for one in LIMITS if one.item == item)
    levels = [
        only(LabLine(item, Quantity(v, "mg/L", below), form)).level for v in (value, value + D("0.0001"))
    ]
    assert levels != [WaterLevel.OVER, WaterLevel.WITHIN]
    assert levels != [WaterLevel.CANT_TELL, WaterLevel.WITHIN]
    assert not below or WaterLevel.OVER not in levels


@given(nitrogen=st.decimals("0.01", 20, places=3))
def test_nitrate_is_judged_alike_in_both_forms(nitrogen: Decimal) -> None:
    nitrate = next(one for one in LIMITS if one.item == "nitrate")
    as_nitrate = nitrogen * limit_as(nitrate, "as nitrate") / 2
    one = only(LabLine("nitrate", Quantity(nitrogen, "mg/L"), "as nitrogen"))
    other = only(LabLine("nitrate", Quantity(as_nitrate, "mg/L"), "as nitrate"))
    if nitrogen != 2:
        assert one.level is other.level
