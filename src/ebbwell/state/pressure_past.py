"""Line pressures of past nights, one reading a night: about an hour after first blood, where nights are alike."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal, InvalidOperation

from ebbwell.state.own_past import NEAR_HOUR, NightSummary

AT_MINUTES = 60
"""When the reading is taken from: flow and pressures have settled, and few things have happened. Own choice."""


@dataclass(frozen=True, slots=True)
class NightPressures:
    """One night. at: of first blood. values: of the reading nearest to an hour after it, by quantity. removed_l,
    removed_min: fluid removed so far and minutes after first blood, of the last reading that also has the pressure
    across the membrane; transmembrane: that pressure. bleeding: minutes of each site that was noted.
    """

    treatment: str
    night: str
    at: datetime
    values: Mapping[str, Decimal]
    transmembrane: Decimal | None
    removed_l: Decimal | None
    removed_min: int
    bleeding: Mapping[str, Decimal]


def night_pressures(nights: Iterable[NightSummary]) -> tuple[NightPressures, ...]:
    """The nights on which a line pressure was read, in the order given; a night without first blood is left out."""
    return tuple(found for summary in nights if (found := _of(summary)) is not None)


def _of(summary: NightSummary) -> NightPressures | None:
    if summary.first_blood is None:
        return None
    near = [(abs(at - AT_MINUTES), at, values) for at, values in summary.rows if "venous_pressure" in values]
    near = [one for one in near if one[0] <= NEAR_HOUR]
    if not near:
        return None
    _, _, row = min(near, key=lambda one: one[:2])
    both = [
        (at, values)
        for at, values in summary.rows
        if at > 0 and {"transmembrane_pressure", "fluid_removed"} <= set(values)
    ]
    minutes, last = both[-1] if both else (0, {})
    return NightPressures(
        treatment=summary.treatment,
        night=summary.night,
        at=summary.first_blood,
        values={name: number for name, text in row.items() if (number := _number(text)) is not None},
        transmembrane=_number(last.get("transmembrane_pressure", "")),
        removed_l=_number(last.get("fluid_removed", "")),
        removed_min=minutes,
        bleeding={
            site: number
            for site in ("arterial", "venous")
            if (number := _number(summary.values.get(f"bleeding_minutes@{site}", ""))) is not None
        },
    )


def _number(text: str) -> Decimal | None:
    try:
        value = Decimal(text)
    except InvalidOperation:
        return None
    return value if value.is_finite() else None
