"""A test for total chlorine as a strip, drops or a meter can show it: its steps, and whether it coloured at all."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation

from ebbwell.core.quantity import Quantity
from ebbwell.journal.kinds.marks import Measured

QUANTITY = "total_chlorine"
CONTROLLED_AT = "tank1"
"""Where "no colour" needs a look at whether the reagent colours at all. Source: fluids:1.3, rule 5."""

BETWEEN = " / "
"""What stands between two steps of a strip."""

STEPPED = ("strip", "drops")
"""Methods that show steps, not digits."""


def steps_in(text: str) -> tuple[Decimal, ...]:
    """The steps of a strip as stored, lowest first; () for none, and for what a newer program may write."""
    try:
        return tuple(Decimal(part) for part in text.split(BETWEEN)) if text else ()
    except InvalidOperation:
        return ()


def first_step(steps: str) -> Decimal | None:
    """The lowest step over nothing [mg/L]; None where no step is known."""
    return min((step for step in steps_in(steps) if step > 0), default=None)


def by_steps(body: Measured, value: Decimal) -> Quantity:
    """What a value says by the steps of its test: nothing on a strip is less than the first step.

    A strip with the steps 0 and 0.5 can't show that chlorine is under 0.1. Source: common practice (fluids 1.3).
    """
    first = first_step(body.steps) if body.method in STEPPED and body.quantity == QUANTITY else None
    if first is not None and value == 0:
        return Quantity(first, body.unit, below=True)
    return Quantity(value, body.unit, body.below)


def no_colour(value: Decimal, *, below: bool) -> bool:
    """Whether a result says that the test stayed without colour: nothing, or less than what it can show."""
    return below or value == 0


def needs_control(quantity: str, place: str, value: Decimal, *, below: bool) -> bool:
    """Whether a result counts only once the reagent is seen to colour in water from before the carbon."""
    return (quantity, place) == (QUANTITY, CONTROLLED_AT) and no_colour(value, below=below)


def control_coloured(body: Measured, value: Decimal) -> bool | None:
    """Whether the reagent is known to colour: by this test itself, or in water from before the carbon.

    None where nobody looked. Source: fluids:1.3, rule 5.
    """
    if not no_colour(value, below=body.below) or body.control == "coloured":
        return True
    return False if body.control == "blank" else None
