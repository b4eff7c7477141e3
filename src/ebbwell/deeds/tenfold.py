"""A second water test that is exactly ten times more or less than the first: the mark may stand in the wrong place."""

from __future__ import annotations

from decimal import Decimal

from ebbwell.core.numbers import plain
from ebbwell.deeds.desk import Desk
from ebbwell.rulebook.typed import Question
from ebbwell.state.own_past import TESTED, tests_of


def tenfold_question(
    desk: Desk, quantity: str, place: str, value: Decimal, *, below: bool = False
) -> tuple[Question, ...]:
    """Asked where a test of tonight at the same place was exactly ten times more or less. No number is offered.

    below: "less than" the value.

    Source: fluids:1.3, practice:e (H8).
    """
    if quantity not in TESTED or value <= 0:
        return ()
    for test in reversed(desk.treatment.worked_out(tests_of)):
        if (test.quantity, test.place) != (quantity, place) or test.below:
            continue
        before = Decimal(test.value)
        if before > 0 and (before * 10 == value or value * 10 == before):
            shown = (
                ("before", f"{plain(before)} mg/L"),
                ("quantity", quantity),
                ("value", f"{'<' if below else ''}{plain(value)} mg/L"),
            )
            return (Question("tenfold", 1, shown),)
    return ()
