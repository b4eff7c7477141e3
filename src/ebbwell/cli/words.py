"""Errors and findings broken to the width of a terminal."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from ebbwell.core.errors import EbbwellError
from ebbwell.core.text import say
from ebbwell.papers.spoken import bar_words, error_words, finding_words, said

if TYPE_CHECKING:
    from ebbwell.core.findings import Finding
    from ebbwell.deeds.desk import Desk
    from ebbwell.exchange.table import Broken
    from ebbwell.procedure.gate import Bar

WIDTH = 78

MANY = 40
"""Broken lines of a file that are named on the screen; all of them are in the JSON."""

FEW = 3
"""Things of one kind that are named on the screen; of the others the count."""


def wrap(text: str, *, first: str = "", rest: str | None = None) -> list[str]:
    """Text broken into lines of a terminal."""
    from ebbwell.papers.words import wrap as broken

    return broken(text, first=first, rest=rest, width=WIDTH)


def error_lines(why: EbbwellError) -> list[str]:
    """The same as lines, with everything that keeps a refused deed shut."""
    lines = wrap(error_words(why))
    for bar in getattr(why, "bars", ()):
        lines += wrap(bar_words(bar), first="  - ")
    broken = _broken(why)
    for each in broken[:MANY]:
        at = "table.at" if each["column"] else "table.at_line"
        lines += wrap(say(at, **each), first="  - ")
    if len(broken) > MANY:
        lines += wrap(say("table.more", count=len(broken) - MANY), first="  - ")
    return lines


def error_more(why: EbbwellError) -> dict[str, object]:
    """What an error tells a program beside its words: each broken line of a file."""
    broken = _broken(why)
    return {"lines": broken} if broken else {}


def _broken(why: EbbwellError) -> list[dict[str, Any]]:
    """Lines of a file with what is wrong with them."""
    return [
        {"line": one.line, "column": one.column, "error": one.key, "words": _wrong(one)}
        for one in getattr(why, "lines", ())
    ]


def _wrong(one: Broken) -> str:
    params = dict(one.params)
    if "day" in params:
        params["day"] = say(f"csv.day.{params['day']}")
    return said(one.key, **params)


def bars_lines(bars: Sequence[Bar], desk: Desk) -> list[str]:
    """The first few things that keep a deed shut, and how many more there are."""
    lines: list[str] = []
    for bar in bars[:FEW]:
        lines += wrap(bar_words(bar, desk), first="  - ")
    if len(bars) > FEW:
        lines += wrap(say("walk.and_more", count=len(bars) - FEW), first="  - ")
    return lines


def findings_lines(findings: Iterable[Finding], desk: Desk | None) -> list[str]:
    """Findings, each framed by its grade word; a stop stands in a block of its own."""
    from ebbwell.core.findings import Grade

    lines: list[str] = []
    for finding in findings:
        text = finding_words(_short(finding), desk)
        if finding.grade is Grade.STOP:
            lines += ["#" * WIDTH, *wrap(text, first="## ", rest="## "), "#" * WIDTH]
        else:
            lines += wrap(text, first="| ", rest="| ")
    return lines


def _short(finding: Finding) -> Finding:
    """A finding that names many steps, with the first few of them and how many more there are."""
    from dataclasses import replace

    params = []
    for name, value in finding.params:
        parts = value.split(", ")
        if name == "steps" and len(parts) > FEW + 1:
            value = ", ".join([*parts[:FEW], say("walk.and_more_on_sheet", count=len(parts) - FEW)])
        params.append((name, value))
    return replace(finding, params=tuple(params))
