"""Every refusal, question of entry, bar and finding of the deeds has words, and the words take what is passed."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from ebbwell.core.text import has_text, say
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
