"""What was read off packs, vial and machine and isn't as ordered or planned: named beside the plan, with both words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ebbwell.core.findings import Grade, say_grade
from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.marks import LotUsed
from ebbwell.papers.spoken import step_said
from ebbwell.papers.words import item_words, step_words
from ebbwell.procedure.evidence import CODE_LINES, find, lot_refused
from ebbwell.procedure.holds import StepView
from ebbwell.procedure.model import Step
from ebbwell.state.night import first_blood
from ebbwell.web.marks import capital
from ebbwell.web.pages.setup.screen import address_of


@dataclass(frozen=True)
class Apart:
    """One step in which something isn't as it should be. words: of each thing. address: where it is dealt with."""

    grade: str
    step: str
    words: tuple[str, ...]
    address: str


def apart(desk: Desk) -> list[Apart]:
    """Every step of the set-up whose pack, strength, dose or setting isn't the one of the prescription or the plan.

    A value that waits for its second reading and is as ordered isn't named here.
    """
    if desk.treatment_id is None:
        return []
    grade = say_grade(Grade.STOP, connected=first_blood(desk.treatment) is not None)
    found = []
    for view in desk.views.values():
        if view.step.gate == "connect" and not view.passed and _matched(view.step):
            words = tuple(dict.fromkeys(_words(desk, view)))
            if words:
                name = step_words(desk.procedure, view.step.id)
                found.append(Apart(grade, name, words, address_of(view.step)))
    return found


def _matched(step: Step) -> bool:
    """Whether what a step asks for is held against the prescription or the plan."""
    return step.block == "heparin" or any(
        e.form == "setting" or (e.form == "lot" and e.name in CODE_LINES) for e in step.evidence
    )


def _words(desk: Desk, view: StepView) -> Iterator[str]:
    scene, step = desk.scene, view.step
    for evidence in step.evidence:
        for fact in find(scene, step, evidence):
            if isinstance(fact.body, LotUsed):
                yield from _pack(desk, fact.body)
    grade = say_grade(Grade.STOP, connected=first_blood(desk.treatment) is not None)
    for words in step_said(desk, step.id, [f for f in view.findings if f.grade is Grade.STOP]):
        yield words.removeprefix(f"{grade}: ")


def _pack(desk: Desk, body: LotUsed) -> Iterator[str]:
    why = lot_refused(desk.scene, body)
    if why != "hold.lot.code":
        if why:
            yield f"{capital(item_words(body.item))}: {say(why)}"
        return
    order = desk.scene.order
    ordered = order.lines.get(CODE_LINES[body.item], "") if order is not None else ""
    yield say(
        "web.plan.apart_pack", item=capital(item_words(body.item)), read=body.code or "-", ordered=ordered
    )
