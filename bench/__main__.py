"""``make bench``: prints a table and writes bench/results.json. A module of this folder with ``run`` joins it.

``--small`` proves that each benchmark works, in seconds; its figures mean nothing.
"""

from __future__ import annotations

import os
import sys
from importlib import import_module
from pathlib import Path

import msgspec

from bench.rows import Row

MODULES = (
    "append",
    "long_record",
    "judging",
    "plan",
    "start",
    "sheet",
    "nights",
    "pages",
    "browser",
    "demo",
    "pools",
    "fit",
    "patterns",
)


def collect(small: bool) -> list[Row]:
    """The rows of every benchmark, in order."""
    rows: list[Row] = []
    for name in MODULES:
        rows += import_module(f"bench.{name}").run(small)
    return rows


def table(rows: list[Row]) -> str:
    """The rows as text."""
    lines = [f"{'benchmark':<24}{'ours':>11}{'other':>11} {'unit':<5}{'ratio':>9}  {'goal':<34}holds"]
    for r in rows:
        ratio = f"{r.ratio:.2f}" if r.other else "-"
        other = f"{r.other:.3f}" if r.other else "-"
        holds = "yes" if r.holds else "NO"
        lines.append(f"{r.name:<24}{r.ours:>11.3f}{other:>11} {r.unit:<5}{ratio:>9}  {r.goal:<34}{holds}")
        lines.append(f"    {r.note}")
    return "\n".join(lines)


def main() -> int:
    """Run all; 1 when a goal isn't met."""
    small = "--small" in sys.argv
    rows = collect(small)
    print(table(rows))
    print(f"load of the machine over 15 minutes: {os.getloadavg()[2]:.1f} on {os.cpu_count()} cores")
    if not small:
        Path(__file__).with_name("results.json").write_bytes(msgspec.json.format(msgspec.json.encode(rows)))
    return 0 if small or all(r.holds for r in rows) else 1


if __name__ == "__main__":
    sys.exit(main())
