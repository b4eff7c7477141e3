"""The list of hazards is whole, and what it says of the program is so."""

from __future__ import annotations

import ast
import re
from functools import lru_cache
from pathlib import Path

import pytest

from ebbwell.core import readiness
from ebbwell.core.text import say
from ebbwell.procedure.load import load_procedure
from ebbwell.rulebook.load import load_rulebook
from tests.hazards.register import ROOT, Hazard, file_of, hazards, owner_of

LIST = hazards()

SEVERITIES = (
    "5554445555"  # H1 to H10
    "5444424434"  # H11 to H20
    "3434353455"  # H21 to H30
    "4545543433"  # H31 to H40
    "3334443433"  # H41 to H50
    "4534455555"  # H51 to H60
    "5545545545"  # H61 to H70
    "4444534"  # H71 to H77
)
"""Severity of each hazard, as published in the reference: one digit a hazard, from H1 on."""

DUES = {"pages", "papers", "drift", "solutes", "stock", "access", "rehearsal", "devices"}


@pytest.mark.source("practice:e", detail="77 hazards with their severities")
def test_all_hazards_are_there_with_their_severity() -> None:
    assert len(SEVERITIES) == 77
    assert {h.id: h.severity for h in LIST} == {f"H{n}": int(s) for n, s in enumerate(SEVERITIES, start=1)}
    assert [h.id for h in LIST] == [f"H{n}" for n in range(1, 78)]


@pytest.mark.parametrize("hazard", LIST, ids=lambda hazard: hazard.id)
def test_a_hazard_is_controlled_and_proven_or_due(hazard: Hazard) -> None:
    assert hazard.what
    assert hazard.control
    if hazard.controlled:
        assert hazard.due == ""
        assert hazard.where
        assert hazard.tests
        for target in hazard.where:
            if file_of(target) is None:
                owner_of(target)
        for test in hazard.tests:
            assert marked(test), f"{test} has no marker of {hazard.id}" if exists(test) else f"no {test}"
            assert hazard.id in marked(test)
    else:
        assert hazard.state == "due"
        assert hazard.due in DUES
        assert (hazard.where, hazard.tests) == ((), ())


@lru_cache(maxsize=64)
def markers(path: Path) -> dict[str, frozenset[str]]:
    """Test function to the hazards it is marked with."""
    found: dict[str, frozenset[str]] = {}
    for node in ast.parse(path.read_text("utf-8")).body:
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
            found[node.name] = frozenset(_hazards_of(node))
    return found


def _hazards_of(node: ast.FunctionDef) -> list[str]:
    return [
        str(arg.value)
        for mark in node.decorator_list
        if isinstance(mark, ast.Call) and ast.unparse(mark.func) == "pytest.mark.hazard"
        for arg in mark.args
        if isinstance(arg, ast.Constant)
    ]


def exists(test: str) -> bool:
    path, _, name = test.partition("::")
    return (ROOT / path).is_file() and name in markers(ROOT / path)


def marked(test: str) -> frozenset[str]:
    path, _, name = test.partition("::")
    return markers(ROOT / path).get(name, frozenset()) if (ROOT / path).is_file() else frozenset()


def test_every_marker_names_a_hazard() -> None:
    known = {hazard.id for hazard in LIST}
    used: set[str] = set()
    for path in sorted((ROOT / "tests").rglob("test_*.py")):
        for found in re.findall(r"mark\.hazard\(([^)]*)\)", path.read_text("utf-8")):
            names = re.findall(r'"([^"]*)"', found)
            assert set(names) <= known, (path, names)
            used.update(names)
    assert used >= {hazard.id for hazard in LIST if hazard.controlled}


def test_every_hazard_that_steps_and_limits_name_is_in_the_list() -> None:
    known = {hazard.id for hazard in LIST}
    steps = {name for step in load_procedure().steps for name in step.hazards}
    rules = {name for rule in load_rulebook().rules() for name in rule.hazards}
    assert len(steps) > 20
    assert steps | rules <= known


def test_practice_only_follows_the_list() -> None:
    left = tuple(hazard.id for hazard in LIST if hazard.severity == 5 and not hazard.controlled)
    assert left == readiness.UNCONTROLLED_5
    assert readiness.practice_only() is bool(left)
    assert say("practice_only") == "Practice only: not ready for real treatments."


@pytest.mark.parametrize("left", [(), ("H35",)])
def test_one_uncontrolled_hazard_is_enough(left: tuple[str, ...], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(readiness, "UNCONTROLLED_5", left)
    assert readiness.practice_only() is bool(left)
