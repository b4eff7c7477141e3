"""The model checker's tries, sorted by kind of fault, done to the store on disk."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

from ebbwell.procedure.load import load_procedure
from ebbwell.sim.carer import Carer
from ebbwell.sim.checker.moves import Try, all_tries

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
    "skip ": "step left out",
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


def trying(kind: str) -> Fault:
    """One of the model checker's tries of a kind, on the store on disk."""

    def fault(carer: Carer) -> bool:
        ones = tries()[kind]
        near = carer.near()
        chosen = carer.chance.choice([one for one in ones if one.about in near] or ones)
        done = chosen.act(carer.world())
        carer.say(f"{chosen.name}: {'done' if done else 'refused'}")
        return done

    return fault
