"""That a plan asked for more than the clinic's cap lets off, and by how much: for the sheet, beside who allowed it."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal, InvalidOperation

from ebbwell.core.numbers import plain
from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.orders import Plan
from ebbwell.papers.words import figure_value

OVER_CAP = "removal_over_cap"


def over_cap(desk: Desk) -> Iterator[str]:
    """One line for a plan that was agreed over the cap [mL/kg/h]: what it asked for, the cap, and the litres or rate
    over it. A plan worked out from a weight holds no more than the cap lets off, and the line says so; one with
    the unit's own litres holds all of them.

    Figures are those kept with the plan. Source: practice:e (H26), fluids 4.1.
    """
    for fact in desk.treatment.of("plan"):
        plan = fact.body
        if isinstance(plan, Plan) and OVER_CAP in plan.findings:
            yield _words(desk, plan)


def _words(desk: Desk, plan: Plan) -> str:
    figures, order = plan.figures, desk.scene.order
    cap = order.lines.get("removal_cap", "") if order is not None else ""
    unit = desk.rulebook.line("removal_cap").unit
    if "removal_by_unit" in plan.given:
        rate = _number(figures.get("removal_rate_per_kg", ""))
        if rate is None or not cap:
            return say("odd.over_cap_unknown")
        return say(
            "odd.over_cap_by_unit",
            volume=figure_value(figures.get("fits_tonight", "")),
            rate=f"{_tidy(rate)} {unit}",
            cap=f"{cap} {unit}",
            over=f"{_tidy(rate - Decimal(cap))} {unit}",
        )
    names = ("removal_volume", "cap_volume", "remains_after", "fits_tonight")
    if any(_number(figures.get(name, "")) is None for name in names) or not cap:
        return say("odd.over_cap_unknown")
    volume, most, over, fits = (figure_value(figures[name]) for name in names)
    return say("odd.over_cap", volume=volume, cap=f"{cap} {unit}", most=most, over=over, fits=fits)


def _tidy(value: Decimal) -> str:
    return plain(value.normalize())


def _number(text: str) -> Decimal | None:
    try:
        return Decimal(text.split()[0])
    except (IndexError, InvalidOperation):
        return None
