"""Tonight's plan: what goes in, the figures shown, agreed or what can be done where it can't be."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from ebbwell.cli.walk.prompt import Again, Back, Later, Walk, in_a_row
from ebbwell.cli.words import findings_lines, wrap
from ebbwell.core.errors import EbbwellError, InputError
from ebbwell.core.numbers import parse_decimal, plain
from ebbwell.core.text import say
from ebbwell.core.typed_times import past_time
from ebbwell.core.units import convert
from ebbwell.deeds import plan
from ebbwell.deeds.weight_gain import gain_findings
from ebbwell.papers.words import figure_value, figure_words

WITH_UNIT = re.compile(r"([0-9.,]+)\s*([A-Za-z]+)")
"""A number with its unit behind it."""

SHOWN_FIGURES = (
    "removal_volume",
    "cap_volume",
    "fits_tonight",
    "remains_after",
    "removal_rate",
    "removal_rate_per_kg",
    "weight_after_expected",
    "heparin_volume",
    "heparin_rate_ml",
    "syringe_fill",
    "acid_needed",
    "bags_needed",
    "bag_fluid_lasts",
    "finish_at",
    "heparin_stop_at",
)
"""Figures shown before the plan is agreed; each setting is then typed off the machine."""


@in_a_row("walk.row.plan")
def give_plan(walk: Walk) -> bool:
    """Ask what goes in and when blood is expected, show the figures, and have them agreed. Whether they were."""
    typed = _amounts(walk)
    weight = walk.desk().treatment.at_slot("measured", "weight_before", "")
    if any(getattr(f.body, "not_measured", "") for f in weight):
        typed["removal_by_unit"] = _litres(walk, say("walk.plan_by_unit"), about="why.plan_by_unit")
    by_unit = str(typed.get("removal_by_unit", ""))
    inputs: dict[str, Any] = typed
    while True:
        try:
            worked = _worked(walk, inputs, by_unit)
        except EbbwellError as why:
            walk.tell_error(why)
            return False
        if not worked.refused or plan.advised(walk.desk(), plan.PLAN_STEP):
            break
        if not _plan_refused(walk):
            return False
    if not walk.yes(say("walk.plan_agree")):
        return False
    older = tuple(f.id for f in walk.desk().treatment.of("plan"))
    return walk.do(plan.agree_plan, shown=True, instead_of=older, **inputs) is not None


def _worked(walk: Walk, inputs: Mapping[str, Any], by_unit: str) -> plan.Draughted:
    """Tonight's figures worked out from what was typed, and shown."""
    begins, leaves = inputs["start_at"], inputs["carer_leaves"]
    worked = plan.draught(
        walk.desk(),
        drink=parse_decimal(str(inputs["drink"])),
        saline=parse_decimal(str(inputs["saline"])),
        losses=parse_decimal(str(inputs["losses"])),
        start_at=begins if isinstance(begins, datetime) else None,
        carer_leaves=leaves if isinstance(leaves, datetime) else None,
        removal_by_unit=parse_decimal(by_unit) if by_unit else None,
    )
    for name in SHOWN_FIGURES:
        if name in worked.figures:
            text = f"{figure_words(name)}: {figure_value(worked.figures[name])}"
            walk.session.print(*wrap(text, first="  "))
    walk.session.print(*findings_lines((*worked.findings, *gain_findings(walk.desk())), walk.desk()))
    return worked


def _plan_refused(walk: Walk) -> bool:
    """What can be done about a plan that can't be agreed. Whether the same figures are to be worked out again."""
    from ebbwell.cli.walk.asides import advice, call
    from ebbwell.cli.walk.prescribe import phone_order

    walk.say("walk.plan_refused")
    options = [
        (key, say(f"walk.plan_refused_{key}")) for key in ("call", "allowed", "line", "amounts", "later")
    ]
    while True:
        chosen = walk.pick(say("walk.what_now"), options)
        if chosen == "call":
            call(walk)
            continue
        if chosen == "allowed":
            advice(walk, about=plan.PLAN_STEP)
            return True
        if chosen == "line":
            phone_order(walk)
            raise Again
        if chosen == "later":
            raise Later
        return False


def _amounts(walk: Walk) -> dict[str, str | datetime | None]:
    """What will be drunk, given and lost [L], the expected first blood, when the carer has to leave; ``back`` goes to
    the one before.
    """
    names = ("drink", "saline", "losses", "start_at", "carer_leaves")
    found: dict[str, str | datetime | None] = {}
    place = 0
    while place < len(names):
        name = names[place]
        try:
            if name == "start_at":
                found[name] = _start(walk, say("walk.plan_start"))
            elif name == "carer_leaves":
                found[name] = _leaves(walk, found["start_at"])
            else:
                found[name] = _litres(walk, say(f"walk.plan_{name}"), about=f"why.plan_{name}")
        except Back:
            if place == 0:
                raise
            place -= 1
        else:
            place += 1
    return found


def _litres(walk: Walk, question: str, *, about: str) -> str:
    """A volume in litres as text, typed with or without its unit; said back where it was converted."""
    while True:
        typed = walk.ask(question, about=about)
        try:
            value = read_litres(typed)
            if not 0 <= value <= Decimal(8):
                raise InputError("enter.litres", typed=typed)
        except EbbwellError as why:
            walk.tell_error(why)
            continue
        if plain(value) != typed.strip():
            walk.say("walk.taken", value=f"{plain(value)} L")
        return plain(value)


def read_litres(typed: str) -> Decimal:
    """A volume [L] from a number with or without a unit: ``0.2``, ``200 mL``. Raises InputError and UnitError."""
    found = WITH_UNIT.fullmatch(typed.strip())
    if found is None:
        return parse_decimal(typed)
    return convert(parse_decimal(found[1]), found[2], "L").normalize() + 0


def _start(walk: Walk, question: str) -> datetime | None:
    """The expected first blood: a time of day still to come, or now for an empty line."""
    now = walk.desk().now
    while True:
        typed = walk.ask(question, empty=True, about="why.plan_start")
        if not typed:
            return None
        try:
            at = past_time(typed, now.at, ZoneInfo(now.zone))
        except InputError as why:
            walk.tell_error(why)
            continue
        return at if now.at - at < timedelta(hours=12) and at >= now.at else _ahead(at, now.at)


def _ahead(at: datetime, now: datetime) -> datetime:
    """The typed time of day when it comes next; a time within the last hour stays where it is."""
    return at if now - at < timedelta(hours=1) else at + timedelta(days=1)


def _leaves(walk: Walk, begins: str | datetime | None) -> datetime | None:
    """When the carer has to leave: the first such time of day after first blood, or None for an empty line."""
    now = walk.desk().now
    blood = begins if isinstance(begins, datetime) else now.at
    while True:
        typed = walk.ask(say("walk.plan_leaves"), empty=True, about="why.plan_leaves")
        if not typed:
            return None
        try:
            return past_time(typed, blood + timedelta(days=1), ZoneInfo(now.zone))
        except InputError as why:
            walk.tell_error(why)
