"""The facts that the rules of a reading judge by: its values, the reading before it, what was expected by then."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from decimal import ROUND_CEILING, Decimal

from ebbwell.core.clock import elapsed
from ebbwell.core.errors import DomainError
from ebbwell.core.quantity import Quantity
from ebbwell.journal.kinds.marks import Measured
from ebbwell.journal.kinds.night import Connected, Reading
from ebbwell.procedure.evidence import number_in
from ebbwell.procedure.heparin_facts import heparin_by
from ebbwell.procedure.rule_facts import ordered_facts
from ebbwell.rulebook.evaluate import Fact as RuleFact
from ebbwell.rulebook.model import Rulebook
from ebbwell.science.removal_profile import Leg, isolated_legs, profile_legs, removed_after
from ebbwell.state.facts import Facts
from ebbwell.state.night import first_blood, paused_for
from ebbwell.state.night_fluid import decimal_of, last_reading_value

MACHINE = "fluid_conductivity@machine"
"""What a row shows of the fluid is read off the machine, and is judged as at set-up."""


UNEVEN = ("removal_profile", "isolated_litres", "isolated_minutes")
"""Lines of an order that doesn't want removal even."""

UPRIGHT = ("sitting", "standing")
"""Rows taken of a person who isn't lying any more."""


def reading_facts(
    treatment: Facts,
    standing: Facts,
    values: Mapping[str, Decimal],
    rulebook: Rulebook,
    at: datetime | None = None,
    when: str = "",
    *,
    alone: frozenset[str],
) -> Mapping[str, RuleFact]:
    """What the rules of a reading may ask for. alone: ids of what was ordered for this night alone.

    at: when it was taken; without it no removal is expected. when: which reading of the night it is. One taken
    upright after coming off is held against the one lying, where there is one (practice:c, C9).
    """
    found: dict[str, RuleFact] = dict(ordered_facts(standing, rulebook, alone))
    for quantity, value in values.items():
        unit = rulebook.quantity(quantity).unit
        found[quantity] = Quantity(value, unit)
        before = last_reading_value(treatment, quantity)
        if before is not None:
            found[f"{quantity}@last"] = Quantity(before, unit)
    venous = last_reading_value(treatment, "venous_pressure")
    if "venous_pressure" in values and venous is not None:
        found.pop("venous_pressure@last", None)
        found.update(venous_before(venous, values.get("blood_flow"), _flow_with_pressure(treatment)))
    for name in ("systolic", "diastolic"):
        first = _measured(treatment, name)
        lying = _lying(treatment, name) if when in UPRIGHT else None
        if lying is not None:
            found[f"{name}@lying"] = Quantity(lying, "mmHg")
        elif first is not None:
            found[f"{name}@start"] = Quantity(first, "mmHg")
    if "fluid_conductivity" in values:
        found[MACHINE] = Quantity(values["fluid_conductivity"], "mS/cm")
        start = _measured(treatment, "fluid_conductivity", "machine")
        if start is not None:
            found[f"{MACHINE}.start"] = Quantity(start, "mS/cm")
    expected = removed_by(treatment, at) if at is not None else None
    if expected is not None:
        found["fluid_removed@expected"] = Quantity(expected, "L")
    given = heparin_by(treatment, at) if at is not None and "heparin_given" in values else None
    if given is not None:
        found["heparin_given@expected"] = Quantity(given, "mL")
    return found


def removed_by(treatment: Facts, at: datetime) -> Decimal | None:
    """What the plan would have removed by then [L]; None before first blood, and where no plan was shown.

    Arithmetic: rate x hours that blood ran, up to the total; in the shares, or after the isolated part, where the
    order has those. Rate, total and order are those shown when the person was connected.
    """
    start = first_blood(treatment)
    shown = [f.body.shown for f in treatment.of("connected") if isinstance(f.body, Connected)]
    rate, total = (_shown_number(shown, name) for name in ("removal_rate", "fluid_to_remove"))
    if start is None or rate is None or total is None:
        return None
    ran = elapsed(start, max(at, start)) - paused_for(treatment, at)
    seconds = Decimal(round(ran.total_seconds()))
    litres = rate * seconds / 3_600_000
    if any(one.get(name) for one in shown for name in UNEVEN) or _way(shown) != "even":
        legs = _legs(shown, total)
        if legs is None:
            return None
        litres = removed_after(legs, seconds / 3600)
    return min(litres, total).quantize(Decimal("0.01"))


def _legs(shown: Sequence[Mapping[str, str]], total: Decimal) -> Sequence[Leg] | None:
    """The stretches of removal that the order had; None where it doesn't say how they go."""
    minutes = _shown_number(shown, "treatment_minutes")
    isolated = [_shown_number(shown, name) for name in ("isolated_litres", "isolated_minutes")]
    profile = next((one["removal_profile"] for one in shown if one.get("removal_profile")), "")
    asked = {name for name, there in (("isolated", any(isolated)), ("shares", profile)) if there}
    if (
        minutes is None
        or len({*asked, *({_way(shown)} if any("removal_way" in one for one in shown) else ())}) != 1
    ):
        return None
    try:
        if profile:
            return profile_legs(total, minutes / 60, [Decimal(share) for share in profile.split()])
        first, length = isolated
        if first is None or length is None:
            return None
        return isolated_legs(total, minutes / 60, isolated_l=first, isolated_min=length)
    except DomainError:
        return None


def _way(shown: Sequence[Mapping[str, str]]) -> str:
    """How the order wants the fluid taken off; evenly where it doesn't say."""
    return next((one["removal_way"] for one in shown if one.get("removal_way")), "even")


def _shown_number(shown: Sequence[Mapping[str, str]], name: str) -> Decimal | None:
    return next((n for one in shown if (n := number_in(one.get(name, ""))) is not None), None)


def venous_before(
    pressure: Decimal, flow: Decimal | None, flow_before: Decimal | None
) -> Mapping[str, Quantity]:
    """The venous pressure [mmHg] that a row is held against: that of the row before or, where the blood flow was set
    lower since, what would be left of it if all of it went down with the flow.

    Pressure in the return line is near enough in proportion to the flow (flow x 2.5 gave pressure x 2.5 to 2.6), so
    a lower flow explains no larger fall than that, rounded up to whole mmHg. A fall beyond it says what any other
    fall says.
    Source: fluids:P20, fluids:5.4 (venous down: flow lowered), fluids:P11.
    """
    if flow is None or flow_before is None or not Decimal(0) < flow < flow_before or pressure <= 0:
        return {"venous_pressure@last": Quantity(pressure, "mmHg")}
    explained = (pressure * flow / flow_before).quantize(Decimal(1), ROUND_CEILING)
    return {"venous_pressure@last.at_flow": Quantity(explained, "mmHg")}


def _lying(treatment: Facts, quantity: str) -> Decimal | None:
    """A value of the newest row taken lying, before coming off."""
    rows = [f.body for f in sorted(treatment.of("reading"), key=lambda fact: fact.at)]
    held = [body for body in rows if isinstance(body, Reading) and body.when == "lying"]
    return decimal_of(held[-1].values.get(quantity, "")) if held else None


def _flow_with_pressure(treatment: Facts) -> Decimal | None:
    """The blood flow of the newest row that holds a venous pressure."""
    rows = [f for f in treatment.of("reading") if isinstance(f.body, Reading)]
    held = [f for f in rows if isinstance(f.body, Reading) and "venous_pressure" in f.body.values]
    newest = max(held, key=lambda fact: fact.at, default=None)
    if newest is None or not isinstance(newest.body, Reading):
        return None
    return decimal_of(newest.body.values.get("blood_flow", ""))


def _measured(treatment: Facts, quantity: str, place: str = "") -> Decimal | None:
    held = treatment.at_slot("measured", quantity, place)
    body = held[-1].body if held else None
    return decimal_of(body.value) if isinstance(body, Measured) else None
