"""After a failed water test: how long the water runs before a new test counts.

Source: fluids:1.3 (over the limit: wait, run 10 minutes, draw again with fresh reagent).
"""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING

from msgspec.structs import replace

from ebbwell.core.clock import Moment
from ebbwell.journal.envelope import Entry
from ebbwell.journal.kinds.marks import Measured
from ebbwell.journal.kinds.orders import SecondCheck
from ebbwell.rulebook.model import Rulebook
from ebbwell.state.facts import Fact, Facts

if TYPE_CHECKING:
    from ebbwell.procedure.model import Step
    from ebbwell.procedure.scene import Scene

LIMITS = {"total_chlorine": "chlorine"}
"""Quantity that is tested again to the limit that it fails over."""


def fails(rulebook: Rulebook, body: Measured) -> bool:
    """Whether a reading is over its limit, or at it by a method that can't tell. Source: fluids:1.3."""
    name = LIMITS.get(body.quantity)
    try:
        value = Decimal(body.value) if name is not None and body.value and not body.below else None
    except InvalidOperation:
        return False
    if value is None or name is None:
        return False
    most = rulebook.limit(name).value
    return value > most or (value == most and body.method != "meter")


def again_from(scene: Scene, step: Step, fact: Fact) -> datetime | None:
    """When a new test counts, where a failed one speaks against this one; None where none does.

    Every failed reading of tonight counts, also a second reader's, and one that was replaced or taken back, save where
    it was this very entry before it was corrected. Time is the shorter of both clocks.
    """
    if step.retest is None or not isinstance(fact.body, Measured):
        return None
    ends = []
    for entry in scene.treatment.worked_out(_measured):
        body = entry.body
        if not isinstance(body, Measured) or entry.id in (fact.id, fact.first.id):
            continue
        if (body.quantity, body.place) != (fact.body.quantity, fact.body.place):
            continue
        if fails(scene.rulebook, body) and _between(entry, fact.moment) < step.retest:
            ends.append(entry.envelope.at + step.retest)
    for entry in scene.treatment.worked_out(_checks):
        read = _read_again(entry, step, fact.body)
        if read is not None and fails(scene.rulebook, read) and _between(entry, fact.moment) < step.retest:
            ends.append(entry.envelope.at + step.retest)
    return max(ends, default=None)


def _read_again(entry: Entry, step: Step, first: Measured) -> Measured | None:
    """What a second reader found where the first had found something else."""
    check = entry.body
    if not isinstance(check, SecondCheck) or check.agrees or check.step != step.id:
        return None
    for name, text in check.values.items():
        if name.partition("@")[0] == first.quantity:
            return replace(first, value=text.removeprefix("<"), below=text.startswith("<"))
    return None


def _between(failed: Entry, later: Moment) -> timedelta:
    e = failed.envelope
    by_wall = later.at - e.at
    if not e.boot or e.boot != later.boot:
        return by_wall
    written_late = e.recorded_at - e.at
    by_boot = timedelta(milliseconds=later.mono - e.mono) + written_late
    return min(by_wall, by_boot)


def _checks(treatment: Facts) -> tuple[Entry, ...]:
    return tuple(e for e in treatment.entries.values() if isinstance(e.body, SecondCheck))


def _measured(treatment: Facts) -> tuple[Entry, ...]:
    return tuple(e for e in treatment.entries.values() if isinstance(e.body, Measured))
