"""The plan on the sheet: its figures beside what was done, and its times by when blood really began."""

from __future__ import annotations

from collections.abc import Mapping

from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.marks import Measured
from ebbwell.journal.kinds.orders import Plan
from ebbwell.papers.home_clock import sheet_clock
from ebbwell.papers.night_now import times_of
from ebbwell.papers.own_figures import unit_here
from ebbwell.papers.sheet_order import Ordered
from ebbwell.papers.words import figure_value, figure_words, measured_words, named
from ebbwell.state.facts import instant
from ebbwell.state.night import start_known

PLANNED = (
    "fluid_to_remove",
    "removal_rate_per_kg",
    "remains_after",
    "weight_after_expected",
    "treatment_minutes",
    "heparin_volume",
    "heparin_rate_ml",
    "finish_at",
    "heparin_stop_at",
)
"""Figures of the plan beside what was done. The removal rate stands beside what the machine was set to."""

DONE = {
    "fluid_to_remove": "fluid_removed",
    "treatment_minutes": "treatment_minutes",
    "weight_after_expected": "weight_after",
}
"""Figure of the plan to the quantity that says what came of it."""


def plan_columns() -> tuple[str, ...]:
    """Heads of the part of the sheet that holds the plan beside what was done."""
    return (say("sheet.column.figure"), say("sheet.column.plan"), say("sheet.column.done"))


def plan_rows(desk: Desk, ordered: Ordered) -> tuple[tuple[str, ...], ...]:
    """Each figure of the plan, as agreed and as it was done; times also as they follow from when blood began."""
    fact = desk.treatment.last("plan")
    if fact is None or not isinstance(fact.body, Plan):
        return ()
    figures, later = fact.body.figures, _from_start(desk, fact.body)
    rows = [(say("sheet.weight_before"), "", _done(desk, "weight_before"))]
    for name in PLANNED:
        if name in figures:
            done = _done(desk, DONE[name]) if name in DONE else later.get(name, "")
            words = figure_words(name)
            if name == "weight_after_expected":
                words, target = _weight_after(ordered)
                rows += [(named("line", "target_weight"), target, "")] if target else []
            rows.append((words, figure_value(figures[name]), done))
    return tuple(rows)


def _weight_after(ordered: Ordered) -> tuple[str, str]:
    """Name of the row of the weight after, with the target weight as ordered.

    In two units that is too long for a name: then what stands in a row of its own before it.
    """
    target = ordered.line("target_weight")
    if not target or unit_here("kg") != "kg":
        return say("sheet.weight_after"), target
    return say("sheet.weight_after_target", target=target), ""


def _done(desk: Desk, quantity: str) -> str:
    facts = desk.treatment.at_slot("measured", quantity, "")
    said = [measured_words(f.body) for f in facts if isinstance(f.body, Measured)]
    return " / ".join(said) or say("outcome.missing")


def _from_start(desk: Desk, plan: Plan) -> Mapping[str, str]:
    """Times of the plan counted from when blood began, where that wasn't when the plan had it; time off is added.

    Without a known start there are none: nothing is counted from a guess.
    """
    times, planned = times_of(desk), instant(plan.given.get("start_at", ""))
    if times is None or planned is None or not start_known(desk.treatment):
        return {}
    began = sheet_clock(desk, times.start)
    if began == sheet_clock(desk, planned):
        return {}
    counted = {"finish_at": times.end, "heparin_stop_at": times.heparin_off}
    return {
        name: say("sheet.from_start", start=began, at=sheet_clock(desk, at))
        for name, at in counted.items()
        if at is not None
    }
