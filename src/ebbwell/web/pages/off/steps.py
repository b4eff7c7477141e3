"""Steps that are open while blood runs and after: their fields on a page, and what was sent in them.

Nothing here is gated: a step left open keeps only the sheet from closing.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from ebbwell.core.errors import InputError
from ebbwell.deeds.coming_up import to_give, waits_until
from ebbwell.deeds.desk import Desk
from ebbwell.procedure.holds import Status, StepView
from ebbwell.web.marks import Field, fields, keep, sent_before
from ebbwell.web.once import KEPT, refuse
from ebbwell.web.pages.reading.rows import Row
from ebbwell.web.visit import Visit

OWN_PAGE = ("readback", "plan", "connected", "came_off")
"""Evidence that has a form of its own elsewhere, or on the same page."""


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


def open_steps(desk: Desk, stages: Collection[str]) -> tuple[StepOn, ...]:
    """The steps of these stages that aren't recorded yet, in the procedure's order."""
    views = (v for v in desk.views.values() if v.step.stage in stages and not v.passed)
    return tuple(_on(desk, view) for view in views)


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

    need: whether a form with nothing filled in says so. A field of a step that isn't asked any more counts as kept
    where this very form kept it, as on a second tap.
    """
    kept = 0
    named = [v.step for v in visit.desk.views.values() if v.step.stage in stages]
    for step in named:
        asked = {f.name: f for on in open_steps(visit.desk, stages) if on.id == step.id for f in on.fields}
        for evidence in step.evidence:
            for f in fields(visit.desk, step, [evidence]):
                if f.kind == "link":
                    continue
                outcome = keep(visit, asked[f.name]) if f.name in asked else sent_before(visit, f)
                kept += outcome == KEPT
        for evidence in step.evidence:
            if evidence.form == "reading" and (row := row_of(visit, evidence.name)).filled:
                kept += _keep_row(visit, row)
    if need and not kept and not visit.troubles:
        refuse(visit, "", InputError("web.off.nothing"))
    return kept


def _keep_row(visit: Visit, row: Row) -> bool:
    """Keep a row under its own key; one that this very form kept before counts as kept."""
    if not row.text("key"):
        refuse(visit, f"{row.prefix}pressure", InputError("web.marks.no_key"))
        return False
    return row.keep()
