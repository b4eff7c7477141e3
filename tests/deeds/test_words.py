"""Every refusal, question of entry, bar and finding of the deeds has words, and the words take what is passed."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from ebbwell.core.text import has_text, say
from ebbwell.papers.spoken import bar_words
from ebbwell.procedure.gate import Bar
from ebbwell.procedure.holds import PASSED, Status
from ebbwell.state.night import Phase

SOURCE = Path(__file__).parents[2] / "src/ebbwell"
FAMILY = re.compile(r"(refuse|enter|hold|bar)(\.[a-z0-9_]+)+")


def _calls() -> Iterator[tuple[str, str, frozenset[str]]]:
    """(file, key, names of the parameters passed) of each call that raises or refuses with a literal key."""
    for path in sorted(SOURCE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and node.args and isinstance(node.args[0], ast.Constant):
                key = node.args[0].value
                if isinstance(key, str) and FAMILY.fullmatch(key):
                    yield path.name, key, frozenset(k.arg for k in node.keywords if k.arg)


def _literals() -> set[str]:
    return {
        node.value
        for path in SOURCE.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and FAMILY.fullmatch(node.value)
    }


def test_every_key_in_the_source_has_words() -> None:
    keys = _literals()
    assert len(keys) > 80
    assert sorted(key for key in keys if not has_text(key)) == []


@pytest.mark.parametrize("call", sorted(set(_calls()), key=str), ids=lambda call: f"{call[0]}:{call[1]}")
def test_the_words_use_only_what_is_passed(call: tuple[str, str, frozenset[str]]) -> None:
    _, key, passed = call
    if key.startswith("bar."):
        passed = frozenset({"step", "about", "kind"})
    used = set(re.findall(r"{(\w+)}", say(key)))
    assert used <= passed


@pytest.mark.parametrize("phase", Phase)
def test_every_phase_has_words_and_a_refusal(phase: Phase) -> None:
    assert say(f"phase.{phase.value}")
    assert say(f"refuse.phase.{phase.value}")


@pytest.mark.parametrize("skill", ["set_up", "needle", "connect"])
def test_every_skill_that_is_asked_for_has_a_refusal(skill: str) -> None:
    assert "Call" in say(f"refuse.skill.{skill}")


def _findings() -> Iterator[tuple[str, str, frozenset[str]]]:
    """(file, rule, names of the parameters passed) of each finding that code makes itself."""
    for path in sorted(SOURCE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call) or getattr(node.func, "id", "") != "Finding" or not node.args:
                continue
            if isinstance(node.args[0], ast.Constant):
                pairs = (
                    node.args[2].elts if len(node.args) > 2 and isinstance(node.args[2], ast.Tuple) else []
                )
                names = [ast.literal_eval(p.elts[0]) for p in pairs if isinstance(p, ast.Tuple)]
                yield path.name, str(node.args[0].value), frozenset(names)


def test_findings_that_deeds_make_are_found() -> None:
    rules = {rule for _, rule, _ in _findings()}
    assert {"second_check_differs", "pack_not_for_tonight", "stop_pressed", "hand_over_waits"} <= rules


@pytest.mark.parametrize("made", sorted(set(_findings()), key=str), ids=lambda made: f"{made[0]}:{made[1]}")
def test_a_finding_has_words_that_use_only_what_is_passed(made: tuple[str, str, frozenset[str]]) -> None:
    _, rule, passed = made
    assert set(re.findall(r"{(\w+)}", say(f"finding.{rule}"))) <= passed | {"what"}


@pytest.mark.parametrize("status", Status)
def test_every_status_has_words_and_what_is_not_passed_a_reason(status: Status) -> None:
    assert say(f"status.{status.value}")
    assert has_text(f"bar.{status.value}") is (status not in PASSED)


def test_a_step_shut_by_what_was_found_says_what_was_found() -> None:
    shut = bar_words(Bar("bar.barred", step="S12", about="hold.lot.expired"))
    assert shut.endswith(say("hold.lot.expired"))
    assert shut.startswith("S12 ")


@pytest.mark.parametrize("key", ["limit.needles_to_connect", "quantity.removal_rate"])
def test_what_deeds_name_of_limits_and_quantities_has_words(key: str) -> None:
    assert has_text(key)
