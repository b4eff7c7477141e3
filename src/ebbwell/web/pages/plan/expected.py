"""What is expected of tonight, typed with the plan, and the plan worked out from it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from functools import partial
from typing import TypeVar
from zoneinfo import ZoneInfo

from ebbwell.core.clock import Moment, elapsed
from ebbwell.core.errors import EbbwellError, InputError
from ebbwell.core.numbers import parse_decimal
from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.plan import Draughted, draught
from ebbwell.journal.kinds.orders import Plan
from ebbwell.papers.spoken import error_words
from ebbwell.web.times import coming_time
from ebbwell.web.visit import Trouble

T = TypeVar("T")

AMOUNTS = ("drink", "saline", "losses", "removal_by_unit")
"""Litres that are typed with the plan. Source: practice:a4 (T15)."""

MOST = Decimal(8)
"""Litres; more is a slip. Source: practice:a0, as the deed refuses it."""


FAR = timedelta(hours=14)
"""How far ahead first blood can be planned; a time that was missed by a few hours comes later than that. Own choice."""


@dataclass(frozen=True)
class Expected:
    """typed: field to text as typed. litres: those that can be read. start_at: UTC instant of expected first blood.

    carer_leaves: UTC instant at which the carer has to go: the first such time after first blood.
    """

    typed: Mapping[str, str]
    litres: Mapping[str, Decimal] = field(default_factory=dict)
    start_at: datetime | None = None
    carer_leaves: datetime | None = None
    troubles: tuple[Trouble, ...] = ()

    def worked(self, desk: Desk) -> Draughted:
        """Tonight's plan from it, not agreed and not written. Raises Refused without a prescription in force."""
        return draught(
            desk,
            drink=self.litres.get("drink"),
            saline=self.litres.get("saline", Decimal(0)),
            losses=self.litres.get("losses", Decimal(0)),
            start_at=self.start_at,
            removal_by_unit=self.litres.get("removal_by_unit"),
            carer_leaves=self.carer_leaves,
        )


def read(form: Mapping[str, str], desk: Desk) -> Expected:
    """What was typed. Each field that can't be read is a trouble. The start is now where the field is empty.

    start_at: an instant that the page carries on, so that now doesn't move between looking and agreeing.
    """
    typed = {name: form.get(name, "") for name in (*AMOUNTS, "start", "leaves")}
    litres: dict[str, Decimal] = {}
    troubles: list[Trouble] = []
    for name in AMOUNTS:
        if typed[name].strip():
            value = _read(troubles, name, partial(_litres, typed[name]))
            if value is not None:
                litres[name] = value
        elif name != "removal_by_unit":
            troubles.append(Trouble(say(f"web.plan.need.{name}"), name))
    start = _read(troubles, "start", partial(_start, typed["start"], desk.now))
    begins = start or carried(form) or desk.now.at
    after = replace(desk.now, at=begins + timedelta(hours=1))
    leaves = _read(troubles, "leaves", partial(coming_time, typed["leaves"], after))
    return Expected(typed, litres, begins, leaves, tuple(troubles))


def _read(troubles: list[Trouble], name: str, read: Callable[[], T]) -> T | None:
    """What a field says; None, with a trouble beside it, where it can't be read."""
    try:
        return read()
    except EbbwellError as why:
        label = say(f"web.plan.field.{name}").rstrip("?")
        troubles.append(Trouble(f"{label}: {error_words(why)}", name))
        return None


def _litres(typed: str) -> Decimal:
    value = parse_decimal(typed, places=2)
    if not 0 <= value <= MOST:
        raise InputError("enter.litres", typed=typed)
    return value


def _start(typed: str, now: Moment) -> datetime | None:
    """When blood will start. Refuses a time that comes only far ahead: it is one that has been, or a slip."""
    at = coming_time(typed, now)
    if at is not None and elapsed(now.at, at) > FAR:
        hours = round(elapsed(now.at, at).total_seconds() / 3600)
        raise InputError("web.plan.start_far", typed=typed.strip(), hours=hours)
    return at


def carried(form: Mapping[str, str], name: str = "start_at") -> datetime | None:
    """The instant that a page carried on; None for none, or for what isn't one."""
    try:
        at = datetime.fromisoformat(form.get(name, ""))
    except ValueError:
        return None
    return at.astimezone(UTC) if at.tzinfo is not None else None


def kept(plan: Plan, desk: Desk) -> Expected:
    """What a plan was agreed with. A plan of an older program doesn't say; then nothing of it is known."""
    given = plan.given
    litres = {name: Decimal(given[name].split()[0]) for name in AMOUNTS if name in given}
    typed = {name: given[name].split()[0] for name in AMOUNTS if name in given}
    at = carried(given)
    if at is not None and at > desk.now.at:
        typed["start"] = at.astimezone(ZoneInfo(desk.now.zone)).strftime("%H:%M")
    leaves = carried(given, "carer_leaves")
    if leaves is not None:
        typed["leaves"] = leaves.astimezone(ZoneInfo(desk.now.zone)).strftime("%H:%M")
    return Expected(typed, litres, at, leaves)
