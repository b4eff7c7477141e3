"""The gain since last time, told as soon as the weight before is kept: the plan comes later, the call may not."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal

from ebbwell.core.findings import Finding, Grade
from ebbwell.core.quantity import Quantity
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.marks import Measured
from ebbwell.procedure.rule_facts import gain_facts
from ebbwell.rulebook.evaluate import Fact, evaluate

WEIGHT = "weight_before"
GAIN_HIGH = "gain_high"
"""The rule that holds the gain, as a share of the target weight, against its limit. Source: fluids:U7."""


def gain_findings(desk: Desk) -> tuple[Finding, ...]:
    """What is said of tonight's gain [% of the target weight] over its limit; nothing where it isn't known."""
    return _judged(desk, desk.scene.facts)


def gain_told(desk: Desk, body: Measured) -> tuple[Finding, ...]:
    """The same of a weight [kg] that is just being kept; nothing of another value, and none before a last weight."""
    if (body.quantity, body.place) != (WEIGHT, ""):
        return ()
    facts: dict[str, Fact] = {**desk.scene.facts, WEIGHT: Quantity(Decimal(body.value), body.unit)}
    return _judged(desk, {**facts, **gain_facts(facts)})


def rules_of(bodies: Iterable[object]) -> list[str]:
    """What the rules are asked about values just kept: the key of each, and beside the weight before its gain."""
    measured = [body for body in bodies if isinstance(body, Measured) and body.value]
    keys = [f"{body.quantity}@{body.place}" if body.place else body.quantity for body in measured]
    return [*keys, GAIN_HIGH] if WEIGHT in keys else keys


def _judged(desk: Desk, facts: Mapping[str, Fact]) -> tuple[Finding, ...]:
    found = evaluate(desk.scene.rulebook, facts, only=(GAIN_HIGH,))
    return tuple(finding for finding in found if finding.grade is not Grade.UNKNOWN)
