"""A running night as it stands at one moment: hours done and left, last values with what to compare them with.

For every screen. Hours are hours that really passed; times carry their offset where the clocks change in the night.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal, InvalidOperation
from statistics import median

from ebbwell.core.clock import elapsed, in_step
from ebbwell.core.findings import Finding, Grade
from ebbwell.core.numbers import plain
from ebbwell.core.quantity import Quantity
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.readings_due import planned_end
from ebbwell.journal.kinds.night import AlreadyRunning, Connected, Reading
from ebbwell.papers.words import step_words
from ebbwell.plan.clock_times import clocks_change, local_text
from ebbwell.procedure.evidence import number_in
from ebbwell.procedure.heparin_facts import heparin_by
from ebbwell.procedure.reading_facts import reading_facts, removed_by, venous_before
from ebbwell.rulebook.evaluate import evaluate
from ebbwell.rulebook.own_units import in_own
from ebbwell.state.facts import Fact, agreed_measure
from ebbwell.state.fields import field_order
from ebbwell.state.membrane import NOT_SETTLED, PRESSURE, name_of
from ebbwell.state.night import first_blood, ran_from, ran_so_far
from ebbwell.state.own_past import at_hour

FIRST = ("venous_pressure", "arterial_pressure", "fluid_removed", "systolic")
"""What stands first on the night page. Source: design section 6 (night page)."""

ARM = "next.look_at_arm"
"""The next step of a finding that sends the eyes to the needles."""

STILL_SEEN = ("S25", "S24", "S31", "S27", "S5")
"""Checks that can hurt and can still be looked at while blood runs: air detector, alarm limits, needles and access in
view, leak sensors, chlorine. Sources: practice:b (S5, S24, S25, S27, S31); practice:d."""

OPEN_SYRINGE = "heparin_stop_before_end"

PUMP_COUNTER = "heparin_given"
"""What is read off the heparin pump in a row."""


@dataclass(frozen=True)
class Times:
    """Hours of the night. done, left: time that really passed and is still to come; over: past the end.

    end, heparin_off: UTC instants; None where the order doesn't say. trusted: False where the computer's clock
    jumped since first blood; None where it was started anew since.
    """

    start: datetime
    done: timedelta
    left: timedelta | None
    over: timedelta | None
    end: datetime | None
    heparin_off: datetime | None
    trusted: bool | None
    clocks_change: bool


@dataclass(frozen=True)
class LastValue:
    """The newest value of a quantity. value: as kept, in the unit that the household reads, "" where there is none;
    both blood pressures stand together.

    start: the first one of the night, "" where it is this one. own: lowest and highest of the person's other nights at
    this hour, below zero the one nearer to zero first; nights: how many nights those are. planned: what an even
    rate makes of the plan by then. missing: why it wasn't measured at the last try, later than ``at``; missing_at: when
    that was.
    apart: how far it is from the middle of those nights and that middle, with units, where a rule speaks of it.
    """

    quantity: str
    value: str
    unit: str
    at: datetime | None
    entry: str
    start: str
    own: tuple[str, str] | None
    nights: int
    planned: str
    missing: str
    missing_at: datetime | None
    apart: tuple[str, str] | None = None


@dataclass(frozen=True)
class Unchecked:
    """A check that was open when blood was found running. since: whether it was written down afterwards."""

    step: str
    words: str
    since: bool


def ordered_line(desk: Desk, line: str) -> str:
    """A line or figure as it was shown when the person was connected; else as ordered now; "" for none."""
    for fact in desk.treatment.of("connected"):
        if isinstance(fact.body, Connected) and line in fact.body.shown:
            return fact.body.shown[line]
    order = desk.scene.order
    return order.lines.get(line, "") if order is not None else ""


def times_of(desk: Desk) -> Times | None:
    """Hours done and left; None before first blood. Source: examples:E18.1 (hours counted in UTC)."""
    ran, start = ran_from(desk.treatment), first_blood(desk.treatment)
    done = ran_so_far(desk.treatment, desk.now.at)
    if ran is None or start is None or done is None:
        return None
    end = planned_end(desk)
    left = elapsed(desk.now.at, end) if end is not None else None
    zone = desk.now.zone
    return Times(
        start=start,
        done=done,
        left=left if left is not None and left >= timedelta() else None,
        over=-left if left is not None and left < timedelta() else None,
        end=end,
        heparin_off=_heparin_off(desk, end),
        trusted=in_step(ran.clocked, desk.now),
        clocks_change=clocks_change(start, end or desk.now.at, zone),
    )


def _heparin_off(desk: Desk, end: datetime | None) -> datetime | None:
    before = number_in(ordered_line(desk, OPEN_SYRINGE))
    if end is None or before is None or ordered_line(desk, "anticoagulant") != "heparin":
        return None
    return end - timedelta(minutes=float(before))


def night_clock(desk: Desk, at: datetime) -> str:
    """An instant on the home's clock, with its offset where the clocks changed since first blood."""
    return local_text(at, desk.now.zone, beside=first_blood(desk.treatment) or desk.now.at)


MIXED = "fluid_conductivity"
"""What only a machine that mixes the fluid shows; bags come ready made."""


def reading_fields(desk: Desk) -> tuple[str, ...]:
    """Fields of a reading that the household types, in its order; the heparin pump's only where one was ordered.

    A home with fluid in bags isn't asked for the conductivity of a fluid that nobody mixes.
    """
    known = {quantity.id for quantity in desk.rulebook.quantities()}
    if ordered_line(desk, "anticoagulant") not in ("", "heparin"):
        known -= {PUMP_COUNTER}
    if ordered_line(desk, "fluid_from") == "bags":
        known -= {MIXED}
    return tuple(name for name in field_order(desk.standing) if name in known)


def rows_of(desk: Desk) -> list[Fact]:
    """The readings of the night, oldest first by the time they were taken."""
    return sorted(
        (f for f in desk.treatment.of("reading") if isinstance(f.body, Reading)), key=lambda f: (f.at, f.id)
    )


def last_values(desk: Desk) -> tuple[LastValue, ...]:
    """The last value of each field, those that matter most first."""
    fields = [*FIRST, *(name for name in reading_fields(desk) if name not in FIRST)]
    return tuple(_last(desk, name) for name in fields if name != "diastolic")


def _last(desk: Desk, quantity: str) -> LastValue:
    rows = [(f, said) for f in rows_of(desk) if (said := _said(f, quantity))]
    if quantity == PRESSURE:
        form = membrane_form(desk)
        rows = [(f, said) for f, said in rows if getattr(f.body, "membrane_form", "") == form]
    fact, value = rows[-1] if rows else (None, "")
    at = fact.at if fact is not None else None
    missed = [
        f
        for f in rows_of(desk)
        if isinstance(f.body, Reading) and f.body.missing.get(quantity) and (at is None or f.at > at)
    ]
    own, nights = _own(desk, quantity, at)
    return LastValue(
        quantity=quantity,
        value=_home(desk, quantity, value),
        unit=_home_unit(desk, quantity),
        at=at,
        entry=fact.id if fact is not None else "",
        start=_home(desk, quantity, _start(desk, quantity, rows)),
        own=(_home(desk, quantity, own[0]), _home(desk, quantity, own[1])) if own is not None else None,
        nights=nights,
        planned=_planned(desk, quantity, at) if at is not None else "",
        missing=_missing(missed[-1], quantity) if missed else "",
        missing_at=missed[-1].at if missed else None,
        apart=_apart(desk, quantity, value, at),
    )


def _home_unit(desk: Desk, quantity: str) -> str:
    """The unit that the household reads a quantity in."""
    definition = desk.rulebook.quantity(quantity)
    return in_own(desk.rulebook, definition, Decimal(0))[1]


def _home(desk: Desk, quantity: str, value: str) -> str:
    """A kept value as a number in that unit; text that is no number stays."""
    definition = desk.rulebook.quantity(quantity)
    number = number_in(value)
    if number is None or _home_unit(desk, quantity) == definition.unit:
        return value
    return plain(in_own(desk.rulebook, definition, number)[0])


def _apart(desk: Desk, quantity: str, value: str, at: datetime | None) -> tuple[str, str] | None:
    """What the rule finds that holds a value against the middle of the person's other nights at this hour."""
    own = f"{quantity}@own"
    if at is None:
        return None
    definition = desk.rulebook.quantity(quantity)
    others, number = _own_values(desk, quantity, at), number_in(value)
    if number is None or len(others) < max(definition.own_least, 1):
        return None
    middle = Quantity(Decimal(median(others)), definition.unit)
    facts = {**desk.scene.facts, quantity: Quantity(number, definition.unit), own: middle}
    for finding in evaluate(desk.rulebook, facts, only=[quantity]):
        if finding.grade is Grade.NOTE and desk.rulebook.rule(finding.rule).other == own:
            said = dict(finding.params)
            return said["change"], said["other"]
    return None


def _said(fact: Fact, quantity: str) -> str:
    values = fact.body.values if isinstance(fact.body, Reading) else {}
    if quantity == "systolic":
        both = values.get("systolic", ""), values.get("diastolic", "")
        return "/".join(both) if all(both) else both[0]
    return values.get(quantity, "")


def _missing(fact: Fact, quantity: str) -> str:
    return fact.body.missing[quantity] if isinstance(fact.body, Reading) else ""


def _start(desk: Desk, quantity: str, rows: list[tuple[Fact, str]]) -> str:
    """The first value of the night; of blood pressure the one measured before, which is what the rules go by."""
    if quantity == "systolic":
        before = [_measured(desk, name) for name in ("systolic", "diastolic")]
        if all(before):
            return "/".join(before)
    return rows[0][1] if len(rows) > 1 else ""


def _measured(desk: Desk, quantity: str) -> str:
    body = agreed_measure(desk.treatment.at_slot("measured", quantity, ""))
    return "" if body is None else body.value


def _own_values(desk: Desk, quantity: str, at: datetime | None) -> tuple[Decimal, ...]:
    """The person's other nights at this hour after first blood."""
    start, pinned = first_blood(desk.treatment), desk.treatment.of("pinned")
    if at is None or start is None or not pinned:
        return ()
    minutes = round(elapsed(start, at).total_seconds() / 60)
    name = quantity
    if quantity == PRESSURE:
        form = membrane_form(desk)
        if form == NOT_SETTLED:
            return ()
        name = name_of(form)
    return tuple(at_hour(desk.past, name, minutes, before=pinned[0].at))


def membrane_form(desk: Desk) -> str:
    """The form of the newest pressure across the membrane of the night, as ``state.membrane`` names it."""
    bodies = [f.body for f in rows_of(desk) if _said(f, PRESSURE)]
    return bodies[-1].membrane_form if bodies and isinstance(bodies[-1], Reading) else ""


def _own(desk: Desk, quantity: str, at: datetime | None) -> tuple[tuple[str, str] | None, int]:
    values = _own_values(desk, quantity, at)
    if not values:
        return None, 0
    ends = plain(min(values)), plain(max(values))
    below_zero = desk.rulebook.quantity(quantity).sign == "negative"
    return (ends[::-1] if below_zero else ends), len(values)


def _planned(desk: Desk, quantity: str, at: datetime) -> str:
    """What the plan makes of a figure by then: litres removed, mL of heparin pumped; else ""."""
    if quantity == "fluid_removed":
        removed = removed_by(desk.treatment, at)
        return "" if removed is None else str(removed)
    given = heparin_by(desk.treatment, at) if quantity == "heparin_given" else None
    return "" if given is None else plain(given)


def reading_findings(desk: Desk, rows: Sequence[Fact] | None = None) -> tuple[Finding, ...]:
    """What the rules say of the newest value of each field, each against the one before it; words of stop and care.

    rows: those to go by, oldest first; all of them where none are given. Notes wait for the sheet.
    Source: practice:H31.
    """
    values: dict[str, Decimal] = {}
    before: dict[str, Decimal] = {}
    flows: list[Decimal | None] = []
    removed_at: datetime | None = None
    pumped_at: datetime | None = None
    when = ""
    for fact in rows_of(desk) if rows is None else rows:
        numbers = numbers_of(fact)
        for quantity, number in numbers.items():
            if quantity in values:
                before[quantity] = values[quantity]
            values[quantity] = number
        if "venous_pressure" in numbers:
            flows.append(numbers.get("blood_flow"))
        if "fluid_removed" in numbers:
            removed_at = fact.at
        if "heparin_given" in numbers:
            pumped_at = fact.at
        if "systolic" in numbers and isinstance(fact.body, Reading):
            when = fact.body.when
    known = {quantity.id for quantity in desk.rulebook.quantities()}
    values = {name: value for name, value in values.items() if name in known}
    if not values:
        return ()
    facts = dict(
        reading_facts(
            desk.treatment, desk.standing, values, desk.rulebook, removed_at, when, alone=desk.scene.alone
        )
    )
    facts.pop("venous_pressure@last.at_flow", None)
    facts.pop("heparin_given@expected", None)
    pumped = heparin_by(desk.treatment, pumped_at) if pumped_at is not None else None
    if pumped is not None:
        facts["heparin_given@expected"] = Quantity(pumped, "mL")
    for quantity in values:
        facts.pop(f"{quantity}@last", None)
        if quantity == "venous_pressure" and quantity in before:
            facts.update(venous_before(before[quantity], flows[-1], flows[-2]))
        elif quantity in before:
            facts[f"{quantity}@last"] = Quantity(before[quantity], desk.rulebook.quantity(quantity).unit)
    found = evaluate(desk.scene.rulebook, facts)
    return tuple(f for f in found if f.grade in (Grade.STOP, Grade.CARE))


def numbers_of(fact: Fact) -> Mapping[str, Decimal]:
    """The values of a row that are numbers."""
    found = {}
    for quantity, text in fact.body.values.items() if isinstance(fact.body, Reading) else ():
        try:
            found[quantity] = Decimal(text)
        except InvalidOperation:
            continue
    return found


def unchecked(desk: Desk) -> tuple[str, ...]:
    """The hold points that were open when blood was found running, in words and in the list's order; none on a night
    that went through the gate. Source: design 2, what has happened is taken in, marked, and kept as a finding.
    """
    return tuple(check.words for check in unchecked_steps(desk))


def unchecked_steps(desk: Desk) -> tuple[Unchecked, ...]:
    """The same, step by step: first those that can still be looked at while blood runs and can hurt."""
    found = (fact.body for fact in desk.treatment.of("already_running"))
    held = {step for body in found if isinstance(body, AlreadyRunning) for step in body.open_holds}
    return tuple(
        Unchecked(step, step_words(desk.procedure, step), step in desk.views and not desk.views[step].missing)
        for step in looked_at_first(desk.procedure.ids)
        if step in held
    )


def looked_at_first(steps: Sequence[str]) -> tuple[str, ...]:
    """Steps in their order, ``STILL_SEEN`` before the others."""
    return (*(s for s in STILL_SEEN if s in steps), *(s for s in steps if s not in STILL_SEEN))


def changed_since(desk: Desk, entry: str = "") -> list[Finding]:
    """What connecting rested on and was put right or taken back since, as one finding; none while it all stands.

    entry: id of one entry; then only what rested on it. Source: design 5 (after connecting it is a finding).
    """
    gone = {*desk.treatment.replaced, *desk.standing.replaced}
    gone &= {entry} if entry else gone
    bodies = (fact.body for fact in desk.treatment.of("connected"))
    held = [body.satisfied for body in bodies if isinstance(body, Connected)]
    steps = {step for satisfied in held for step, ids in satisfied.items() if gone & set(ids)}
    named = ", ".join(step for step in desk.procedure.ids if step in steps)
    if not named:
        return []
    return [Finding("changed_after_connect", Grade.STOP, (("steps", named),), ("design",))]
