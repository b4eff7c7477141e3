"""The append benchmark as a row."""

from __future__ import annotations

from bench.append import TURNS, append
from bench.rows import Row, row


def run(small: bool) -> list[Row]:
    """One row: an append with its head file, beside a bare committed insert."""
    found = append(30 if small else TURNS)
    ours, other = float(str(found["ours"])), float(str(found["other"]))
    return [
        row(str(found["name"]), ours, other, str(found["goal"]), bool(found["holds"]), str(found["note"]))
    ]
