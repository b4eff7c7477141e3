"""The fluid of one night: what was removed, what went in, what the scale should have said; each volume counted once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal, InvalidOperation

import msgspec

from ebbwell.journal.kinds.marks import Measured
from ebbwell.journal.kinds.night import SYMPTOMS, CameOff, Connected, Event, Given, Reading
from ebbwell.journal.kinds.orders import Plan, Readback
from ebbwell.state.facts import Facts, differ
from ebbwell.state.night import run_time

RINSE_BACK = "rinse_back"
PRIME = "prime_given"

SEATED = ("lying", "sitting", "standing")
"""Readings taken of the person alone. Source: practice:c, C3 and C9."""


@dataclass(frozen=True, slots=True)
class WentIn:
    """What went into the person on one night [L], by what it was; each volume once.

    assumed: names that nobody recorded and that stand as planned, because all blood was given back.
    """

    litres: Mapping[str, Decimal]
    assumed: tuple[str, ...] = ()

    @property
    def total(self) -> Decimal:
        """All of it [L]."""
        return sum(self.litres.values(), Decimal(0))


class NightFluid(msgspec.Struct, frozen=True, kw_only=True, array_like=True):
    """What later nights ask of this one's fluid; "" for what isn't known.

    target [kg], as it was shown that night; removed, went_in [L]; minutes that blood ran. systolic [mmHg] lowest of the
    readings, and after coming off. symptoms: as picked, each as often as it was said. unlike: what was
    written of another scale or other clothes beside a weight.
    """

    target: str = ""
    removed: str = ""
    went_in: str = ""
    minutes: int | None = None
    lowest: str = ""
    after: str = ""
    symptoms: tuple[str, ...] = ()
    unlike: tuple[str, ...] = ()


def decimal_of(text: str) -> Decimal | None:
    """A stored number; None for what is none."""
    try:
        value = Decimal(text)
    except InvalidOperation:
        return None
    return value if value.is_finite() else None


def went_in(treatment: Facts) -> WentIn | None:
    """What went in; None where an amount can't be read, or the prime was given and how much isn't known.

    What was recorded as given counts as it was given: drinks, saline, rinse-back. The plan's rinse-back stands in where
    all blood was returned and no rinse-back was recorded, so that none is counted twice. The prime counts only where it
    was given to the person, from the order as shown, once. Source: fluids:U1, fluids 4.1 (practice:H27).
    """
    litres: dict[str, Decimal] = {}
    assumed: list[str] = []
    for fact in treatment.of("given"):
        if isinstance(fact.body, Given) and fact.body.unit in ("mL", "L"):
            amount = decimal_of(fact.body.amount)
            if amount is None:
                return None
            amount = amount / 1000 if fact.body.unit == "mL" else amount
            litres[fact.body.what] = litres.get(fact.body.what, Decimal(0)) + amount
    off = treatment.last("came_off")
    returned = off.body.blood_returned if off is not None and isinstance(off.body, CameOff) else ""
    if RINSE_BACK not in litres and returned == "all":
        plan = treatment.last("plan")
        figures = plan.body.figures if plan is not None and isinstance(plan.body, Plan) else {}
        planned = _first_number(figures.get(RINSE_BACK, ""))
        if planned is not None:
            litres[RINSE_BACK] = planned
            assumed.append(RINSE_BACK)
    if PRIME not in litres and _shown(treatment, "connection") == PRIME:
        prime = _first_number(_shown(treatment, PRIME))
        if prime is None:
            return None
        litres[PRIME] = prime
        assumed.append(PRIME)
    return WentIn(litres, tuple(assumed))


def weight_after_expected(treatment: Facts) -> Decimal | None:
    """What the scale should say after: before - removed + what went in. None until the person is off.

    Source: fluids:4.5.
    """
    before = treatment.at_slot("measured", "weight_before", "")
    removed, came_in = removed_volume(treatment), went_in(treatment)
    body = before[-1].body if before else None
    start = decimal_of(body.value) if isinstance(body, Measured) else None
    if treatment.last("came_off") is None or start is None or removed is None or came_in is None:
        return None
    return (start - removed + came_in.total).quantize(Decimal("0.1"))


def removed_volume(treatment: Facts) -> Decimal | None:
    """The volume removed [L]: as read at the end where that was measured last, else as last read in the night."""
    held = treatment.at_slot("measured", "fluid_removed", "")
    if held:
        if differ(held):
            return None
        measured, newest = held[-1], last_reading(treatment, "fluid_removed")
        if newest is None or measured.at >= newest[0]:
            value = decimal_of(measured.body.value) if isinstance(measured.body, Measured) else None
            if value is not None:
                return value
    return last_reading_value(treatment, "fluid_removed")


def last_reading_value(treatment: Facts, quantity: str) -> Decimal | None:
    """The newest value of a quantity among the night's readings; None where none holds one."""
    found = last_reading(treatment, quantity)
    return found[1] if found else None


def last_reading(
    treatment: Facts, quantity: str, until: datetime | None = None
) -> tuple[datetime, Decimal] | None:
    """The newest value of a quantity among the readings, and its time. until: readings after it don't count."""
    found: tuple[datetime, Decimal] | None = None
    for fact in treatment.of("reading"):
        if until is not None and fact.at > until:
            continue
        value = decimal_of(fact.body.values.get(quantity, "")) if isinstance(fact.body, Reading) else None
        if value is not None and (found is None or fact.at >= found[0]):
            found = (fact.at, value)
    return found


def night_fluid(treatment: Facts) -> NightFluid:
    """The summary of one night's fluid and of what is told with it."""
    removed, came_in, ran = removed_volume(treatment), went_in(treatment), run_time(treatment)
    over = treatment.last("came_off") is not None
    rows = [
        f.body for f in sorted(treatment.of("reading"), key=lambda f: f.at) if isinstance(f.body, Reading)
    ]
    upper = [(body.when, value) for body in rows if (value := decimal_of(body.values.get("systolic", "")))]
    after = [value for when, value in upper if when in SEATED]
    target = _first_number(_shown(treatment, "target_weight"))
    return NightFluid(
        target="" if target is None else str(target),
        removed="" if removed is None else str(removed),
        went_in="" if came_in is None or not over else str(came_in.total),
        minutes=None if ran is None else round(ran.total_seconds() / 60),
        lowest=str(min(value for _, value in upper)) if upper else "",
        after=str(after[-1]) if after else "",
        symptoms=_symptoms(treatment),
        unlike=_unlike(treatment),
    )


def _unlike(treatment: Facts) -> tuple[str, ...]:
    """What was written beside a weight that holds: another scale, other clothes; each once."""
    held = [f for name in ("weight_before", "weight_after") for f in treatment.at_slot("measured", name, "")]
    words = [fact.body.device for fact in held if isinstance(fact.body, Measured) and fact.body.device]
    return tuple(dict.fromkeys(words))


def _symptoms(treatment: Facts) -> tuple[str, ...]:
    """Symptoms as picked; one that was only written in its own word counts as that."""
    events = [fact.body for fact in treatment.of("event") if isinstance(fact.body, Event)]
    named = [body.symptom or (body.what if body.what in SYMPTOMS else "") for body in events]
    return tuple(name for name in named if name)


def _shown(treatment: Facts, line: str) -> str:
    """A line as it was shown when the person was connected, else when the order was read back."""
    for fact in (*treatment.of("connected"), *treatment.of("readback")):
        if isinstance(fact.body, Connected | Readback) and fact.body.shown.get(line):
            return fact.body.shown[line]
    return ""


def _first_number(text: str) -> Decimal | None:
    """The number at the start of a figure as shown (``2.3 L``), or None."""
    return decimal_of(text.split()[0]) if text.split() else None
