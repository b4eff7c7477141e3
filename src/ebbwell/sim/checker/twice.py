"""What can be tried with a step that is read twice; and doing a deed in a world."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

from ebbwell.core.errors import EbbwellError
from ebbwell.deeds import record
from ebbwell.procedure.model import Step
from ebbwell.procedure.two_readings import firsts_of
from ebbwell.sim import hands
from ebbwell.sim.checker.world import World
from ebbwell.sim.household import BRAM


def do(world: World, deed: Callable[..., None], by: str = BRAM, **inputs: Any) -> bool:
    """Do a deed, questions answered; False where it was refused or couldn't be read."""
    try:
        hands.play(world.house, hands.Move(deed, inputs), by=by)
    except EbbwellError:
        return False
    world.moved()
    return True


def second(step: Step, *, wrong: bool) -> Callable[[World], bool]:
    """A second reading half a minute later: the same value, or another one."""

    def act(world: World) -> bool:
        move = hands.second(world.desk, world.desk.views[step.id])
        world.clock.pass_time(timedelta(seconds=30))
        world.moved()
        other = {"negative": "positive"}
        values = {
            name: (other.get(value, "9.9") if wrong else value)
            for name, value in move.inputs["values"].items()
        }
        return do(world, move.deed, **{**move.inputs, "values": values})

    return act


def until_it_fits(step: Step, how: str) -> Callable[[World], bool]:
    """A second reading that isn't the same, and then one more that is; in between what might make it count.

    how: ``again`` (nothing in between), ``withdraw`` (the second one taken back), ``correct`` (the first one put
    "right"), ``settle first`` or ``settle second`` (somebody says which one holds).
    """

    def between(world: World, check: str) -> bool:
        treatment = world.desk.treatment
        fact = treatment.fact(check)
        firsts = firsts_of(treatment, fact) if fact is not None else ()
        if how == "withdraw":
            return do(world, record.withdraw, of=check, reason="misread")
        if how == "correct":
            at = {"at": world.clock.now().at.isoformat()}
            return bool(firsts) and do(world, record.correct, of=firsts[0], changes=at, reason="a slip")
        if how.startswith("settle"):
            holds = check if how == "settle second" else firsts[0] if firsts else ""
            return do(world, record.settle, of=(*firsts, check), holds=holds, reason="the other was misread")
        return True

    def act(world: World) -> bool:
        if not second(step, wrong=True)(world):
            return False
        check = world.desk.treatment.of("second_check")[-1].id
        world.clock.pass_time(timedelta(seconds=30))
        return between(world, check) and (second(step, wrong=False)(world) or how == "settle second")

    return act
