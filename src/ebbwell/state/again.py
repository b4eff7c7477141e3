"""Times off and new sets of a night, each with what was looked at again for it."""

from __future__ import annotations

from dataclasses import dataclass

from ebbwell.journal.kinds.bedside import Rechecked
from ebbwell.state.facts import Fact, Facts

BEGINS = {"on_again": "off", "new_set": "new_set"}
"""Aside to the kind of entry that it begins with."""


@dataclass(frozen=True)
class Round:
    """One time off, or one new set. began: its first entry. ended: on again; None while off, and for a new set.

    said: check to the option that was recorded for it last; the entries of both words stand on the sheet.
    """

    aside: str
    began: Fact
    ended: Fact | None
    said: dict[str, str]


def rounds(treatment: Facts, aside: str) -> tuple[Round, ...]:
    """Every round of an aside, oldest first. A check belongs to the round that was last begun when it was written."""
    begun = treatment.of(BEGINS[aside])
    checks = [
        (f.id, f.body)
        for f in treatment.of("rechecked")
        if isinstance(f.body, Rechecked) and f.body.aside == aside
    ]
    found = []
    for place, began in enumerate(begun):
        until = begun[place + 1].id if place + 1 < len(begun) else ""
        said = {b.check: b.option for i, b in checks if i > began.id and (not until or i < until)}
        ended = None
        if aside == "on_again":
            ended = next(
                (f for f in treatment.of("on") if f.id > began.id and (not until or f.id < until)), None
            )
        found.append(Round(aside, began, ended, said))
    return tuple(found)
