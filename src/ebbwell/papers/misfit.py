"""Where the order in force isn't one that the steps are written for, in words."""

from __future__ import annotations

from collections.abc import Mapping

from ebbwell.core.text import say
from ebbwell.papers.words import named
from ebbwell.procedure.model import Procedure


def misfit_words(procedure: Procedure, lines: Mapping[str, str]) -> list[str]:
    """One sentence for each line of the order that the steps aren't written for."""
    return [one_misfit(procedure, line, lines.get(line, "")) for line in procedure.misfits(lines)]


def one_misfit(procedure: Procedure, line: str, value: str) -> str:
    """What the order says in a line, and what the steps are written for."""
    written = [say(f"option.{line}.{word}") for word in procedure.fits.get(line, ()) if word]
    ordered = say(f"option.{line}.{value}") if value else say("web.misfit.nothing")
    return say("web.misfit.line", line=named("line", line), ordered=ordered, written=" / ".join(written))
