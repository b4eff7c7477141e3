"""The sheet's figures for a program: readings value by value, the unit's pressure limits, whose night it was."""

from __future__ import annotations

from datetime import UTC
from typing import Any

from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.night import Reading
from ebbwell.state.standing import household, people

LIMITS = ("venous_limit", "arterial_limit")
"""Lines of the prescription that limit a pressure."""


def figures(desk: Desk) -> dict[str, Any]:
    """as_of: when the last entry was written. household, person: names. readings in order of time. limits by line.

    Values are text, as they stand in the record; times are UTC.
    """
    home = household(desk.standing)
    found = sorted(desk.treatment.of("reading"), key=lambda f: f.at)
    order = desk.scene.order
    return {
        "as_of": desk.now.at.astimezone(UTC).isoformat(),
        "household": home.name if home is not None else say("sheet.no_name"),
        "person": on_dialysis(desk),
        "readings": [
            {
                "at": fact.at.astimezone(UTC).isoformat(),
                "when": fact.body.when,
                "values": dict(fact.body.values),
                "missing": dict(fact.body.missing),
            }
            for fact in found
            if isinstance(fact.body, Reading)
        ],
        "limits": {line: order.lines[line] for line in LIMITS if order is not None and line in order.lines},
    }


def on_dialysis(desk: Desk) -> str:
    """Who is on dialysis, by name."""
    found = [body.name for body in people(desk.standing).values() if "dialysis" in body.roles]
    return ", ".join(found) or say("sheet.no_name")


def entries_key(count: int) -> str:
    """The wording for so many entries of a night."""
    return "sheet.entries_one" if count == 1 else "sheet.entries"


def chain_key(count: int) -> str:
    """The wording for a chain of so many entries."""
    return "sheet.chain_one" if count == 1 else "sheet.chain"
