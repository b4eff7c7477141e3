"""Steps that were left out, and those left open when the sheet was closed: one line for each reason."""

from __future__ import annotations

from collections.abc import Iterator

from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.marks import Skipped
from ebbwell.papers.words import steps_words


def left_out(desk: Desk) -> Iterator[str]:
    """Each reason with the steps that have it, in the procedure's order; whoever agreed to it is named."""
    at_close = left_at_close(desk)
    found: dict[tuple[str, str, str], set[str]] = {}
    for fact in desk.treatment.of("skipped"):
        body = fact.body
        if isinstance(body, Skipped):
            key = "odd.skipped_unit" if body.unit else "odd.skipped"
            key = "odd.open_at_close" if body.step in at_close else key
            unit = "" if body.step in at_close else body.unit
            found.setdefault((key, body.reason, unit), set()).add(body.step)
    order = {step: place for place, step in enumerate(desk.procedure.ids)}
    for (key, reason, unit), steps in found.items():
        named = sorted(steps, key=lambda step: (order.get(step, len(order)), step))
        yield say(key, step=steps_words(desk.procedure, named), reason=reason, unit=unit)


def left_at_close(desk: Desk) -> frozenset[str]:
    """Steps that closing the sheet gave a reason for, though they can't be left out: nobody said they were done."""
    if not desk.treatment.of("closed"):
        return frozenset()
    named = {f.body.step for f in desk.treatment.of("skipped") if isinstance(f.body, Skipped)}
    return frozenset(step for step in named if desk.procedure.has(step) and not desk.views[step].passed)
