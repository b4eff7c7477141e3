"""The model checker's tries, sorted by kind of fault, done to the store on disk."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

from ebbwell.procedure.load import load_procedure
from ebbwell.sim.carer import Carer
from ebbwell.sim.checker.moves import Try, all_tries
from ebbwell.sim.household import BRAM
from ebbwell.sim.oracle import Broken
from ebbwell.state.night import Phase

Fault = Callable[[Carer], bool]

TRIES = {
    "wrong ": "wrong value or answer",
    "beside ": "disagreement",
    "withdraw": "undo",
    "elsewhere ": "mark merged from elsewhere",
    "skip elsewhere": "mark merged from elsewhere",
    "strip ": "strip for meter",
    "pack ": "wrong pack",
    "second wrong": "second reading differs",
    "skip ": "skipping tried",
    "time passes": "delay",
    "clock jumps": "clock jumps",
    "restart": "machine restart",
    "clock compared": "clock compared",
    "happened elsewhere": "event merged from elsewhere",
    "happened ": "checks reopened",
    "disinfected": "disinfected in mid-night",
    "recalled ": "lot recalled",
    "new prescription": "new prescription",
    "line amended": "order by phone",
    "order checked": "order checked",
    "held elsewhere": "held elsewhere",
    "taken over here": "taken over here",
    "a kind not known": "a kind not known",
    "stand-in takes": "stand-in without needling",
    "advice ": "unit's word",
    "connect by": "connect by the wrong person",
    "call off": "called off",
}
"""Start of a try's name to the kind of fault it is."""


@lru_cache(maxsize=1)
def tries() -> dict[str, tuple[Try, ...]]:
    """The model checker's tries, by kind of fault."""
    found: dict[str, list[Try]] = {}
    for one in all_tries(load_procedure()):
        kind = next((k for start, k in TRIES.items() if one.name.startswith(start)), None)
        if kind is not None:
            found.setdefault(kind, []).append(one)
    return {kind: tuple(ones) for kind, ones in found.items()}


REFUSED = frozenset({"connect by the wrong person", "stand-in without needling", "skipping tried"})
"""Kinds of which being refused is what counts."""

NEVER = ("connect by stand-in", "connect by nobody", "stand-in takes a step")
"""Tries that must be refused while a night is being set up."""

BEFORE = {"order checked": "line amended", "taken over here": "held elsewhere"}
"""A try that only means something after another."""


@lru_cache(maxsize=1)
def _never_skipped() -> frozenset[str]:
    return frozenset(f"skip {step.id}" for step in load_procedure().steps if step.skip == "never")


def trying(kind: str) -> Fault:
    """One of the model checker's tries of a kind, near the place that the night has come to."""

    def fault(carer: Carer) -> bool:
        ones = tries()[kind]
        near = carer.near()
        chosen = carer.chance.choice([one for one in ones if one.about in near] or ones)
        first = BEFORE.get(chosen.name)
        if first is not None:
            next(one for group in tries().values() for one in group if one.name == first).act(carer.world())
        setting_up = carer.house.look(by=BRAM).phase is Phase.SETTING_UP
        done = chosen.act(carer.world())
        carer.say(f"{chosen.name}: {'done' if done else 'refused'}")
        if setting_up and done and (chosen.name in NEVER or chosen.name in _never_skipped()):
            raise Broken(f"taken, and must never be: {chosen.name}")
        return done or (setting_up and kind in REFUSED)

    return fault
