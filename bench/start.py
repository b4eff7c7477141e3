"""How fast the command line is there: help, beside a bare interpreter that only imports argparse."""

from __future__ import annotations

import subprocess
import sys

from bench.rows import Row, middle, row, took_ms

HELP_MS = 200.0
COMMANDS = (("--help",), ("work", "--help"), ("night", "--help"))


def _start(arguments: list[str]) -> float:
    return took_ms(lambda: subprocess.run([sys.executable, *arguments], check=True, capture_output=True))


def run(small: bool) -> list[Row]:
    """A row a help page."""
    turns = 3 if small else 9
    rows = []
    for words in COMMANDS:
        ours, bare = [], []
        for _ in range(turns):
            ours.append(_start(["-m", "ebbwell", *words]))
            bare.append(_start(["-c", "import argparse"]))
        name = "help." + (words[0] if len(words) > 1 else "all")
        note = "beside an interpreter that imports argparse"
        rows.append(
            row(name, middle(ours), middle(bare), f"under {HELP_MS:g} ms", middle(ours) < HELP_MS, note)
        )
    return rows
