"""Steps that are open while blood runs and after: their fields on a page, and what was sent in them.

Nothing here is gated: a step left open keeps only the sheet from closing.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from ebbwell.core.errors import EbbwellError, InputError
from ebbwell.core.text import has_text
from ebbwell.deeds.coming_up import to_give, waits_until
from ebbwell.deeds.desk import Desk
from ebbwell.papers.describe import describe
from ebbwell.papers.standing_now import KEPT_OUT, URGENT
from ebbwell.procedure.evidence import find
from ebbwell.procedure.holds import Status, StepView
from ebbwell.state.night import Phase
from ebbwell.web.marks import Field, capital, fields, filled, keep, sent_before
from ebbwell.web.once import KEPT, LEFT, refuse, sent
from ebbwell.web.pages.reading.rows import Row
from ebbwell.web.times import past_time
from ebbwell.web.visit import Visit

MACHINE = "came_off"
"""The evidence of the step that is the machine's own form on the page."""

OWN_PAGE = ("readback", "plan", "connected", "came_off")
"""Evidence that has a form of its own elsewhere, or on the same page."""


AFTER = (Phase.OFF, Phase.SAFE)
"""Phases in which the person is off the machine and the sheet is open."""


@dataclass(frozen=True)
class StepOn:
    """A step with the fields that it still asks for, and the names of the rows of readings that it still asks for."""

    view: StepView
    fields: tuple[Field, ...]
    readings: tuple[str, ...]

    @property
    def asks(self) -> bool:
        """Whether anything can be filled in here."""
        return bool(self.fields or self.readings)

    @property
    def id(self) -> str:
        """The step's id."""
        return self.view.step.id

    @property
    def barred(self) -> bool:
        """Whether what was given isn't what the step wants."""
        return self.view.status in (Status.BARRED, Status.UNSETTLED)


@dataclass(frozen=True)
class Moment:
    """What belongs to one moment of the morning: the open steps of a bundle, or one that stands alone.

    name: the bundle's, or the step's id. title: as it reads.
    """

    name: str
    title: str
    steps: tuple[StepOn, ...]


def moments(desk: Desk, steps: Collection[StepOn]) -> tuple[Moment, ...]:
    """The moments that still ask for something, what comes next first.

    Once the machine is off, what comes after it comes first, and once the person is safe what is left for later does:
    what was passed over before is asked last.
    """
    found: dict[str, list[StepOn]] = {}
    for on in steps:
        found.setdefault(_moment_of(desk, on), []).append(on)
    made = [
        Moment(name, _title(desk, name), tuple(group))
        for name, group in found.items()
        if any(on.asks for on in group)
    ]
    return tuple(sorted(made, key=lambda moment: (not cannot_wait(desk, moment), _passed_over(desk, moment))))


def _moment_of(desk: Desk, on: StepOn) -> str:
    """Name of the moment that a step is asked in; once off, the call about blood that stayed out stands first of all."""
    if desk.phase in AFTER and on.view.step.only_if == KEPT_OUT:
        return URGENT
    return on.view.step.bundle or on.id


def cannot_wait(desk: Desk, moment: Moment) -> bool:
    """Whether a moment holds what can't be left until somebody has slept: the call, needles, bleeding, standing up."""
    return desk.phase in AFTER and moment.name == URGENT


@dataclass(frozen=True)
class Written:
    """Something that stands on record for a step. words: with its unit. entry: its id, to put it right."""

    at: datetime
    words: str
    entry: str


def written(desk: Desk, stages: Collection[str]) -> tuple[Written, ...]:
    """What stands on record for the steps of these stages, the newest first."""
    found: dict[str, Written] = {}
    for step in desk.procedure.steps:
        if step.stage not in stages:
            continue
        for evidence in step.evidence:
            if evidence.form in OWN_PAGE:
                continue
            for fact in find(desk.scene, step, evidence):
                found[fact.id] = Written(fact.at, capital(describe(fact.body)), fact.id)
    return tuple(sorted(found.values(), key=lambda one: (one.at, one.entry), reverse=True))


def _title(desk: Desk, name: str) -> str:
    key = f"bundle.{name}"
    known = key in desk.procedure.words or has_text(key)
    return desk.procedure.say(key if known else f"step.{name}.do").rstrip(".")


def _passed_over(desk: Desk, moment: Moment) -> bool:
    """Whether a moment is over."""
    if desk.phase is Phase.SAFE:
        return moment.steps[0].view.step.stage != "after"
    return too_late(desk, moment)


def too_late(desk: Desk, moment: Moment) -> bool:
    """Whether it could be done only before the machine was left: now it can just be written down."""
    order, step = desk.procedure.ids, moment.steps[0].view.step
    machine = next((s.id for s in desk.procedure.steps if any(e.form == MACHINE for e in s.evidence)), "")
    return desk.phase in AFTER and bool(machine) and order.index(step.id) < order.index(machine)


def open_steps(desk: Desk, stages: Collection[str]) -> tuple[StepOn, ...]:
    """The steps of these stages that aren't recorded yet, in the procedure's order."""
    views = desk.views.where(lambda step: step.stage in stages)
    return tuple(_on(desk, view) for view in views if not view.passed)


def _on(desk: Desk, view: StepView) -> StepOn:
    asked = to_give(desk, view)
    waits = waits_until(desk, view) is not None
    shown = [e for e in asked if e.form not in OWN_PAGE and not (e.form == "wait" and waits)]
    rows = tuple(e.name for e in shown if e.form == "reading")
    return StepOn(view, fields(desk, view.step, [e for e in shown if e.form != "reading"]), rows)


def row_of(visit: Visit, when: str) -> Row:
    """A row of readings among the steps."""
    return Row(visit, when, f"row.{when}.")


def keep_steps(visit: Visit, stages: Collection[str], *, need: bool = True) -> int:
    """Keep what was filled in, each field its own deed. Gives how many were kept; the visit's troubles say the rest.

    need: whether a form with nothing filled in says so. A field of a step that isn't asked any more, because of what
    was written down meanwhile or in the field before it, is kept all the same: it tells what has happened.
    """
    kept = 0
    named = [step for step in visit.desk.views.steps if step.stage in stages]
    for step in named:
        asked = {f.name: f for on in open_steps(visit.desk, stages) if on.id == step.id for f in on.fields}
        for evidence in step.evidence:
            for f in fields(visit.desk, step, [evidence]):
                if f.kind == "link":
                    continue
                outcome = keep(visit, asked[f.name]) if f.name in asked else _kept_all_the_same(visit, f)
                kept += outcome == KEPT
        for evidence in step.evidence:
            if evidence.form == "reading" and (row := row_of(visit, evidence.name)).filled:
                kept += _keep_row(visit, row)
    if need and not kept and not visit.troubles:
        refuse(visit, "", InputError("web.off.nothing"))
    return kept


def _kept_all_the_same(visit: Visit, f: Field) -> str:
    """Keep a field whose step isn't asked any more, where nothing is on record in its place."""
    if not filled(visit, f):
        return LEFT
    key = sent(visit, f.name, "key").lower()
    if visit.desk.treatment.fact(key) is not None or f.seen:
        return sent_before(visit, f)
    return keep(visit, f)


def _keep_row(visit: Visit, row: Row) -> bool:
    """Keep a row under its own key; one that this very form kept before counts as kept."""
    if not row.text("key"):
        refuse(visit, f"{row.prefix}pressure", InputError("web.marks.no_key"))
        return False
    try:
        at = past_time(row.text("at"), visit.desk.now)
    except EbbwellError as why:
        refuse(visit, f"{row.prefix}at", why)
        return False
    return row.keep(at=at)
