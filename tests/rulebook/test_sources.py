"""Limits against the figures of their sources, and every source key in the tree against the list of sources."""

from __future__ import annotations

import re
from decimal import Decimal
from pathlib import Path

import pytest

from ebbwell.rulebook.load import load_rulebook
from tests.rulebook.printed import LIMITS, RANGES

BOOK = load_rulebook()
ROOT = Path(__file__).parents[2]


def _limits() -> list[object]:
    return [
        pytest.param(id, row.value, marks=pytest.mark.source(row.source, detail=row.detail), id=id)
        for id, row in LIMITS.items()
    ]


@pytest.mark.parametrize(("id", "value"), _limits())
def test_limit_is_the_figure_of_its_source(id: str, value: str) -> None:
    assert BOOK.limit(id).value == Decimal(value)


@pytest.mark.source("practice:a0", detail="field dictionary: asked about and last ranges")
@pytest.mark.parametrize("id", sorted(RANGES))
def test_ranges_are_those_of_the_field_dictionary(id: str) -> None:
    held = BOOK.quantity(id)
    assert {field: getattr(held, field) for field in RANGES[id]} == {
        field: Decimal(value) for field, value in RANGES[id].items()
    }


def test_no_limit_with_a_source_lacks_its_printed_figure() -> None:
    """Own choices and common practice have none to be held against; a limit of 0 is nothing by definition."""
    sourced = {limit.id for limit in BOOK.limits() if limit.mark in ("published", "weak", "from memory")}
    zero = {limit.id for limit in BOOK.limits() if limit.value == 0}
    assert sourced - zero <= set(LIMITS)
    assert set(LIMITS) <= {limit.id for limit in BOOK.limits()}


NAMED = re.compile(r"""(?:mark\.source\(|\bsource=)\s*"([^"]+)\"""")


def test_every_source_named_in_the_tree_is_listed() -> None:
    known = {source.key for source in BOOK.sources()}
    named: dict[str, str] = {}
    for folder in ("src/ebbwell", "tests"):
        for path in sorted((ROOT / folder).rglob("*.py")):
            for key in NAMED.findall(path.read_text("utf-8")):
                named.setdefault(key, str(path.relative_to(ROOT)))
    assert len(named) > 20
    assert {key: path for key, path in named.items() if key not in known} == {}
