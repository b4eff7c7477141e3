"""What follows from how the blood looked before it was to go back."""

from __future__ import annotations

from ebbwell.core.findings import Finding, Grade
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.marks import Choice
from ebbwell.journal.kinds.night import CameOff
from ebbwell.state.facts import Fact

STEP, LOOK, CALLED = "C7", "blood_return", "unit_called"
HARMED = ("clotted", "haemolysis", "chemical", "other")
"""How blood looks that stays out. Source: practice:c, C7; practice:d2 (haemolysis)."""


def _newest(desk: Desk, name: str) -> tuple[Fact, str] | None:
    found = [
        (fact, fact.body.option)
        for fact in desk.treatment.of("choice")
        if isinstance(fact.body, Choice) and fact.body.name == name
    ]
    return max(found, key=lambda pair: (pair[0].at, pair[0].id), default=None)


def _stayed_out(desk: Desk) -> tuple[Finding, ...]:
    """The finding that not all of the blood went back, whatever the reason. Source: practice:c, C7."""
    kept = [
        fact
        for fact in desk.treatment.of("came_off")
        if isinstance(fact.body, CameOff) and fact.body.blood_returned in ("part", "none")
    ]
    return tuple(
        Finding("blood_stayed_out", Grade.STOP, (), ("practice:c",), (fact.id,)) for fact in kept[-1:]
    )


def blood_found(desk: Desk) -> tuple[Finding, ...]:
    """The finding that the blood looks harmed: until the person is off, and then until the unit was called.

    Where it doesn't, or nobody looked, the finding that blood stayed out all the same; () where none did.
    """
    looked, called = _newest(desk, LOOK), _newest(desk, CALLED)
    if looked is None or looked[1] not in HARMED:
        return () if called is not None and called[1] == "called" else _stayed_out(desk)
    if desk.treatment.of("came_off") and called is not None and called[1] == "called":
        return ()
    return (
        Finding(f"blood_looks_{looked[1]}", Grade.STOP, (), ("practice:c", "practice:d"), (looked[0].id,)),
    )
