"""The benchmarks work: each is run at a tiny size. No time is judged here; ``make bench`` does that."""

from __future__ import annotations

import math

import pytest
from bench.__main__ import MODULES, collect, table
from bench.rows import Row


@pytest.fixture(scope="module")
def rows() -> list[Row]:
    return collect(small=True)


def test_every_benchmark_gives_a_figure_and_its_yardstick(rows: list[Row]) -> None:
    assert len(MODULES) >= 3
    names = [row.name for row in rows]
    assert len(set(names)) == len(names)
    assert {"journal.append", "deed.p95", "deed.p95.after_merge", "tonight.cold", "state.rebuild"} <= set(
        names
    )
    for row in rows:
        assert math.isfinite(row.ours)
        assert row.ours > 0
        assert row.other > 0
        assert row.goal


def test_the_table_names_every_row(rows: list[Row]) -> None:
    text = table(rows)
    assert [row.name for row in rows if row.name not in text] == []
