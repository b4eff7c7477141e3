"""After a failed water test: how long the water runs before a new test counts, on this night or the one after.

Source: fluids:1.3 (over the limit: wait, run 10 minutes, draw again with fresh reagent).
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from decimal import Decimal, InvalidOperation
from itertools import islice
from typing import TYPE_CHECKING

from ebbwell.core.clock import Moment
from ebbwell.journal.kinds.marks import Measured
from ebbwell.rulebook.model import Rulebook
from ebbwell.state.chlorine_test import no_colour
from ebbwell.state.facts import Fact
from ebbwell.state.own_past import Past, Tested, tests_of

if TYPE_CHECKING:
    from ebbwell.procedure.model import Step
    from ebbwell.procedure.scene import Scene

LIMITS = {"total_chlorine": "chlorine"}
"""Quantity that is tested again to the limit that it fails over."""

A_DAY = timedelta(hours=24)
"""How long a failed test after the last tank asks for the unit's word. Source: common practice, no source."""

NIGHTS = 5
"""Nights before this one whose tests are looked at; evenings called off may follow each other within minutes."""


def fails(rulebook: Rulebook, test: Tested) -> bool:
    """Whether a reading is over its limit, or at it by a method that can't tell. Source: fluids:1.3."""
    name = LIMITS.get(test.quantity)
    try:
        value = Decimal(test.value) if name is not None and not test.below else None
    except InvalidOperation:
        return False
    if value is None or name is None:
        return False
    most = rulebook.limit(name).value
    return value > most or (value == most and test.method != "meter")


def again_from(scene: Scene, step: Step, fact: Fact) -> datetime | None:
    """When a new test counts, where a failed one speaks against this one; None where none does.

    Every failed reading counts, also a second reader's, one of the evening before, and one that was replaced or taken
    back, save where it was this very entry before it was corrected. Time is the shorter of both clocks.
    """
    if step.retest is None or not isinstance(fact.body, Measured):
        return None
    ends = [
        test.at + step.retest
        for test in _tests(scene)
        if (test.quantity, test.place) == (fact.body.quantity, fact.body.place)
        and test.id not in (fact.id, fact.first.id)
        and fails(scene.rulebook, test)
        and _between(test, fact.moment) < step.retest
    ]
    return max(ends, default=None)


def stayed_blank(fact: Fact) -> bool:
    """Whether a test showed no colour: what bars it then isn't the water, and no run of water is waited for."""
    body = fact.body
    if not isinstance(body, Measured) or not body.value or body.quantity not in LIMITS:
        return False
    try:
        return no_colour(Decimal(body.value), below=body.below)
    except InvalidOperation:
        return False


def failed_at(scene: Scene, step: Step, fact: Fact) -> datetime | None:
    """When the newest failed test was made that asks for the unit's word beside this one; None for none in a day.

    Source: fluids:1.3, rule 3 (over the limit after the last tank: the night is called off, tell the unit).
    """
    if not step.unit_after_fail or not isinstance(fact.body, Measured):
        return None
    found = [
        test.at
        for test in _tests(scene)
        if (test.quantity, test.place) == (fact.body.quantity, fact.body.place)
        and test.id not in (fact.id, fact.first.id)
        and fails(scene.rulebook, test)
        and fact.at - test.at < A_DAY
    ]
    return max(found, default=None)


def _tests(scene: Scene) -> Iterator[Tested]:
    """Tonight's tests, and those of the evenings before it."""
    yield from scene.treatment.worked_out(tests_of)
    opened = scene.treatment.of("pinned")
    if opened:
        past = scene.past if isinstance(scene.past, Past) else Past(scene.past)
        for summary in islice(past.opened_before(opened[0].at), NIGHTS):
            yield from summary.tests


def _between(failed: Tested, later: Moment) -> timedelta:
    by_wall = later.at - failed.at
    if not failed.boot or failed.boot != later.boot:
        return by_wall
    written_late = failed.recorded_at - failed.at
    by_boot = timedelta(milliseconds=later.mono - failed.mono) + written_late
    return min(by_wall, by_boot)
