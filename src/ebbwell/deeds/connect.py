"""The deed that the whole set-up leads to, and its honest twin for what is found already running."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import datetime

from ebbwell.core.findings import Finding, Grade
from ebbwell.deeds.desk import Desk, Refused
from ebbwell.deeds.setup import _when, pin_night
from ebbwell.journal.kinds.night import AlreadyRunning, Connected
from ebbwell.journal.kinds.orders import Plan
from ebbwell.procedure.holds import Status
from ebbwell.state.facts import Fact
from ebbwell.state.night import Phase
from ebbwell.state.standing import signed_off


def connect(desk: Desk, *, at: datetime | None = None) -> None:
    """Record first blood, through the gate. Keeps what satisfied each hold point, and the figures as shown.

    Refuses while any hold point is open, while two values disagree, while the plan is void or the prescription
    waits for a check, in a store that doesn't hold the treatment, and from someone not signed off to connect: with
    all of the reasons at once. Refuses a time still to come, and one before the last thing that the gate rests on:
    then the gate was shut. What has happened all the same is recorded with ``already_running``.
    """
    desk.need_phase(Phase.SETTING_UP)
    desk.need_holder()
    if desk.bars:
        raise Refused("refuse.gate", bars=desk.bars, count=len(desk.bars))
    if not signed_off(desk.standing, desk.by, "connect"):
        desk.refuse("refuse.skill.connect")
    plan = desk.treatment.last("plan")
    order = desk.scene.order
    if plan is None or not isinstance(plan.body, Plan) or order is None:
        desk.refuse("refuse.no_plan")
    satisfied = {
        view.step.id: view.by
        for view in desk.views.values()
        if view.step.gate == "connect" and view.status is not Status.NOT_NEEDED
    }
    if at is not None and any(fact.at > at for fact in _rested_on(desk, satisfied)):
        desk.refuse("refuse.before_checks")
    shown = {**order.lines, **plan.body.figures}
    desk.add(Connected(satisfied=satisfied, shown=shown, plan=plan.id), at=_when(desk, at))


def _rested_on(desk: Desk, satisfied: Mapping[str, tuple[str, ...]]) -> Iterator[Fact]:
    for entry_id in {entry_id for ids in satisfied.values() for entry_id in ids}:
        fact = desk.treatment.fact(entry_id)
        if fact is not None:
            yield fact


def already_running(
    desk: Desk, *, words: str = "", at: datetime | None = None, start_not_known: bool = False
) -> None:
    """Record that blood is running though the gate was never passed. Never refused.

    start_not_known: nobody knows when it began; ``at`` is then only a time by which it ran.

    Each hold point that was open is kept with it and is a ``stop`` finding: call the unit.
    """
    if desk.treatment_id is None:
        pin_night(desk)
        open_steps = tuple(step.id for step in desk.procedure.steps if step.gate == "connect")
    else:
        open_steps = tuple(
            view.step.id for view in desk.views.values() if view.step.gate == "connect" and not view.passed
        )
    desk.add(AlreadyRunning(open_holds=open_steps, words=words, start_not_known=start_not_known), at=at)
    if open_steps:
        desk.findings.append(
            Finding("running_with_open_holds", Grade.STOP, (("steps", ", ".join(open_steps)),), ("design",))
        )
