"""A typed number that is past a limit is offered no other number: a true one must not be talked down."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from ebbwell.core.findings import Finding, Grade, say_finding
from ebbwell.core.quantity import Quantity
from ebbwell.deeds.desk import Desk
from ebbwell.rulebook.evaluate import evaluate
from ebbwell.rulebook.typed import Question

PAST_LIMIT = "past_limit"
"""What is asked instead of naming another number: what the limit is, and what to do first."""

OTHER_FIELD = ("minus", "swapped", "fahrenheit", "pounds", "other_unit", "meter_in_mS", "meter_in_uS")
"""Questions about a sign, a field or a unit: the number named is the same one, read as it was meant."""

LIMITS = ("above", "at_or_above", "below", "at_or_below", "outside", "not_word_nor_under")
"""Kinds of rule that hold a value against a limit, and not against another value."""

UNITS_OWN = ("above_other", "below_other")
"""Kinds that do so too where the other value is a line of the prescription."""


def past_limit(desk: Desk, key: str, value: Decimal, unit: str) -> Finding | None:
    """What the limits say of one measured value; the strongest, None where it is past none.

    key: of the fact, such as ``systolic@lying``. Rules that hold it against another measured value aren't asked.
    """
    facts = {**desk.scene.facts, key: Quantity(value, unit)}
    found = [
        f for f in evaluate(desk.scene.rulebook, facts, only=[key]) if f.fact == key and _is_limit(desk, f)
    ]
    ordered = [f for grade in (Grade.STOP, Grade.CARE) for f in found if f.grade is grade]
    return ordered[0] if ordered else None


def _is_limit(desk: Desk, finding: Finding) -> bool:
    rule = desk.scene.rulebook.rule(finding.rule)
    return rule.kind in LIMITS or (rule.kind in UNITS_OWN and rule.other.endswith("@prescribed"))


def without_suggestions(questions: Iterable[Question], said: Finding | None) -> tuple[Question, ...]:
    """The questions, those that name another number put as the limit that was passed. said: None for no limit.

    A number that no instrument shows, such as 366 C, is a slip whatever the limit is, and is asked about as one.
    """
    asked = tuple(questions)
    if said is None or any(question.key == "outside_last" for question in asked):
        return asked
    return tuple(_put(question, said) for question in asked)


def _put(question: Question, said: Finding) -> Question:
    if question.suggestion is None or question.key in OTHER_FIELD:
        return question
    params = [(name, text) for name, text in question.params if name in ("quantity", "value")]
    return Question(PAST_LIMIT, question.level, (*params, ("limit", say_finding(said))))
