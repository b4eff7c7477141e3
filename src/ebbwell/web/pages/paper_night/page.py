"""A night on paper: printed beforehand, it takes over when no screen does. Nothing is filled in but what was ordered.

Source: practice:e (H45, H75).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from zoneinfo import ZoneInfo

from starlette.responses import Response

from ebbwell.deeds.desk import Desk
from ebbwell.papers.night_now import reading_fields
from ebbwell.papers.words import given_words, item_words, named, place_words, step_words
from ebbwell.procedure.conditions import needed
from ebbwell.procedure.model import Evidence, Step
from ebbwell.rulebook.own_units import field_unit
from ebbwell.web.marks import GIVEN_UNITS, capital, setting_unit
from ebbwell.web.pages.prescription import lines
from ebbwell.web.visit import ALL, Visit, Way

ROWS = 9
"""Empty rows for readings. Own choice: a night takes four to nine (practice:T19)."""


@dataclass(frozen=True)
class Blank:
    """Something to write on paper: its name, and the unit it is written in."""

    name: str
    unit: str = ""


@dataclass(frozen=True)
class PaperStep:
    """A step with its box. hold: it must be true before what is behind it."""

    words: str
    hold: bool
    blanks: tuple[Blank, ...]


def show(visit: Visit) -> Response:
    """The paper: first actions, what was ordered, every step with a box, empty rows for readings."""
    desk = visit.desk
    order = desk.scene.order
    ordered = order is not None and not order.waiting
    return visit.show(
        "pages/paper_night/page.html",
        printed=desk.now.at.astimezone(ZoneInfo(desk.now.zone)).date().isoformat(),
        order=order if ordered else None,
        groups=[
            (group, [(line, lines.shown(desk.rulebook, line, order.lines[line])) for line in ids])
            for group, ids in lines.grouped(order.lines)
        ]
        if order is not None and ordered
        else [],
        blocks=_blocks(desk),
        columns=[
            (named("sheet.short", name), field_unit(desk.rulebook, name)) for name in reading_fields(desk)
        ],
        empty=range(ROWS),
    )


def _blocks(desk: Desk) -> list[tuple[str, list[PaperStep]]]:
    """The steps that this home needs, by their part of the night."""
    steps = [s for s in desk.procedure.steps if needed(desk.scene, s.only_if)]
    return [
        (desk.procedure.say(f"block.{block}"), [_paper(desk, step) for step in group])
        for block, group in groupby(steps, key=lambda step: step.block)
    ]


def _paper(desk: Desk, step: Step) -> PaperStep:
    blanks = tuple(blank for evidence in step.evidence for blank in _blanks(desk, evidence))
    return PaperStep(step_words(desk.procedure, step.id), step.kind == "hold", blanks)


def _blanks(desk: Desk, evidence: Evidence) -> Iterator[Blank]:
    name = evidence.name
    if evidence.form == "measured":
        yield Blank(capital(place_words(name, evidence.place)), field_unit(desk.rulebook, name))
    elif evidence.form == "setting":
        yield Blank(named("setting", name), setting_unit(desk, name))
    elif evidence.form == "lot":
        yield Blank(capital(item_words(name)))
    elif evidence.form == "given":
        yield Blank(capital(given_words(name)), GIVEN_UNITS.get(name, "mL"))
    elif evidence.form in ("answer", "choice"):
        key = f"ask.{name}" if evidence.form == "answer" else f"choice.{name}"
        yield Blank(desk.procedure.say(key))


WAYS = (Way("GET", "/paper-night", show, ALL),)
