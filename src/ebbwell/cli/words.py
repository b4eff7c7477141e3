"""Errors and findings broken to the width of a terminal."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from ebbwell.core.errors import EbbwellError
from ebbwell.papers.spoken import bar_words, error_words, finding_words

if TYPE_CHECKING:
    from ebbwell.core.findings import Finding
    from ebbwell.deeds.desk import Desk

WIDTH = 78


def wrap(text: str, *, first: str = "", rest: str | None = None) -> list[str]:
    """Text broken into lines of a terminal."""
    from ebbwell.papers.words import wrap as broken

    return broken(text, first=first, rest=rest, width=WIDTH)


def error_lines(why: EbbwellError) -> list[str]:
    """The same as lines, with everything that keeps a refused deed shut."""
    lines = wrap(error_words(why))
    for bar in getattr(why, "bars", ()):
        lines += wrap(bar_words(bar), first="  - ")
    return lines


def findings_lines(findings: Iterable[Finding], desk: Desk | None) -> list[str]:
    """Findings, each framed by its grade word; a stop stands in a block of its own."""
    from ebbwell.core.findings import Grade

    lines: list[str] = []
    for finding in findings:
        text = finding_words(finding, desk)
        if finding.grade is Grade.STOP:
            lines += ["#" * WIDTH, *wrap(text, first="## ", rest="## "), "#" * WIDTH]
        else:
            lines += wrap(text, first="| ", rest="| ")
    return lines
