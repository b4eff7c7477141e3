"""How far a treatment has come, read from its facts."""

from __future__ import annotations

from datetime import datetime, timedelta
from enum import Enum

from ebbwell.core.clock import elapsed
from ebbwell.journal.kinds.house import HandedOver
from ebbwell.journal.kinds.night import CameOff, Closed, Reading
from ebbwell.state.facts import Fact, Facts, instant


class Phase(Enum):
    """Where the night stands."""

    NONE = "none"
    SETTING_UP = "setting_up"
    RUNNING = "running"
    PAUSED = "paused"
    STOPPING = "stopping"
    OFF = "off"
    SAFE = "safe"
    CLOSED = "closed"
    CALLED_OFF = "called_off"


ON_MACHINE = (Phase.RUNNING, Phase.PAUSED)
"""Phases of a night that goes on: blood runs, or is paused."""


def phase(treatment: Facts) -> Phase:
    """Where the night stands; what has happened outranks what should have."""
    closed = treatment.last("closed")
    if closed is not None:
        called_off = isinstance(closed.body, Closed) and closed.body.called_off
        return Phase.CALLED_OFF if called_off else Phase.CLOSED
    if treatment.of("safe"):
        return Phase.SAFE
    if treatment.of("came_off"):
        return Phase.OFF
    if first_blood(treatment) is not None:
        if _stopped(treatment):
            return Phase.STOPPING
        return Phase.PAUSED if any(back is None for _, back in pauses(treatment)) else Phase.RUNNING
    if treatment.of("stop") or treatment.of("not_tonight"):
        return Phase.STOPPING
    return Phase.SETTING_UP if treatment.of("pinned") else Phase.NONE


def _stopped(treatment: Facts) -> bool:
    """Whether a stop was noted and nobody said later that blood runs on."""
    stop, on = ([(f.at, f.id) for f in treatment.of(kind)] for kind in ("stop", "on"))
    return bool(stop) and (not on or max(on) < max(stop))


def stop_noted(treatment: Facts) -> datetime | None:
    """When the stop was noted that the pump's stop may be taken for.

    None where blood ran on, and where a later row has a blood flow.
    """
    start, stops = first_blood(treatment), [f.at for f in treatment.of("stop")]
    if start is None or not _stopped(treatment) or max(stops) < start:
        return None
    later = [f.body for f in treatment.of("reading") if f.at > max(stops)]
    ran = any(isinstance(row, Reading) and "blood_flow" in row.values for row in later)
    return None if ran else max(stops)


def first_blood(treatment: Facts) -> datetime | None:
    """When blood first ran, by the earliest entry that says so."""
    started = [f.at for kind in ("connected", "already_running") for f in treatment.of(kind)]
    return min(started, default=None)


def start_known(treatment: Facts) -> bool:
    """Whether the record knows when blood began to run; False where it was put in later and nobody knew."""
    fact = ran_from(treatment)
    return fact is not None and not getattr(fact.body, "start_not_known", False)


def ran_from(treatment: Facts) -> Fact | None:
    """The entry that says blood ran, or None."""
    facts = treatment.of("connected") + treatment.of("already_running")
    return min(facts, key=lambda fact: fact.at, default=None)


def pump_stopped(treatment: Facts) -> datetime | None:
    """When the blood pump stopped for good, as recorded at coming off."""
    fact = treatment.last("came_off")
    if fact is None or not isinstance(fact.body, CameOff) or "pump_stopped" not in fact.body.times:
        return None
    return instant(fact.body.times["pump_stopped"])


def pauses(treatment: Facts) -> list[tuple[datetime, datetime | None]]:
    """Each time off and when it was on again; None while still off."""
    ons = sorted(f.at for f in treatment.of("on"))
    out: list[tuple[datetime, datetime | None]] = []
    for fact in sorted(treatment.of("off"), key=lambda f: f.at):
        back = next((at for at in ons if at >= fact.at), None)
        if back is not None:
            ons.remove(back)
        out.append((fact.at, back))
    return out


def run_time(treatment: Facts) -> timedelta | None:
    """Time that blood ran: from first blood to pump stop, less the pauses. None while one end isn't known, or where the
    end on record lies before the start.

    Counted in UTC. Source: examples:E18.1.
    """
    start, end = first_blood(treatment), pump_stopped(treatment)
    if start is None or end is None or end < start or not start_known(treatment):
        return None
    return elapsed(start, end) - paused_for(treatment, end)


def paused_for(treatment: Facts, until: datetime) -> timedelta:
    """Time off so far, which is no treatment time. Counted in UTC. Source: practice:section c (times)."""
    return sum((elapsed(a, min(b or until, until)) for a, b in pauses(treatment) if a < until), timedelta())


def ran_so_far(treatment: Facts, now: datetime) -> timedelta | None:
    """Time that blood has run up to now, less the time off; None before first blood. After pump stop as ``run_time``."""
    start = first_blood(treatment)
    if start is None:
        return None
    end = min(pump_stopped(treatment) or now, now)
    return elapsed(start, end) - paused_for(treatment, end)


def holder(treatment: Facts) -> tuple[str, int] | None:
    """The chain that holds this treatment, and the place in it after which marks count.

    A store takes a treatment over by an entry; marks made before it, or elsewhere, meet no hold point after it.
    None when it isn't open, or when two stores both say they took it over.
    """
    takeovers = [
        f for f in treatment.of("handed_over") if isinstance(f.body, HandedOver) and f.body.stage == "store"
    ]
    if takeovers:
        writers = {fact.writer for fact in takeovers}
        if len(writers) > 1:
            return None
        return takeovers[0].writer, max(fact.seq for fact in takeovers)
    pinned = treatment.of("pinned")
    if len({fact.writer for fact in pinned}) != 1:
        return None
    return pinned[0].writer, 0


def carer_in_charge(treatment: Facts) -> str | None:
    """Who has the night: the last person who accepted it, else whoever opened it."""
    accepted = [
        f
        for f in treatment.of("handed_over")
        if isinstance(f.body, HandedOver) and f.body.stage == "accepted"
    ]
    if accepted:
        return accepted[-1].by
    pinned = treatment.of("pinned")
    return pinned[0].by if pinned else None
