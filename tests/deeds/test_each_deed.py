"""Every deed says what it refuses, and has a test that it does its work and one that it refuses."""

from __future__ import annotations

import ast
import importlib
import inspect
import pkgutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

import ebbwell.deeds as package

PARTS = frozenset({"pin_night", "independent"})
"""Parts of a deed that take a desk as one does, but are never done by themselves."""

TESTS = Path(__file__).parent
REFUSALS = frozenset({"refused", "wrong", "raises"})


def _deeds() -> Iterator[Callable[..., None]]:
    for module in pkgutil.iter_modules(package.__path__):
        found = vars(importlib.import_module(f"{package.__name__}.{module.name}"))
        for name, thing in found.items():
            if name.startswith("_") or not inspect.isfunction(thing) or name in PARTS:
                continue
            if thing.__module__ != f"{package.__name__}.{module.name}":
                continue
            signature = inspect.signature(thing)
            first, *others = signature.parameters.values()
            if first.name == "desk" and signature.return_annotation == "None":
                assert all(one.kind is one.KEYWORD_ONLY for one in others), name
                yield thing


DEEDS = sorted(_deeds(), key=lambda deed: deed.__name__)


def _tests() -> dict[str, bool]:
    """Name of each test of a deed to whether it looks for a refusal."""
    found = {}
    for path in TESTS.glob("test_*.py"):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
                called = {
                    getattr(call.func, "id", getattr(call.func, "attr", ""))
                    for call in ast.walk(node)
                    if isinstance(call, ast.Call)
                }
                found[node.name] = not REFUSALS.isdisjoint(called)
    return found


def test_all_deeds_are_found() -> None:
    names = {deed.__name__ for deed in DEEDS}
    assert len(names) == len(DEEDS) >= 40
    assert {"transcribe", "measure", "agree_plan", "connect", "come_off", "correct", "recall_lot"} <= names


@pytest.mark.parametrize("deed", DEEDS, ids=lambda deed: deed.__name__)
def test_a_deed_says_what_it_refuses(deed: Callable[..., None]) -> None:
    said = " ".join((deed.__doc__ or "").split()).lower()
    assert "refuse" in said


@pytest.mark.parametrize("deed", DEEDS, ids=lambda deed: deed.__name__)
def test_a_deed_is_tested_for_what_it_does_and_for_what_it_refuses(deed: Callable[..., None]) -> None:
    mine = {name: refusal for name, refusal in _tests().items() if name.startswith(f"test_{deed.__name__}_")}
    assert any("refuse" not in name for name in mine) or any("never_refused" in name for name in mine)
    if not any("never_refused" in name for name in mine):
        assert any(mine.values()), f"no refusal of {deed.__name__} is tested"
    for name, refusal in mine.items():
        if "_refuses_" in name:
            assert refusal, f"{name} looks for no refusal"
