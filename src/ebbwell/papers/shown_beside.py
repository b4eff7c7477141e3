"""What stands beside a step for the hands at work: figures and limits of the order, the last cleaning on record."""

from __future__ import annotations

from collections.abc import Mapping
from zoneinfo import ZoneInfo

from ebbwell.core.clock import elapsed
from ebbwell.core.numbers import plain
from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.plan import draught
from ebbwell.journal.kinds.orders import Plan
from ebbwell.papers.describe import describe
from ebbwell.papers.night_now import night_clock
from ebbwell.papers.spoken import age
from ebbwell.papers.words import day, figure_words, line_words
from ebbwell.procedure.evidence import number_in, plan_void
from ebbwell.procedure.model import Step
from ebbwell.rulebook.model import Rulebook

CLEANING = "last_cleaning"
PH = "rule:ph_outside"


def shown_beside(desk: Desk, step: Step) -> list[str]:
    """Lines for a step, in its order. A figure is left out while the order is not in force or lacks what it needs.

    Source: practice:b (S7: last disinfection and hours ago; S18d: the syringe is filled as the order says).
    """
    out = [_last_cleaning(desk)] if CLEANING in step.shows else []
    out += [ph_window(desk.rulebook)] if PH in step.bounds else []
    order = desk.scene.order
    if order is None or order.waiting:
        return out
    lines = {line.id for line in desk.rulebook.lines()}
    out += [line_words(name, order.lines[name], desk.rulebook) for name in step.shows if name in order.lines]
    names = [name for name in step.shows if name != CLEANING and name not in lines]
    figures = _figures(desk) if names else {}
    known = [name for name in names if number_in(figures.get(name, "")) is not None]
    return [*out, *(f"{figure_words(name)}: {figures[name]}" for name in known)]


def ph_window(book: Rulebook) -> str:
    """The pH that the rulebook lets the fluid have, the unit's own limits where it set some. Source: fluids:F4."""
    low, high = (plain(book.limit(name).value) for name in ("ph_low", "ph_high"))
    return say("fluid.ph_window", low=low, high=high)


def _figures(desk: Desk) -> Mapping[str, str]:
    """The figures of the plan that was agreed and holds; worked out anew where there is none."""
    plan = desk.treatment.last("plan")
    if plan is not None and isinstance(plan.body, Plan) and not plan_void(desk.scene, plan.body):
        return plan.body.figures
    return draught(desk, drink=None).figures


def _last_cleaning(desk: Desk) -> str:
    held = [*desk.standing.of("disinfected"), *desk.treatment.of("disinfected")]
    last = max(held, key=lambda fact: fact.at, default=None)
    if last is None:
        return say("web.setup.no_cleaning")
    minutes = elapsed(last.at, desk.now.at).total_seconds() / 60
    local = last.at.astimezone(ZoneInfo(desk.now.zone)).date()
    when = f"{day(local.isoformat())} {night_clock(desk, last.at)}"
    return say("web.setup.last_cleaning", what=describe(last.body), at=when, age=age(minutes))
