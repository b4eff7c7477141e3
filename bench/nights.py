"""Fault nights: how long a thousand take on two cores, beside bare committed inserts of as many entries."""

from __future__ import annotations

import tempfile
from pathlib import Path

from bench.bare import BareTable
from bench.rows import Row, row, took_ms
from ebbwell.sim.nights import Summary, many

NIGHTS = 1000
SAMPLE = 120
WORKERS = 2
GOAL_S = 240.0


def run(small: bool) -> list[Row]:
    """One row: seconds for a thousand nights, scaled from a sample unless all were played."""
    count = 4 if small else SAMPLE
    found: list[Summary] = []
    seconds = took_ms(lambda: found.append(many(range(count), workers=WORKERS))) / 1000
    entries = sum(summary.entries for summary in found)
    broken = [night.seed for summary in found for night in summary.failed]
    if broken:
        raise RuntimeError(f"fault nights broke something: seeds {broken}; replay them")
    with tempfile.TemporaryDirectory() as name:
        bare = BareTable(Path(name) / "bare.db")
        other = took_ms(lambda: bare.insert(entries)) / 1000
        bare.close()
    scale = NIGHTS / count
    note = (
        f"scaled from {count} nights with {entries:,} entries, {WORKERS} workers; beside as many bare inserts"
    )
    goal = f"under {GOAL_S:g} s"
    return [
        row("nights.1000", seconds * scale, other * scale, goal, seconds * scale < GOAL_S, note, unit="s")
    ]
