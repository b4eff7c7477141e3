"""How fast the command line is there: help, beside a bare interpreter that only imports argparse."""

from __future__ import annotations

import subprocess
import sys
from functools import partial

from bench.rows import Row, in_turns, middle, spread, under

HELP_MS = 200.0
COMMANDS = (("--help",), ("work", "--help"), ("night", "--help"))


def _start(*arguments: str) -> None:
    subprocess.run([sys.executable, *arguments], check=True, capture_output=True)


def run(small: bool) -> list[Row]:
    """A row a help page."""
    rows = []
    for words in COMMANDS:
        ours, bare = in_turns(
            3 if small else 15,
            partial(_start, "-m", "ebbwell", *words),
            partial(_start, "-c", "import argparse"),
        )
        name = "help." + (words[0] if len(words) > 1 else "all")
        note = f"beside an interpreter that imports argparse; ours {spread(ours)}"
        rows.append(under(name, middle(ours), middle(bare), HELP_MS, note))
    return rows
