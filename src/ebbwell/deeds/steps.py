"""Deeds about the household's own steps: their wording, their order, more of them. Never less than what is shipped."""

from __future__ import annotations

from collections.abc import Mapping

from ebbwell.core.errors import InputError
from ebbwell.core.findings import Finding, Grade
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.house import StepsAdopted
from ebbwell.procedure.load import USUAL, shipped_names
from ebbwell.procedure.own import (
    choice_of,
    chosen,
    may_word,
    own_procedure,
    whole_text,
    with_order,
    with_words,
)
from ebbwell.state.standing import adopted_steps


def adopt_steps(desk: Desk, *, text: str) -> None:
    """Take a household's own text of the steps, for every night that is opened from now on; "" goes back to ours.

    An open night keeps the steps it was opened with. Refuses a text with a problem, and one that by step id asks for
    less: a step, piece of evidence, limit, second check or reopening that is gone, or a longer validity.
    """
    older = desk.standing.of("steps_adopted")
    if not text.strip():
        if not older:
            desk.refuse("refuse.no_own_steps")
    else:
        own_procedure(text)
    desk.add(
        StepsAdopted(text=text if text.strip() else ""),
        replaces=tuple(fact.id for fact in older),
        reason="changed by the household" if older else None,
        standing=True,
    )
    if desk.treatment_id is not None:
        desk.findings.append(Finding("steps_from_next_night", Grade.NOTE, (), ("practice:e",)))


def choose_steps(desk: Desk, *, name: str) -> None:
    """Go by another procedure that comes with the program, from the next night that is opened.

    The home's own wording of the steps before doesn't go along. Refuses a name that isn't there and the one in use.
    """
    if name not in shipped_names():
        raise InputError("enter.steps_name", name=name[:40])
    if chosen(adopted_steps(desk.standing)) == name:
        desk.refuse("refuse.same_steps")
    adopt_steps(desk, text="" if name == USUAL else choice_of(name))


def reword_steps(desk: Desk, *, words: Mapping[str, str]) -> None:
    """Word steps and bundles anew: ``step.S5.do``, ``step.S5.why``, ``step.S5.how``, ``bundle.packs``. "" goes back.

    Refuses a key that isn't the household's to word, and braces, which stand for figures. What a step asks for stays.
    """
    base = _text(desk)
    procedure = own_procedure(base)
    strange = sorted(key for key in words if not may_word(key, procedure))
    if strange or not words:
        raise InputError("enter.words_of_steps", keys=", ".join(strange))
    if any("{" in text or "}" in text for text in words.values()):
        raise InputError("enter.no_braces")
    adopt_steps(desk, text=with_words(base, {key: text.strip() for key, text in words.items()}))


def order_bundles(desk: Desk, *, bundles: tuple[str, ...]) -> None:
    """Set the order in which these bundles of steps come, where nothing makes one wait for the other.

    What a step has to come after stays as it is. Refuses a bundle that the steps don't have, one named twice, and
    fewer than two.
    """
    base = _text(desk)
    known = {step.bundle for step in own_procedure(base).steps if step.bundle}
    if len(bundles) < 2 or len(set(bundles)) < len(bundles) or not set(bundles) <= known:
        raise InputError("enter.option", question="bundles", options=", ".join(sorted(known)))
    adopt_steps(desk, text=with_order(base, bundles))


def _text(desk: Desk) -> str:
    return whole_text(adopted_steps(desk.standing))
