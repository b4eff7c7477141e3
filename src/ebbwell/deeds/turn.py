"""Whose turn it is: whether a step may be worked on now, by this person, in this store."""

from __future__ import annotations

from datetime import timedelta

from ebbwell.core.clock import elapsed
from ebbwell.core.errors import InputError
from ebbwell.deeds.desk import Desk
from ebbwell.procedure.holds import Status
from ebbwell.procedure.model import Step
from ebbwell.state.facts import Fact
from ebbwell.state.night import Phase, first_blood
from ebbwell.state.standing import people, signed_off

LOOK_AGAIN = timedelta(seconds=20)
"""The least time between a reading and the same person's second reading. Source: practice:e H13."""


def need_open(desk: Desk, step_id: str, *, second: bool = False) -> Step:
    """The step, if what stands before it has passed. After first blood nothing is gated.

    Refuses when no night is open, when the treatment is held elsewhere, a step that tonight doesn't need, one with
    a step before it that hasn't passed, and what the person isn't signed off for. second: a second reading, which
    anyone who is entered here may give, such as the person on dialysis.
    """
    if desk.treatment_id is None or desk.phase in (Phase.NONE, Phase.CLOSED, Phase.CALLED_OFF):
        desk.refuse("refuse.no_night")
    if step_id not in desk.procedure.ids:
        raise InputError("enter.step", step=step_id)
    step = desk.procedure.step(step_id)
    if first_blood(desk.treatment) is not None or desk.phase is not Phase.SETTING_UP:
        return step
    desk.need_holder()
    view = desk.views[step_id]
    if view.status is Status.NOT_NEEDED:
        desk.refuse("refuse.not_needed", step=step_id)
    if view.waits_for:
        desk.refuse("refuse.shut", step=step_id, waits_for=", ".join(view.waits_for))
    if step.stage in ("connect", "settle", "come_off", "after"):
        desk.refuse("refuse.not_connected", step=step_id)
    skill = "needle" if step.needles else "set_up"
    if second and desk.by in people(desk.standing):
        return step
    if not signed_off(desk.standing, desk.by, skill):
        desk.refuse(f"refuse.skill.{skill}")
    return step


def independent(desk: Desk, fact: Fact, how: str) -> None:
    """Refuse a second reading that isn't one: by the same person as the first where it says ``person``, or by anyone
    too soon after the first where it says ``reread``. Source: practice:e H13.
    """
    if how == "person":
        if fact.by == desk.by or desk.by not in people(desk.standing):
            desk.refuse("refuse.same_person")
    elif how == "reread":
        if elapsed(fact.entry.envelope.recorded_at, desk.now.at) < LOOK_AGAIN:
            desk.refuse("refuse.too_soon", seconds=int(LOOK_AGAIN.total_seconds()))
    else:
        raise InputError("enter.how", how=how)
