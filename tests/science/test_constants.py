"""A sourced figure that changes by 1 % must break a check against a figure from outside."""

from __future__ import annotations

import ast
import importlib
import inspect
import pkgutil
from collections.abc import Iterator
from numbers import Number

import pytest

from ebbwell import science
from tests.external import test_water_lists
from tests.external.test_water_lists import LISTS
from tests.one_per_cent import LEFT_OUT, ROWS, Moved, figures, rows_off, weeks_off

EACH = [pytest.param(figure, id=figure.name) for figure in figures()]


def test_all_rows_agree_as_they_stand() -> None:
    assert not rows_off()
    assert not weeks_off()
    assert not test_water_lists.differing(LISTS)
    assert len(ROWS) >= 520
    assert len(EACH) >= 520


@pytest.mark.parametrize("figure", EACH)
def test_a_figure_off_by_one_per_cent_is_found(figure: Moved) -> None:
    assert figure.noticed()
    assert not rows_off(), "it was put back"


def numbers_of_the_sums() -> Iterator[str]:
    """Every figure with a name of its own in the science modules: numbers, rows of numbers, parameters of solutes."""
    for found in pkgutil.iter_modules(science.__path__, f"{science.__name__}."):
        module = importlib.import_module(found.name)
        for statement in ast.parse(inspect.getsource(module)).body:
            for name in assigned(statement):
                value = getattr(module, name)
                if isinstance(value, Number) or (isinstance(value, tuple) and isinstance(value[0], Number)):
                    yield f"{found.name}.{name}"
                for parameter in getattr(value, "figures", ()):
                    at = f"{found.name}.{value.key}.{parameter}"
                    yield from (f"{at}.{end}" for end in ("value", "low", "high"))


def assigned(statement: ast.stmt) -> Iterator[str]:
    """The names that a statement gives a value: one, several in a row, one with its type."""
    targets: list[ast.expr] = []
    if isinstance(statement, ast.Assign):
        targets = statement.targets
    elif isinstance(statement, ast.AnnAssign):
        targets = [statement.target]
    for target in targets:
        yield from (node.id for node in ast.walk(target) if isinstance(node, ast.Name))


def test_names_in_a_row_and_with_a_type_count_as_figures() -> None:
    found = ast.parse("A = 1\nB, C = 2, 3\nD: float = 4.0\nE = F = 5\nif A:\n    G = 6\n").body
    assert [name for one in found for name in assigned(one)] == ["A", "B", "C", "D", "E", "F"]


def test_every_figure_is_moved_or_left_out_with_its_reason() -> None:
    there = {name for name in numbers_of_the_sums() if not name.endswith(".ZERO")}
    moved = {figure.name.partition("[")[0] for figure in figures()}
    assert len(there) >= 160
    assert not there - moved - LEFT_OUT.keys()
    assert not LEFT_OUT.keys() - there, "left out, but no longer there"
    assert not LEFT_OUT.keys() & moved
    kinds = ("arithmetic", "common practice, no source", "design", "from memory")
    assert all(why.partition(":")[0] in kinds for why in LEFT_OUT.values())
