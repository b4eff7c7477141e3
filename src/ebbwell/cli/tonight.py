"""``ebbwell tonight``: where things stand, and the one next thing."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from ebbwell.cli.session import Session
from ebbwell.cli.words import wrap
from ebbwell.core.text import say
from ebbwell.papers.spoken import finding_data, finding_words, plain_words
from ebbwell.papers.standing_now import (
    findings,
    next_words,
    not_known,
    open_lines,
    plan_lines,
    prescription_lines,
)

if TYPE_CHECKING:
    from ebbwell.deeds.desk import Desk


def run(session: Session, args: argparse.Namespace) -> int:
    """Show tonight. Writes nothing."""
    with session.open_house() as house:
        desk = house.look()
        if args.json:
            session.print_json(tonight_data(desk))
        else:
            session.print(*tonight_lines(desk))
    return 0


def tonight_lines(desk: Desk) -> list[str]:
    """The page."""
    from ebbwell.papers.heading import heading
    from ebbwell.state.standing import household

    lines: list[str] = []
    for line in heading(household(desk.standing), plain_words(f"phase.{desk.phase.value}")):
        lines += wrap(line)
    lines += ["", *wrap(say("tonight.next", next=next_words(desk))), say("tonight.go_on")]
    for key, rows in (
        ("tonight.open", open_lines(desk)),
        ("tonight.order", prescription_lines(desk)),
        ("tonight.plan", plan_lines(desk)),
        ("tonight.findings", [finding_words(f, desk) for f in findings(desk)]),
        ("tonight.unknown", not_known(desk)),
    ):
        if rows:
            lines += ["", say(key, count=len(rows))]
            for row in rows:
                lines += wrap(row, first="  - ")
    return lines


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
        "zone": desk.now.zone,
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
        "findings": [finding_data(f, desk) for f in findings(desk)],
        "not_known": not_known(desk),
    }
