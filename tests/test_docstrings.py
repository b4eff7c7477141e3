"""Public functions and classes say what they do; formulas also name their units and their source."""

from __future__ import annotations

import ast
import inspect
from collections.abc import Iterator
from pathlib import Path

import pytest

from ebbwell.science.catalogue import formulas, names
from ebbwell.science.formula import Formula

SRC = Path(__file__).parents[1] / "src"
FILES = sorted(SRC.rglob("*.py"))
COUNTS = ("", "nights", "parts")
"""Units that are plain counts: the sentence names them, without brackets."""


def undocumented(body: list[ast.stmt], at: str) -> Iterator[str]:
    for node in body:
        if not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            continue
        if node.name.startswith("_"):
            continue
        if not (ast.get_docstring(node) or "").strip():
            yield f"{at}:{node.lineno} {node.name}"
        if isinstance(node, ast.ClassDef):
            yield from undocumented(node.body, at)


def test_every_public_name_has_a_docstring() -> None:
    assert len(FILES) > 50
    found = [
        where
        for path in FILES
        for where in undocumented(ast.parse(path.read_text("utf-8")).body, str(path.relative_to(SRC)))
    ]
    assert found == []


def test_one_without_is_found() -> None:
    tree = ast.parse('class A:\n  "a"\n  def b(self): pass\n  def _c(self): pass\n')
    assert list(undocumented(tree.body, "x")) == ["x:3 b"]


@pytest.mark.parametrize("one", formulas(review=True), ids=names(review=True))
def test_a_formula_names_unit_and_source(one: Formula) -> None:
    said = inspect.getdoc(one.function) or ""
    assert one.unit in COUNTS or f"[{one.unit}]" in said.partition("\n")[0]
    assert "Source:" in said
    assert one.source in said.partition("Source:")[2]


@pytest.mark.parametrize("one", formulas(review=True), ids=names(review=True))
def test_a_formula_names_the_unit_of_each_input(one: Formula) -> None:
    said = inspect.getdoc(one.function) or ""
    missing = [i.name for i in one.inputs if i.unit not in COUNTS and f"[{i.unit}]" not in said]
    assert missing == []
