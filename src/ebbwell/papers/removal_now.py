"""Fluid removal of a running night: what is off and left, the even rate that would finish it, what went in so far.

The rate is a figure to hold against the cap, not one to set. Source: fluids 4.1 (the rate creeps up after pauses).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from ebbwell.core.clock import elapsed
from ebbwell.core.findings import Finding, Grade
from ebbwell.core.numbers import plain
from ebbwell.core.quantity import Quantity
from ebbwell.core.text import say
from ebbwell.core.worked import Worked
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.readings_due import planned_end
from ebbwell.journal.kinds.orders import Plan
from ebbwell.papers.night_now import night_clock, ordered_line
from ebbwell.papers.words import named, span
from ebbwell.procedure.evidence import number_in
from ebbwell.rulebook.evaluate import evaluate
from ebbwell.science.catalogue import shown, work
from ebbwell.state.night import Phase, paused_for
from ebbwell.state.night_fluid import last_reading, went_in

RULE = "finish_over_cap"
FACT = "rate_to_finish_per_kg"
EXPECTED = ("drink", "saline")
"""What the plan counts on going in, and what is written down as it goes in."""


@dataclass(frozen=True)
class RemovalNow:
    """at: of the reading that it rests on. removed, total, left [L]; left is 0 where all of it is off.

    hours: of removal still to come, counted from that reading; None without an end. rate [mL/h], per_kg [mL/kg/h]: to
    finish evenly; without a value where no time is left. least_per_kg: the same by the last digit of the reading, which
    may stand for a little more. fits: what the cap lets off until the end [L].
    """

    at: datetime
    removed: Decimal
    total: Decimal
    left: Decimal
    hours: timedelta | None
    rate: Worked
    per_kg: Worked
    least_per_kg: Worked
    fits: Worked


def removal_now(desk: Desk) -> RemovalNow | None:
    """How removal stands by the newest reading of it; None without one, and where no total was shown."""
    treatment = desk.treatment
    reading, total = (
        last_reading(treatment, "fluid_removed"),
        number_in(ordered_line(desk, "fluid_to_remove")),
    )
    if desk.phase not in (Phase.RUNNING, Phase.PAUSED) or reading is None or total is None:
        return None
    at, removed = reading
    end = planned_end(desk)
    left = max(Decimal(0), total - removed)
    hours = None
    if end is not None:
        hours = elapsed(at, end) - (paused_for(treatment, desk.now.at) - paused_for(treatment, at))
    exact = None if hours is None else Decimal(round(hours.total_seconds())) / 3600
    digit = Decimal(1).scaleb(int(removed.as_tuple().exponent))
    weight, cap = (number_in(ordered_line(desk, name)) for name in ("target_weight", "removal_cap"))
    rate = work("rate_to_finish", {"remaining_l": left, "remaining_h": exact})
    least = work("rate_to_finish", {"remaining_l": max(Decimal(0), left - digit), "remaining_h": exact})
    return RemovalNow(
        at=at,
        removed=removed,
        total=total,
        left=left,
        hours=hours,
        rate=rate,
        per_kg=work("removal_rate_per_kg", {"rate_ml_h": rate.value, "weight_kg": weight}),
        least_per_kg=work("removal_rate_per_kg", {"rate_ml_h": least.value, "weight_kg": weight}),
        fits=work("cap_volume", {"cap_ml_kg_h": cap, "target_weight_kg": weight, "hours_h": exact}),
    )


def removal_words(desk: Desk) -> tuple[str, ...]:
    """What the night page says of it, a sentence each; () where nothing is known."""
    found = removal_now(desk)
    said = []
    if found is not None and found.left:
        cap = ordered_line(desk, "removal_cap")
        params = {"at": night_clock(desk, found.at), "left": plain(found.left), "total": plain(found.total)}
        if found.hours is None or found.rate.value is None:
            said.append(say("web.night.removal.no_time", **params))
        elif found.per_kg.value is None or not cap:
            said.append(
                say("web.night.removal.rate", length=span(found.hours), rate=shown(found.rate), **params)
            )
        else:
            most = number_in(cap)
            said.append(
                say(
                    "web.night.removal.finish",
                    length=span(found.hours),
                    rate=shown(found.rate),
                    per_kg=shown(found.per_kg, most),
                    cap=f"{plain(most)} mL/kg/h" if most is not None else cap,
                    **params,
                )
            )
    elif found is not None:
        said.append(
            say("web.night.removal.all_off", at=night_clock(desk, found.at), total=plain(found.total))
        )
    return (*said, *_in_words(desk))


def _in_words(desk: Desk) -> tuple[str, ...]:
    """What was written down as gone in beside what the plan counted on, where the two differ."""
    came_in = went_in(desk.treatment)
    if came_in is None:
        return (say("web.night.removal.in_unknown"),)
    planned = _planned(desk)
    found = []
    for name in EXPECTED:
        what = named("given", name)
        given, counted = came_in.litres.get(name), planned.get(name)
        if given and given != counted:
            found.append(
                say(
                    "web.night.removal.went_in",
                    what=what[:1].upper() + what[1:],
                    given=plain(given),
                    counted=plain(counted) if counted is not None else say("web.night.not_known").lower(),
                )
            )
    return tuple(found)


def _planned(desk: Desk) -> Mapping[str, Decimal]:
    fact = desk.treatment.last("plan")
    given = fact.body.given if fact is not None and isinstance(fact.body, Plan) else {}
    numbers = {name: number_in(given.get(name, "")) for name in EXPECTED}
    return {name: number for name, number in numbers.items() if number is not None}


def finish_findings(desk: Desk) -> tuple[Finding, ...]:
    """What the rulebook says of the rate that would finish it, where that is over the cap.

    A reading may stand for a little more than its last digit says, so it has to be over by more than that.
    """
    found, cap = removal_now(desk), number_in(ordered_line(desk, "removal_cap"))
    least, told = (None, None) if found is None else (found.least_per_kg.value, found.per_kg)
    if least is None or told is None or cap is None or least <= cap:
        return ()
    facts = {
        FACT: Quantity(number_in(shown(told, cap)) or least, "mL/kg/h"),
        "removal_cap@prescribed": Quantity(cap, "mL/kg/h"),
    }
    return tuple(f for f in evaluate(desk.scene.rulebook, facts) if f.grade is Grade.CARE and f.rule == RULE)
