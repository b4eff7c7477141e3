"""Writes docs/checks.md: what each formula and each figure of the solutes is held against.

``python -m tools.checks`` writes it; ``--check`` only says whether it is fresh. The rows are those of tests/external;
each is run, and the formulas it calls on the way are those it holds.
"""

from __future__ import annotations

import inspect
import sys
from collections.abc import Iterator
from decimal import Decimal
from importlib import import_module
from pathlib import Path
from types import FrameType
from typing import Any

from ebbwell.rulebook.load import load_rulebook
from ebbwell.science.catalogue import MODULES, formulas
from ebbwell.science.solutes import SOLUTES, Figure

TARGET = Path(__file__).parent.parent / "docs/checks.md"
ROWS: tuple[Any, ...] = import_module("tests.one_per_cent").ROWS
ENGINE_ROWS: tuple[Any, ...] = import_module("tests.external.test_solutes").ROWS
OUTSIDE, WORKED, UNREAD = "outside", "worked", "from memory or habit"
SORTS = {
    "published": OUTSIDE,
    "weak": OUTSIDE,
    "arithmetic": WORKED,
    "design": WORKED,
    "from memory": UNREAD,
    "common practice": UNREAD,
}
FINE = Decimal("0.001")
"""A row of kinetics:B that is held closer than this was worked from its printed example, and isn't printed itself."""

HEAD = """# What each sum is held against

Written by `make docs` from the tests; a test fails when it is stale. Don't edit it by hand. How the sums are founded
stands in [theory.md](theory.md), their units and ranges in [reference.md](reference.md#formulas).

A row is a figure that a test compares with ours, to the printed digits or nearer.

- *Outside*: printed in a standard, a guideline, a journal, on a label or a teaching page. A weak source says so.
- *Worked*: the formula as cited, worked out by hand or with many digits. It shows that ours is typed right, and not that
  the formula is.
- *From memory or habit*: nobody has read it in print for this list.

Each source stands in `rulebook/sources.toml`; `pytest tests/external --sources` prints every check with what it is.
"""


def _row(*cells: str) -> str:
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


def _kind(key: str) -> str:
    return load_rulebook().source(key).kind


def reached(row: Any) -> set[str]:
    """Names of the public formulas that a row runs through."""
    code = formulas()[0].function.__code__
    found: set[str] = set()

    def note(frame: FrameType, event: str, _: object) -> None:
        if event == "call" and frame.f_code is code:
            found.add(frame.f_locals["function"].__name__)

    before = sys.getprofile()
    sys.setprofile(note)
    try:
        row.ours()
    finally:
        sys.setprofile(before)
    return found


def rows_by_formula() -> dict[str, list[Any]]:
    """The rows of each formula, by name."""
    found: dict[str, list[Any]] = {}
    for row in ROWS:
        for name in reached(row):
            found.setdefault(name, []).append(row)
    return found


def _sort(row: Any) -> str:
    worked = row.key.startswith("kinetics:B") and 0 < row.tolerance < FINE
    return WORKED if worked else SORTS[_kind(row.key)]


def _told(rows: list[Any], sort: str) -> str:
    """Keys with what they print, in the order of the tests; a key once, with all its figures."""
    by_key: dict[str, list[str]] = {}
    for row in rows:
        if _sort(row) == sort:
            figures = by_key.setdefault(row.key, [])
            if row.printed not in figures:
                figures.append(row.printed)
    return "; ".join(
        f"{key}{' (weak)' if _kind(key) == 'weak' else ''} {', '.join(figures)}"
        for key, figures in by_key.items()
    )


def _formulas() -> Iterator[str]:
    rows = rows_by_formula()
    every = formulas(review=True)
    yield "## Formulas"
    yield ""
    none = [one.name for one in every if one.name not in rows]
    if none:
        yield f"Without a row here, tested by what has to be true of them: {', '.join(f'`{one}`' for one in none)}."
        yield ""
    for module in MODULES:
        here = [one for one in every if one.function.__module__ == module.__name__]
        yield f"### {module.__name__.removeprefix('ebbwell.')}"
        yield ""
        yield (inspect.getdoc(module) or "").split("\n\n")[0].replace("\n", " ")
        yield ""
        yield _row("formula", "its source", OUTSIDE, WORKED, UNREAD)
        yield _row(*["---"] * 5)
        for one in here:
            held = rows.get(one.name, [])
            yield _row(
                f"`{one.name}`",
                f"{one.source}" + ("" if one.source == _kind(one.source) else f" ({_kind(one.source)})"),
                *(_told(held, sort) for sort in (OUTSIDE, WORKED, UNREAD)),
            )
        yield ""


def _figure(solute: str, name: str, figure: Figure) -> str:
    checked = "read in print" if figure.checked else "from memory, not checked"
    source = load_rulebook().source(figure.source).title if figure.checked else figure.source
    value, low, high = (f"{x:.4g}" for x in (figure.value, figure.low, figure.high))
    return _row(solute, f"`{name}`", value, low, high, figure.unit, source, checked)


def _solutes() -> Iterator[str]:
    yield "## Figures of the solutes"
    yield ""
    yield "The mark is that of the middle figure. Which ends no source prints is said in `science.solutes`."
    yield ""
    yield _row("solute", "figure", "middle", "lowest", "highest", "unit", "source", "mark")
    yield _row(*["---"] * 8)
    for solute in SOLUTES:
        for name, figure in solute.figures.items():
            yield _figure(solute.key, name, figure)
    yield ""
    yield "Sums of one treatment of a pool that the body fills up (`science.solutes.mobilised`), rows:"
    yield ""
    yield _row("row", "what", "figure", "sort")
    yield _row(*["---"] * 4)
    yield from (_row(row.key, row.detail, row.printed, _sort(row)) for row in ENGINE_ROWS)
    yield ""


def text() -> str:
    """The whole page."""
    return "\n".join([HEAD, *_formulas(), *_solutes()]).rstrip("\n") + "\n"


def main() -> int:
    """Write or check the page; 1 when a check finds it stale."""
    fresh = text()
    if "--check" in sys.argv:
        if TARGET.exists() and TARGET.read_text("utf-8") == fresh:
            return 0
        print("stale: docs/checks.md; run `make docs`")
        return 1
    TARGET.write_text(fresh, "utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
