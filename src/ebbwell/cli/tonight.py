"""``ebbwell tonight``: where things stand, and the one next thing."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from ebbwell.cli.session import Session
from ebbwell.cli.words import wrap
from ebbwell.core.text import say
from ebbwell.papers.spoken import age, bar_words, finding_data, finding_words, plain_words

if TYPE_CHECKING:
    from ebbwell.core.findings import Finding
    from ebbwell.deeds.desk import Desk

FIGURES = (
    "fluid_to_remove",
    "removal_rate",
    "remains_after",
    "heparin_rate_ml",
    "finish_at",
    "heparin_stop_at",
)
"""Figures of the plan that are shown, in the order of the night."""


def run(session: Session, args: argparse.Namespace) -> int:
    """Show tonight. Writes nothing."""
    with session.open_house() as house:
        desk = house.look()
        if args.json:
            session.print_json(tonight_data(desk))
        else:
            session.print(*tonight_lines(desk))
    return 0


def next_words(desk: Desk) -> str:
    """The one next thing, in words."""
    from ebbwell.cli.walk.choose import next_view
    from ebbwell.papers.words import clock, step_words
    from ebbwell.state.night import Phase

    phase = desk.phase
    if phase in (Phase.NONE, Phase.CLOSED, Phase.CALLED_OFF):
        if desk.scene.order is None:
            return say("tonight.next.prescription")
        return say("tonight.next.begin")
    if desk.scene.order is None or desk.scene.order.waiting:
        return say("tonight.next.second_check")
    view = next_view(desk)
    if view is not None:
        return step_words(desk.procedure, view.step.id)
    if phase is Phase.SETTING_UP and not desk.bars:
        return step_words(desk.procedure, desk.procedure.connect_id)
    waits = [v.until for v in desk.views.values() if v.status.value == "waiting" and v.until is not None]
    if waits:
        return say("tonight.next.wait", until=clock(min(waits), desk.now.zone))
    return say(f"tonight.next.{phase.value}")


def open_lines(desk: Desk) -> list[str]:
    """What is still open: before connecting what keeps it shut, later what the sheet still needs."""
    from ebbwell.papers.words import step_words
    from ebbwell.state.night import Phase

    if desk.phase in (Phase.NONE, Phase.CLOSED, Phase.CALLED_OFF):
        return []
    if desk.phase is Phase.SETTING_UP:
        return [bar_words(bar, desk) for bar in desk.bars]
    left = [v for v in desk.views.values() if v.step.gate in ("close", "next_night") and not v.passed]
    return [step_words(desk.procedure, view.step.id) for view in left]


def prescription_lines(desk: Desk) -> list[str]:
    """The prescription in force, and what waits."""
    from ebbwell.papers.words import day, line_words

    order = desk.scene.order
    if order is None:
        held = desk.standing.of("prescription")
        return [say("tonight.two_prescriptions" if len(held) > 1 else "tonight.no_prescription")]
    lines = [
        say(
            "tonight.prescription",
            number=order.body.number,
            giver=order.body.giver,
            day=day(order.body.valid_from),
        )
    ]
    for entry_id in order.waiting:
        fact = desk.standing.fact(entry_id)
        what = getattr(fact.body, "line", "") if fact is not None else ""
        lines.append(
            say("tonight.line_waits", line=line_words(what, getattr(fact.body, "value", "")))
            if what and fact is not None
            else say("tonight.waits")
        )
    lines += [
        say("tonight.written_awaited", line=line_words(line, order.lines[line])) for line in order.unconfirmed
    ]
    return lines


def plan_lines(desk: Desk) -> list[str]:
    """Tonight's figures with their age; a plan that no longer holds says so and shows none."""
    from ebbwell.core.clock import elapsed
    from ebbwell.journal.kinds.orders import Plan
    from ebbwell.papers.words import clock, figure_value, figure_words
    from ebbwell.procedure.evidence import plan_void

    fact = desk.treatment.last("plan")
    if fact is None or not isinstance(fact.body, Plan):
        return [say("tonight.no_plan")]
    void = plan_void(desk.scene, fact.body)
    if void:
        return [say("tonight.plan_void", why=plain_words(void))]
    minutes = elapsed(fact.at, desk.now.at).total_seconds() / 60
    lines = [say("tonight.plan_agreed", at=clock(fact.at, desk.now.zone), age=age(minutes))]
    figures = fact.body.figures
    shown = (name for name in FIGURES if name in figures)
    return [*lines, *(f"{figure_words(name)}: {figure_value(figures[name])}" for name in shown)]


def findings(desk: Desk) -> list[Finding]:
    """What the rules say of tonight's facts: those that speak, not those without data."""
    from ebbwell.core.findings import Grade
    from ebbwell.rulebook.evaluate import evaluate

    if desk.treatment_id is None:
        return []
    found = evaluate(desk.scene.rulebook, desk.scene.facts)
    return [f for f in found if f.grade is not Grade.UNKNOWN]


def not_known(desk: Desk) -> list[str]:
    """Facts that were asked for and aren't known."""
    from ebbwell.core.findings import name_fact
    from ebbwell.core.text import MissingText

    out = []
    for key, fact in desk.scene.facts.items():
        if fact is None and not key.endswith(("@own", "@last", ".own")):
            try:
                out.append(name_fact(key))
            except MissingText:
                out.append(key)
    return out


def tonight_lines(desk: Desk) -> list[str]:
    """The page."""
    from ebbwell.papers.heading import heading
    from ebbwell.state.standing import household

    lines: list[str] = []
    for line in heading(household(desk.standing), plain_words(f"phase.{desk.phase.value}")):
        lines += wrap(line)
    lines += ["", *wrap(say("tonight.next", next=next_words(desk)))]
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
