"""What comes round with the water: the day it was last done and the day it is due, in words."""

from __future__ import annotations

from dataclasses import dataclass

from ebbwell.core.text import say
from ebbwell.core.when import day
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.water_sums import Due, due
from ebbwell.state.water import today


@dataclass(frozen=True)
class DueRow:
    """Something that comes round, in words. open: it is due, or nobody knows."""

    words: str
    open: bool


def uses_tap_water(desk: Desk) -> bool:
    """Whether the steps of the home test the water, as where the machine makes the fluid of it."""
    return any(e.name == "total_chlorine" for step in desk.procedure.steps for e in step.evidence)


def due_rows(desk: Desk) -> tuple[DueRow, ...]:
    """What comes round, with the day it was last done and the day it is due; nothing where no tap water is used."""
    if not uses_tap_water(desk):
        return ()
    here = today(desk.now)
    rows = [DueRow(say("web.water.due_chlorine"), False)]
    return (*rows, *(DueRow(_due_words(one, one.is_due(here)), one.is_due(here)) for one in due(desk)))


def _due_words(one: Due, is_due: bool) -> str:
    what = say(f"web.water.due.{one.what}")
    whose = say("web.water.due_by_unit" if one.by_unit else "web.water.due_by_list", days=one.every)
    if one.last is None or one.on is None:
        return say("web.water.due_unknown", what=what, whose=whose)
    key = "web.water.due_since" if is_due else "web.water.due_on"
    return say(key, what=what, last=day(one.last.isoformat()), on=day(one.on.isoformat()), whose=whose)
