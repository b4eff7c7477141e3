"""Which step comes next: the first that is open, with what waits and what is barred left for later."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

from ebbwell.core.clock import elapsed
from ebbwell.core.findings import Grade
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.rereading import first_readings
from ebbwell.deeds.turn import LOOK_AGAIN
from ebbwell.procedure.evidence import accepted, find
from ebbwell.procedure.holds import Status, StepView
from ebbwell.procedure.model import Evidence
from ebbwell.procedure.two_readings import found_otherwise
from ebbwell.state.night import ON_MACHINE, Phase

SET_UP = frozenset({"questions", "setup", "before_needles", "needles"})
STAGES = {
    Phase.SETTING_UP: SET_UP,
    Phase.RUNNING: frozenset({"settle"}),
    Phase.PAUSED: frozenset({"settle"}),
    Phase.STOPPING: frozenset({"come_off"}),
    Phase.OFF: frozenset({"come_off"}),
    Phase.SAFE: frozenset({"come_off", "after"}),
}
"""Stages that are walked through in each phase."""

OPEN = (Status.OPEN, Status.STALE, Status.NOT_KNOWN, Status.UNSETTLED)


def next_view(desk: Desk, *, coming_off: bool = False, later: Collection[str] = ()) -> StepView | None:
    """The next step to bring on; None when all that is left waits or is shut.

    coming_off: walk the steps of coming off though the pump still runs. later: steps put off by the person, which
    come after the others. Two readings that weren't the same come before all else. A step whose limit only lacks a
    figure that a wait is for isn't asked again meanwhile.
    """
    stages = STAGES.get(desk.phase, frozenset())
    if coming_off and desk.phase in ON_MACHINE:
        stages = frozenset({"come_off"})
    here = [v for v in desk.views.where(lambda step: step.stage in stages) if not v.passed]
    ready = [v for v in here if v.differed or (v.status in OPEN and not waits_until(desk, v))]
    second = [v for v in here if v.status is Status.SECOND]
    rested = [v for v in second if not _fresh(desk, v)]
    barred = [v for v in here if v.status is Status.BARRED and v not in ready]
    in_order = sorted([*ready, *rested], key=lambda v: (not v.differed, desk.procedure.ids.index(v.step.id)))
    lacking = [v for v in barred if v.findings and all(f.grade is Grade.UNKNOWN for f in v.findings)]
    if lacking and next_wait(desk) is not None:
        barred = [v for v in barred if v not in lacking]
    for group in (in_order, [v for v in second if v not in rested], barred):
        found = next((v for v in group if v.step.id not in later), None)
        if found is not None:
            return found
    return next((v for v in (*in_order, *second, *barred)), None) if later else None


def waits_until(desk: Desk, view: StepView) -> datetime | None:
    """When a step's wait is over, where what it still asks for comes after the wait; None when it isn't waiting."""
    wait = next((e for e in view.step.evidence if e.form == "wait"), None)
    if wait is None or wait.length is None or wait in view.missing:
        return None
    places = {evidence: n for n, evidence in enumerate(view.step.evidence)}
    if any(places[e] < places[wait] for e in view.missing):
        return None
    began = [f for f in desk.treatment.of("waited") if getattr(f.body, "step", "") == view.step.id]
    if not began:
        return None
    over = began[-1].at + wait.length
    return over if over > desk.now.at else None


def next_wait(desk: Desk) -> tuple[datetime, StepView] | None:
    """The wait that is over first, with its step."""
    return next(iter(every_wait(desk)), None)


def every_wait(desk: Desk) -> list[tuple[datetime, StepView]]:
    """Each wait that isn't over, with its step, the first to end first."""
    found = []
    for view in desk.views.where(lambda step: any(e.length is not None for e in step.evidence)):
        until = view.until if view.status is Status.WAITING else waits_until(desk, view)
        if until is not None and not view.passed:
            found.append((until, view))
    return sorted(found, key=lambda pair: pair[0])


def _fresh(desk: Desk, view: StepView) -> bool:
    """Whether a first reading is so new that the same person can't look again yet."""
    return any(
        elapsed(f.entry.envelope.recorded_at, desk.now.at) < LOOK_AGAIN
        for f in first_readings(desk, view.step.id)
    )


def to_give(desk: Desk, view: StepView) -> tuple[Evidence, ...]:
    """The pieces of evidence to ask for now: those missing, or where the step is barred those that bar it.

    After two readings that weren't the same, each first reading that hasn't been made afresh since.
    """
    if view.missing:
        return view.missing
    scene, step = desk.scene, view.step
    if view.differed:
        return tuple(e for e in step.evidence if found_otherwise(scene.treatment, find(scene, step, e)))
    refused = tuple(
        e for e in step.evidence if any(accepted(scene, step, e, fact) for fact in find(scene, step, e))
    )
    if refused:
        return refused
    if any(f.fact for f in view.findings):
        about = {f.fact for f in view.findings}
        named = tuple(e for e in step.evidence if _key(e) in about)
        if named:
            return named
    return (
        tuple(e for e in step.evidence if e.form in ("measured", "lot", "setting", "reading"))
        or step.evidence
    )


def _key(evidence: Evidence) -> str:
    return f"{evidence.name}@{evidence.place}" if evidence.place else evidence.name
