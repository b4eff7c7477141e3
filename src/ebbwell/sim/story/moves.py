"""The moves of a usual night, stage by stage, found once by looking and then played again with other figures."""

from __future__ import annotations

from datetime import timedelta
from functools import lru_cache
from typing import NamedTuple

from ebbwell.deeds import comeoff
from ebbwell.deeds.connect import connect
from ebbwell.deeds.desk import Desk
from ebbwell.procedure.holds import Status, StepView
from ebbwell.procedure.model import Evidence
from ebbwell.sim import hands
from ebbwell.sim.checker.world import World
from ebbwell.sim.household import USUAL
from ebbwell.state.night import first_blood

STAGES = ("questions", "setup", "before_needles", "needles", "settle", "come_off", "after")
LONGEST = 400
"""Moves and waits within which a night without a slip has to end."""


class Part(NamedTuple):
    """One move: the time that passes before it, and the evidence that it gives; None for a second reading."""

    wait: timedelta
    move: hands.Move
    evidence: Evidence | None


VALUES = {**USUAL, "treatment_minutes": "450", "fluid_removed": "2.30"}


@lru_cache(maxsize=1)
def usual_moves() -> dict[str, tuple[Part, ...]]:
    """Stage to the moves of a usual night. Raises RuntimeError when the usual night gets no further."""
    world = World.fresh()
    found = {}
    for stage in STAGES:
        if stage == "settle":
            hands.play(world.house, hands.Move(connect))
            world.moved()
        if stage == "after":
            hands.play(world.house, hands.Move(comeoff.person_safe))
            world.moved()
        found[stage] = tuple(_stage(world, stage))
    return found


def _move(desk: Desk, view: StepView) -> hands.Move | None:
    form = view.missing[0].form if view.missing else ""
    if form == "measured" and view.status in (Status.OPEN, Status.STALE):
        return hands.for_evidence(desk, view.step, view.missing[0], VALUES)
    return hands.move_for(desk, view)


def _stage(world: World, stage: str) -> list[Part]:
    parts: list[Part] = []
    waited = timedelta(0)
    for _ in range(LONGEST):
        desk = world.desk
        views = [v for v in desk.views.values() if v.step.stage == stage and not v.passed]
        if not views:
            return parts
        view, move = next(((v, m) for v in views if (m := _move(desk, v)) is not None), (None, None))
        if view is None or move is None:
            ends = [v.until for v in views if v.status is Status.WAITING and v.until is not None]
            if not ends:
                raise RuntimeError(f"the usual night gets no further: {[v.step.id for v in views]}")
            wait = max(min(ends) - desk.now.at, timedelta(seconds=1))
            waited += wait
            world.clock.pass_time(wait)
        else:
            evidence = None if view.status is Status.SECOND else view.missing[0]
            world.clock.pass_time(move.takes)
            hands.play(world.house, move)
            parts.append(Part(waited + move.takes, move, evidence))
            waited = timedelta(0)
        world.moved()
    raise RuntimeError(f"the usual night doesn't end: {stage} {first_blood(world.desk.treatment)}")
