"""Judging hold points: what each step stands at, and what keeps the gate to connecting shut.

Nothing is remembered between two looks: a hold is met while facts that hold now meet it, and no longer.
From first blood on nothing here gates readings, an emergency or coming off.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import datetime, timedelta
from enum import Enum

import msgspec

from ebbwell.core.findings import Finding, Grade
from ebbwell.journal.kinds.marks import LotUsed, Skipped
from ebbwell.journal.kinds.orders import SecondCheck
from ebbwell.procedure.conditions import needed
from ebbwell.procedure.evidence import accepted, find, same_refused
from ebbwell.procedure.model import Evidence, Step, split_bound
from ebbwell.procedure.retest import again_from, failed_at, stayed_blank
from ebbwell.procedure.scene import Scene, allowing
from ebbwell.procedure.two_readings import FIRSTS, found_otherwise
from ebbwell.rulebook.evaluate import evaluate
from ebbwell.state.facts import Fact, differ
from ebbwell.state.night import first_blood


class Status(Enum):
    """Where a step stands."""

    MET = "met"
    SKIPPED = "skipped"
    NOT_NEEDED = "not_needed"
    OPEN = "open"
    SHUT = "shut"
    WAITING = "waiting"
    STALE = "stale"
    NOT_KNOWN = "not_known"
    UNSETTLED = "unsettled"
    BARRED = "barred"
    SECOND = "second"


DIFFERED = "hold.second_differs"
"""What bars a step whose two readings weren't the same."""

AFTER_FAIL = "hold.unit_after_fail"
"""What bars a step whose test passes now but failed before, until the unit has spoken."""

PASSED = (Status.MET, Status.SKIPPED, Status.NOT_NEEDED)


class StepView(msgspec.Struct, frozen=True):
    """One step as judged. by: ids of the facts that meet it, or speak for it. missing: evidence still to give.

    until: when it goes stale, when its wait is over, or from
    when on a failed test may be made again. why: wording key of what bars it. waits_for: ids of the
    steps that shut it. findings: what the rulebook says of its evidence.
    """

    step: Step
    status: Status
    by: tuple[str, ...] = ()
    missing: tuple[Evidence, ...] = ()
    until: datetime | None = None
    why: str = ""
    waits_for: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()

    @property
    def differed(self) -> bool:
        """Whether it is shut for two readings that weren't the same."""
        return self.status is Status.BARRED and self.why == DIFFERED

    @property
    def unit_may(self) -> bool:
        """Whether the unit's word could open it as it stands."""
        return self.status is Status.BARRED and (self.step.advisable or self.why == AFTER_FAIL)

    @property
    def passed(self) -> bool:
        """Whether steps behind this one may open."""
        return self.status in PASSED


class Views(Mapping[str, StepView]):
    """Every step of the procedure, in its order, as it stands at one look. Each is judged when it is asked for."""

    def __init__(self, scene: Scene) -> None:
        self._scene = scene
        self._judged: dict[str, StepView] = {}

    @property
    def steps(self) -> tuple[Step, ...]:
        """The steps themselves, unjudged."""
        return self._scene.procedure.steps

    def where(self, wanted: Callable[[Step], bool]) -> tuple[StepView, ...]:
        """The steps that are wanted, judged, in the procedure's order; no other is judged for it."""
        return tuple([self[step.id] for step in self.steps if wanted(step)])

    def __getitem__(self, step_id: str) -> StepView:
        view = self._judged.get(step_id)
        if view is None:
            view = self._judged[step_id] = self._judge(self._scene.procedure.step(step_id))
        return view

    def __iter__(self) -> Iterator[str]:
        return iter(self._scene.procedure.ids)

    def __len__(self) -> int:
        return len(self._scene.procedure.ids)

    def _judge(self, step: Step) -> StepView:
        view = _own(self._scene, step)
        if view.status is Status.NOT_NEEDED:
            return view
        shut_by = tuple(before for before in step.after if not self._ran(before) and not self[before].passed)
        if not shut_by:
            return view
        return StepView(
            step, Status.SHUT, view.by, view.missing, view.until, view.why, shut_by, view.findings
        )

    def _ran(self, before: str) -> bool:
        """Whether this is connecting, and blood has run: then what comes after it comes, whatever was open before."""
        return before == self._scene.procedure.connect_id and first_blood(self._scene.treatment) is not None


SECOND_WAYS = {
    "person_or_photo": ("person", "photo"),
    "reread": ("person", "reread"),
    "scan": ("person", "reread", "scan"),
}
"""How a second reading may be made, by what the step asks for. Source: practice:b, last lines of its section."""

Held = list[tuple[Evidence, tuple[Fact, ...]]]
"""The evidence of a step, each with the facts that speak for it."""


def _own(scene: Scene, step: Step) -> StepView:
    if not needed(scene, step.only_if):
        return StepView(step, Status.NOT_NEEDED)
    found: Held = [(evidence, find(scene, step, evidence)) for evidence in step.evidence]
    for _, facts in found:
        if len(facts) > 1 and facts[0].slot is not None and differ(facts):
            return StepView(step, Status.UNSETTLED, tuple(fact.id for fact in facts))
    counted: Held = [
        (evidence, tuple([f for f in facts if scene.counts(f) and not scene.reopened(step, f)]))
        for evidence, facts in found
    ]
    missing = tuple([evidence for evidence, facts in counted if not facts])
    if missing:
        skip = _skipped(scene, step)
        if skip is not None:
            return StepView(step, Status.SKIPPED, (skip.id,))
        reopened = any(facts for evidence, facts in found if evidence in missing)
        return StepView(step, Status.STALE if reopened else Status.OPEN, _ids(counted), missing)
    return _timed(scene, step, counted)


def _skipped(scene: Scene, step: Step) -> Fact | None:
    if step.skip == "never":
        return None
    for fact in scene.treatment.of("skipped"):
        if isinstance(fact.body, Skipped) and fact.body.step == step.id and scene.counts(fact):
            if (step.skip == "reason" or fact.body.unit) and not scene.reopened(step, fact):
                return fact
    return None


def _timed(scene: Scene, step: Step, counted: Held) -> StepView:
    ids = _ids(counted)
    until = None
    for evidence, facts in counted:
        fact = facts[0] if evidence.form == "wait" else facts[-1]
        if evidence.length is not None:
            if not scene.trusted(fact, scene.now):
                return StepView(step, Status.NOT_KNOWN, ids, (evidence,), why="hold.clock")
            if fact.at + evidence.length > scene.now.at:
                return StepView(step, Status.WAITING, ids, until=fact.at + evidence.length)
        if step.valid is not None and not scene.trusted(fact, scene.judged_at(fact)):
            return StepView(step, Status.NOT_KNOWN, ids, (evidence,), why="hold.clock")
        if step.valid is not None:
            ends = fact.at + step.valid
            until = ends if until is None else min(until, ends)
            if ends < scene.judged_at(fact).at + (scene.cover if step.gate == "connect" else timedelta()):
                return StepView(step, Status.STALE, ids, (evidence,), until)
    return _accepted(scene, step, counted, until)


def _accepted(scene: Scene, step: Step, counted: Held, until: datetime | None) -> StepView:
    ids = _ids(counted)
    every = tuple([fact for _, facts in counted for fact in facts])
    findings: tuple[Finding, ...] = ()
    why, again = "", None
    bounds = [bound for bound in map(split_bound, step.bounds) if bound is not None] if step.bounds else []
    rules = [name for form, name, _ in bounds if form == "rule"]
    if rules:
        findings = evaluate(scene.rulebook, scene.facts, only=rules)
        why = "hold.limit" if any(f.grade in (Grade.STOP, Grade.UNKNOWN) for f in findings) else ""
    for form, text, line in bounds:
        if form == "same":
            why = same_refused(scene, step, text, line) or why
    for evidence, facts in counted:
        for fact in facts:
            why = accepted(scene, step, evidence, fact) or why
            soon = again_from(scene, step, fact)
            if soon is not None:
                why, again = why or "hold.retest_soon", soon
            elif why and step.retest is not None and not stayed_blank(fact):
                again = fact.at + step.retest
    if why and not scene.allowed(step, every):
        ends = until if step.retest is None else None
        return StepView(step, Status.BARRED, ids, until=again or ends, why=why, findings=findings)
    failed = [at for fact in every for at in [failed_at(scene, step, fact)] if at is not None]
    if failed and not any(said.at >= max(failed) for said in allowing(scene.treatment, step.id)):
        return StepView(step, Status.BARRED, ids, why=AFTER_FAIL, findings=findings)
    if step.second not in ("none", "blind"):
        if found_otherwise(scene.treatment, every) is not None:
            return StepView(step, Status.BARRED, ids, why=DIFFERED, findings=findings)
        second = _second(scene, step, every)
        if second is None:
            return StepView(step, Status.SECOND, ids, until=until, findings=findings)
        ids += second
    return StepView(step, Status.MET, ids, until=until, findings=findings)


def _second(scene: Scene, step: Step, facts: tuple[Fact, ...]) -> tuple[str, ...] | None:
    if step.second == "scan" and all(isinstance(f.body, LotUsed) and f.body.scanned for f in facts):
        return ()
    wanted = {fact.id for fact in facts if fact.kind in FIRSTS}
    ways = SECOND_WAYS[step.second]
    for check in scene.treatment.of("second_check"):
        body = check.body
        if isinstance(body, SecondCheck) and body.agrees and body.how in ways and scene.counts(check):
            if wanted.issubset(body.of):
                return (check.id,)
    return None


def _ids(counted: Held) -> tuple[str, ...]:
    return tuple(dict.fromkeys([fact.id for _, facts in counted for fact in facts]))


def unpassed(views: Views, gate: str) -> Iterator[StepView]:
    """The steps of a gate that haven't passed, in the procedure's order."""
    return (views[step.id] for step in views.steps if step.gate == gate and not views[step.id].passed)
