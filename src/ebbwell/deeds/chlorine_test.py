"""What goes with a chlorine test: the steps of the household's strip, and whether the reagent colours at all."""

from __future__ import annotations

from decimal import Decimal

from ebbwell.core.errors import InputError
from ebbwell.core.findings import Finding, Grade
from ebbwell.core.numbers import plain
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.marks import CONTROLS, Measured
from ebbwell.procedure.rule_facts import CONTROL
from ebbwell.rulebook.evaluate import Fact, evaluate
from ebbwell.state.chlorine_test import (
    CONTROLLED_AT,
    QUANTITY,
    STEPPED,
    by_steps,
    control_coloured,
    needs_control,
    steps_in,
)
from ebbwell.state.water import plant


def goes_with(
    desk: Desk, quantity: str, place: str, value: Decimal, *, below: bool, method: str, control: str
) -> dict[str, str]:
    """The steps and the control to keep with a value; nothing for what is no chlorine test.

    Raises InputError for a value between two steps of the household's strip, and for no colour after the first tank
    where nobody said what the reagent did in water from before the carbon. Source: fluids:1.3, rule 5 and precision.
    """
    if quantity != QUANTITY:
        return {}
    steps = steps_of(desk, value, below=below, method=method)
    if control and control not in CONTROLS:
        raise InputError("enter.option", question="control", options=", ".join(CONTROLS))
    if not control and needs_control(quantity, place, value, below=below):
        raise InputError("enter.control")
    return {"steps": steps, "control": control}


def steps_of(desk: Desk, value: Decimal, *, below: bool, method: str) -> str:
    """The steps of the household's strip, "" by a meter or where none are known.

    Raises InputError for a value that the strip can't show.
    """
    steps = plant(desk.standing)[1].chlorine_steps if method in STEPPED else ""
    known = steps_in(steps)
    between = value not in known and value != 0 and value < max(known, default=Decimal(0))
    if known and (between or (below and value not in known)):
        shown = f"{'<' if below else ''}{plain(value)}"
        raise InputError("enter.between_steps", steps=f"{steps} mg/L", typed=shown)
    return steps


def judged_alone(desk: Desk, body: Measured) -> list[Finding]:
    """What the rulebook says of a value just measured; nothing of what isn't known."""
    key = f"{body.quantity}@{body.place}" if body.place else body.quantity
    value = Decimal(body.value)
    facts: dict[str, Fact] = {**desk.scene.facts, key: by_steps(body, value)}
    only = [key]
    if body.method:
        facts[f"{body.quantity}_method@{body.place}" if body.place else f"{body.quantity}_method"] = (
            body.method
        )
    if (body.quantity, body.place) == (QUANTITY, CONTROLLED_AT):
        facts[CONTROL] = control_coloured(body, value)
        only.append(CONTROL)
    findings = evaluate(desk.scene.rulebook, facts, only=only)
    return [f for f in findings if f.grade is not Grade.UNKNOWN]
