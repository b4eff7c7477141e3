"""Acid and dry bicarbonate of a running night: what is left by the sums, by the hour, and when each runs dry.

Arithmetic on what was measured before and the dialysate flow as it was read; the can itself goes before it.
Source: fluids 2.2.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from ebbwell.core.clock import elapsed
from ebbwell.core.numbers import plain
from ebbwell.core.text import say
from ebbwell.core.worked import Worked
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.marks import Happened, Measured
from ebbwell.journal.kinds.night import Reading
from ebbwell.papers.night_now import night_clock, ordered_line, times_of
from ebbwell.papers.words import named, span
from ebbwell.procedure.evidence import number_in
from ebbwell.science.catalogue import shown, work
from ebbwell.state.facts import Fact, agreed
from ebbwell.state.labels import liquid_share
from ebbwell.state.night import ON_MACHINE, first_blood, pauses, start_known
from ebbwell.state.night_fluid import decimal_of

FLOW = "dialysate_flow"
ACID = "acid_left"
POWDER = "bicarbonate_powder"
LIQUID = "bicarbonate_liquid"
CHANGED = "concentrate_changed"
HOUR = timedelta(hours=1)
MOST_HOURS = 14
"""No treatment is counted further than this. Source: the range of running hours in science.dialysate."""

Flows = Sequence[tuple[datetime, Decimal]]


@dataclass(frozen=True)
class Container:
    """One concentrate. quantity: ``acid_left``, ``bicarbonate_liquid`` [L] or ``bicarbonate_powder`` [g]. left: now;
    dry_at: when it runs dry at the flow last read, None where no time can be worked out. dry: whether it has run dry.
    changed: when it was changed without a new measurement.
    """

    quantity: str
    left: Worked | None
    dry_at: datetime | None
    dry: bool = False
    changed: datetime | None = None


@dataclass(frozen=True)
class ConcentratesNow:
    """flow [mL/min]: as last read, at ``read_at``; as ordered where that is None. by_hour: full hours after first blood
    that are still to come, with what is then left of each container, in their order.
    """

    flow: Decimal
    read_at: datetime | None
    containers: tuple[Container, ...]
    by_hour: tuple[tuple[datetime, tuple[str, ...]], ...]


def concentrates_now(desk: Desk) -> ConcentratesNow | None:
    """How both stand; None without running blood, a known start, a flow, and while the clock is not trusted.

    The fluid counts as running from first blood on, in time off too, so that it is never counted as more than there is.
    """
    times = times_of(desk)
    if times is None or times.trusted is False or desk.phase not in ON_MACHINE:
        return None
    flows = _flows(desk) if start_known(desk.treatment) else ()
    if not flows:
        return None
    held = [found for name in (ACID, POWDER, LIQUID) if (found := _base(desk, name)) is not None]
    containers = tuple(_container(desk, fact, flows) for fact in held)
    counted = [fact for fact, one in zip(held, containers, strict=True) if one.left and one.left.value]
    end = min(times.end or times.start, times.start + MOST_HOURS * HOUR)
    hours = (times.start + HOUR * number for number in range(1, MOST_HOURS + 1))
    return ConcentratesNow(
        flows[-1][1],
        flows[-1][0] if len(flows) > 1 else None,
        containers,
        tuple(
            (at, tuple(shown(_left(desk, fact, flows, at)) for fact in counted))
            for at in hours
            if desk.now.at < at < end and counted
        ),
    )


def _flows(desk: Desk) -> Flows:
    """The flow from first blood on: as ordered, then as each reading has it."""
    start, ordered = first_blood(desk.treatment), number_in(ordered_line(desk, FLOW))
    rows = sorted(desk.treatment.of("reading"), key=lambda fact: (fact.at, fact.id))
    read = [
        (fact.at, value)
        for fact in rows
        if isinstance(fact.body, Reading)
        and (value := decimal_of(fact.body.values.get(FLOW, ""))) is not None
        and fact.at <= desk.now.at
    ]
    first = ordered if ordered is not None else read[0][1] if read else None
    return [] if start is None or first is None else [(start, first), *read]


def _base(desk: Desk, quantity: str) -> Fact | None:
    """The measurement that the sum starts from; None where there is none, or two stand."""
    facts = desk.treatment.at_slot("measured", quantity, "")
    one = agreed(facts)
    if one is None or _amount(one) is None:
        return None
    form = {POWDER: "dry", LIQUID: "liquid"}.get(quantity)
    return None if form and ordered_line(desk, "bicarbonate_form") != form else one


def _amount(fact: Fact) -> Decimal | None:
    return decimal_of(fact.body.value) if isinstance(fact.body, Measured) else None


def _container(desk: Desk, fact: Fact, flows: Flows) -> Container:
    quantity = getattr(fact.body, "quantity", "")
    changes = [
        one.at
        for one in desk.treatment.of("happened")
        if isinstance(one.body, Happened) and one.body.what == CHANGED and one.at >= fact.at
    ]
    if changes:
        return Container(quantity, None, None, changed=max(changes))
    left = _left(desk, fact, flows, desk.now.at)
    lasts = _lasts(desk, fact, left, flows[-1][1])
    dry_at = desk.now.at + timedelta(seconds=round(float(lasts.value) * 3600)) if lasts.value else None
    return Container(quantity, left, dry_at, dry=lasts.value is not None and not lasts.value)


def _left(desk: Desk, fact: Fact, flows: Flows, at: datetime) -> Worked:
    """What is left at a moment, stretch by stretch of one flow each; the last flow goes on."""
    amount, since = _amount(fact), max(fact.at, flows[0][0])
    draw = desk.rulebook.limit("acid_start_up").value if fact.at <= flows[0][0] else Decimal(0)
    found = _used(desk, fact, {"amount": amount, "draw": draw, "flow": flows[0][1], "hours": Decimal(0)})
    ends = [begins for begins, _ in flows[1:]]
    for (begins, flow), until in zip(flows, [*ends, at], strict=True):
        run = elapsed(max(begins, since), max(min(until, at), since))
        if run > timedelta():
            hours = Decimal(round(run.total_seconds())) / 3600
            found = _used(
                desk, fact, {"amount": found.value, "draw": Decimal(0), "flow": flow, "hours": hours}
            )
    return found


def _used(desk: Desk, fact: Fact, of: Mapping[str, Decimal | None]) -> Worked:
    rests = {"dialysate_flow_ml_min": of["flow"], "running_h": of["hours"]}
    if getattr(fact.body, "quantity", "") == POWDER:
        mixed = number_in(ordered_line(desk, "bicarbonate_mixed"))
        rests |= {"powder_g": of["amount"], "bicarbonate_mixed_mmol_l": mixed}
        return work("bicarbonate_powder_left", rests)
    parts = number_in(ordered_line(desk, "acid_parts"))
    if getattr(fact.body, "quantity", "") == LIQUID:
        mix = {"acid_parts": parts, "bicarbonate_parts": _share(desk), "start_up_l": of["draw"]}
        return work("bicarbonate_liquid_left", {**rests, "bicarbonate_l": of["amount"], **mix})
    return work("acid_left", {**rests, "acid_l": of["amount"], "acid_parts": parts, "start_up_l": of["draw"]})


def _lasts(desk: Desk, fact: Fact, left: Worked, flow: Decimal) -> Worked:
    """How long what is left lasts; of powder only the share that dissolves at strength."""
    if getattr(fact.body, "quantity", "") == LIQUID:
        given = {
            "bicarbonate_l": left.value,
            "acid_parts": number_in(ordered_line(desk, "acid_parts")),
            "bicarbonate_parts": _share(desk),
            "dialysate_flow_ml_min": flow,
        }
        return work("bicarbonate_liquid_runs_dry_after", given)
    if getattr(fact.body, "quantity", "") != POWDER:
        parts = number_in(ordered_line(desk, "acid_parts"))
        given = {"acid_l": left.value, "acid_parts": parts, "dialysate_flow_ml_min": flow}
        return work("acid_runs_dry_after", given)
    whole = _amount(fact) or Decimal(0)
    last = whole * (100 - desk.rulebook.limit("bicarbonate_usable").value) / 100
    usable = None if left.value is None else max(Decimal(0), left.value - last)
    mixed = number_in(ordered_line(desk, "bicarbonate_mixed"))
    given = {"powder_g": usable, "bicarbonate_mixed_mmol_l": mixed, "dialysate_flow_ml_min": flow}
    return work("bicarbonate_runs_dry_after", given)


def _share(desk: Desk) -> Decimal | None:
    """Parts of liquid bicarbonate for each part of acid, by its label or its family."""
    order = desk.scene.order
    found = liquid_share(desk.standing, order.lines) if order is not None else None
    return found[0] if found is not None else None


def concentrate_lines(desk: Desk, found: ConcentratesNow | None) -> tuple[str, ...]:
    """What the night page says of it, a sentence or two each; () where nothing is known."""
    if found is None or not found.containers:
        return ()
    flow = plain(found.flow)
    said = [say("concentrates.now.ordered", flow=flow)]
    if found.read_at is not None:
        said = [say("concentrates.now.read", flow=flow, at=night_clock(desk, found.read_at))]
    said += [_words(desk, one) for one in found.containers]
    if any(one.quantity == POWDER and one.left is not None for one in found.containers):
        usable = desk.rulebook.limit("bicarbonate_usable").value
        said.append(say("concentrates.now.last_share", percent=plain(100 - usable)))
    if pauses(desk.treatment):
        said.append(say("concentrates.now.time_off"))
    return (*said, say("concentrates.now.sum"))


def _words(desk: Desk, one: Container) -> str:
    what = named("concentrates.now", one.quantity)
    if one.left is None:
        at = night_clock(desk, one.changed) if one.changed is not None else ""
        return say("concentrates.now.changed", what=what, at=at)
    said = say("concentrates.now.left", what=what, left=shown(one.left))
    if one.dry_at is None:
        return f"{said} {say('concentrates.now.none' if one.dry else 'concentrates.now.no_time')}"
    at, times = night_clock(desk, one.dry_at), times_of(desk)
    end = times.end if times is not None else None
    if end is None:
        return f"{said} {say('concentrates.now.dry', at=at)}"
    apart = elapsed(one.dry_at, end)
    key = "concentrates.now.dry_before" if apart > timedelta() else "concentrates.now.dry_after"
    return f"{said} {say(key, at=at, length=span(abs(apart)))}"


def concentrate_hours(desk: Desk, found: ConcentratesNow | None) -> tuple[str, ...]:
    """What is left at each full hour to come, if the flow stays as last read: ``01:00: 3.20 L, 520 g``."""
    rows = found.by_hour if found is not None else ()
    return tuple(f"{night_clock(desk, at)}: {', '.join(left)}" for at, left in rows)
