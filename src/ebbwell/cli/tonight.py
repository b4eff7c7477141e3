"""``ebbwell tonight``: where things stand, and the one next thing."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from ebbwell.cli.session import Session
from ebbwell.cli.words import wrap
from ebbwell.core.reader import read_by
from ebbwell.core.text import say
from ebbwell.papers.open_calls import call_lines
from ebbwell.papers.spoken import finding_data, finding_words, plain_words
from ebbwell.papers.standing_now import (
    next_words,
    not_known,
    open_lines,
    plan_lines,
    prescription_lines,
)
from ebbwell.papers.warned import warnings

if TYPE_CHECKING:
    from ebbwell.deeds.desk import Desk


def run(session: Session, args: argparse.Namespace) -> int:
    """Show tonight. Writes nothing."""
    with session.open_house() as house:
        desk = house.look()
        with read_by(desk.rulebook.units, access=desk.access):
            if args.json:
                session.print_json(tonight_data(desk))
            else:
                session.print(*tonight_lines(desk, session.command("night")))
    return 0


FEW = 3
"""Rows of what is open that are shown where the whole list isn't asked for."""


def tonight_lines(desk: Desk, go_on: str = "ebbwell night", *, whole: bool = True) -> list[str]:
    """The page; the one next thing stands last. go_on: the command that goes on. whole: all that is open, not a few."""
    from ebbwell.papers.heading import heading
    from ebbwell.state.standing import household

    lines: list[str] = []
    for line in heading(household(desk.standing), plain_words(f"phase.{desk.phase.value}")):
        lines += wrap(line)
    for key, rows in (
        ("tonight.order", prescription_lines(desk)),
        ("tonight.plan", plan_lines(desk)),
        ("tonight.unknown", not_known(desk)),
        ("tonight.open", open_lines(desk)),
        ("tonight.calls", [words for _, words in call_lines(desk)]),
        ("tonight.findings", [finding_words(f, desk) for f in warnings(desk)]),
    ):
        few = not whole and key in ("tonight.unknown", "tonight.open")
        shown = rows[:FEW] if few else rows
        if rows:
            lines += ["", say(key, count=len(rows))]
        for row in shown:
            lines += wrap(row, first="  - ")
        if len(shown) < len(rows):
            lines += wrap(say("tonight.more", count=len(rows) - len(shown)), first="  - ")
    lines += ["", *wrap(say("tonight.next", next=next_words(desk)))]
    return lines if not whole else [*lines, say("tonight.go_on"), f"  {go_on}"]


def tonight_data(desk: Desk) -> dict[str, Any]:
    """The same for a program."""
    from ebbwell.core.readiness import practice_only
    from ebbwell.journal.kinds.orders import Plan
    from ebbwell.procedure.evidence import plan_void
    from ebbwell.state.standing import household

    order = desk.scene.order
    plan = desk.treatment.last("plan")
    body = plan.body if plan is not None and isinstance(plan.body, Plan) else None
    home = household(desk.standing)
    return {
        "household": home.name if home is not None else None,
        "invented": home is not None and home.invented,
        "practice_only": practice_only() and not (home is not None and home.invented),
        "now": desk.now.at.isoformat(),
        "zone": desk.now.zone if home is not None else None,
        "treatment": desk.treatment_id,
        "phase": desk.phase.value,
        "next": next_words(desk),
        "open": open_lines(desk),
        "prescription": None
        if order is None
        else {
            "number": order.body.number,
            "giver": order.body.giver,
            "valid_from": order.body.valid_from,
            "lines": order.lines,
            "waiting": list(order.waiting),
            "written_awaited": list(order.unconfirmed),
        },
        "plan": None
        if body is None or plan is None
        else {
            "figures": dict(body.figures),
            "agreed_at": plan.at.isoformat(),
            "void": plan_void(desk.scene, body),
        },
        "findings": [finding_data(f, desk) for f in warnings(desk)],
        "not_known": not_known(desk),
    }
