"""Each plan worked on paper comes out of the program as it stands on the paper."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from typing import Any

import pytest

from ebbwell.core.findings import Grade
from ebbwell.core.quantity import Quantity
from ebbwell.core.worked import Input
from ebbwell.plan.inputs import PlanInputs, Word
from ebbwell.plan.tonight import TonightPlan, plan_tonight
from ebbwell.rulebook.evaluate import Fact, evaluate
from ebbwell.rulebook.load import load_rulebook
from tests.plans.paper import PaperPlan, holds, plans, worth

EACH = [
    pytest.param(
        plan, id=plan.name, marks=pytest.mark.source("arithmetic", detail=f"on paper, in {plan.name}.toml")
    )
    for plan in plans()
]
WORDS = ("connection", "anticoagulant", "bicarbonate_form")
PRESCRIBED = ("removal_cap", "treatment_minutes")
"""Lines of the order that rules hold the plan against."""


def _inputs(given: dict[str, Any]) -> PlanInputs:
    values: dict[str, Any] = {}
    for name, text in given.items():
        if name in WORDS:
            values[name] = Word(text)
        elif name == "start_at":
            values[name] = datetime.fromisoformat(text)
        elif name in ("zone", "first_dose_from_syringe"):
            values[name] = text
        else:
            number, _, unit = text.partition(" ")
            values[name] = Input(name, None if number == "?" else Decimal(number), unit or "parts")
    return PlanInputs(**values)


def _rules(paper: PaperPlan, plan: TonightPlan) -> list[str]:
    """What the rulebook says about the figures of the plan, held against the order."""
    facts: dict[str, Fact] = dict(plan.facts)
    facts["heparin_first_dose_per_kg"] = facts.pop("units_per_kg", None)
    facts["heparin_rate_per_kg"] = facts.pop("units_per_kg_h", None)
    known = {name: value for name, value in facts.items() if value is not None}
    for name in PRESCRIBED:
        if name in paper.given:
            number, _, unit = paper.given[name].partition(" ")
            known[f"{name}@prescribed"] = Quantity(Decimal(number), unit)
    return [f.rule for f in evaluate(load_rulebook(), known) if f.grade is not Grade.UNKNOWN]


@pytest.mark.parametrize("paper", EACH)
def test_the_sums_on_the_paper_are_right(paper: PaperPlan) -> None:
    assert [line for line in paper.sums if not holds(line)] == []


@pytest.mark.parametrize("paper", EACH)
def test_the_plan_comes_out_as_on_the_paper(paper: PaperPlan) -> None:
    shown = plan_tonight(_inputs(paper.given)).figures()
    assert {name: shown.get(name) for name in paper.figures} == paper.figures


@pytest.mark.parametrize("paper", EACH)
def test_the_rulebook_says_what_the_paper_says(paper: PaperPlan) -> None:
    assert sorted(_rules(paper, plan_tonight(_inputs(paper.given)))) == sorted(paper.rules)


def test_there_are_thirty_and_ten_of_them_are_awkward() -> None:
    all_of_them = plans()
    assert len(all_of_them) >= 30
    assert sum(bool(plan.awkward) for plan in all_of_them) >= 10
    assert all(plan.figures for plan in all_of_them)


def test_a_wrong_sum_on_paper_is_noticed() -> None:
    assert holds("rate: 2300 / 7.5 ~ 306.7")
    assert not holds("rate: 2300 / 7.5 ~ 306.6")
    assert not holds("to remove: 1.8 + 0.5 = 2.31")
    assert worth("-(1 - 3) * 2") == 4
    with pytest.raises(ValueError, match="not a line"):
        holds("nothing here")
