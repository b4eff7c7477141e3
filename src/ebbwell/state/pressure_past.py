"""Line pressures of past nights, one reading a night: about an hour after first blood, where nights are alike."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal, InvalidOperation

from ebbwell.state.membrane import pressure_in
from ebbwell.state.own_past import NEAR_HOUR, NightSummary

AT_MINUTES = 60
"""When the reading is taken from: flow and pressures have settled, and few things have happened. Own choice."""


@dataclass(frozen=True, slots=True)
class MembraneRow:
    """A pressure across the membrane [mmHg] with its form, fluid removed so far [L] and minutes after first blood."""

    form: str
    pressure: Decimal
    removed_l: Decimal
    minutes: int


@dataclass(frozen=True)
class NightPressures:
    """One night. at: of first blood. values: of the reading nearest to an hour after it, by quantity.

    membrane: of the last reading that has both the pressure across the membrane and the fluid removed. dialyser: its
    code, "" where none or more than one was opened. bleeding: minutes of each site that was noted.
    """

    treatment: str
    night: str
    at: datetime
    values: Mapping[str, Decimal]
    membrane: MembraneRow | None
    dialyser: str
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
    membranes = _membranes(summary)
    return NightPressures(
        treatment=summary.treatment,
        night=summary.night,
        at=summary.first_blood,
        values={name: number for name, text in row.items() if (number := _number(text)) is not None},
        membrane=membranes[-1] if membranes else None,
        dialyser=dialyser_of(summary.packs),
        bleeding={
            site: number
            for site in ("arterial", "venous")
            if (number := _number(summary.values.get(f"bleeding_minutes@{site}", ""))) is not None
        },
    )


def _membranes(summary: NightSummary) -> list[MembraneRow]:
    """Every reading after first blood with both figures, in their order."""
    return [row for at, values in summary.rows if (row := membrane_row(at, values)) is not None]


def membrane_row(minutes: int, values: Mapping[str, str]) -> MembraneRow | None:
    """The figures of a row with the pressure across the membrane under the name of its form; None without both."""
    read = pressure_in(values)
    pressure = _number(read[1]) if read is not None else None
    removed = _number(values.get("fluid_removed", ""))
    if read is None or pressure is None or removed is None or minutes <= 0:
        return None
    return MembraneRow(read[0], pressure, removed, minutes)


def membrane_at(summary: NightSummary, minutes: int) -> MembraneRow | None:
    """Of a past night the row nearest to these minutes after first blood, within ``NEAR_HOUR``; None without one."""
    near = [row for row in _membranes(summary) if abs(row.minutes - minutes) <= NEAR_HOUR]
    return min(near, key=lambda row: (abs(row.minutes - minutes), row.minutes), default=None)


def dialyser_of(packs: Iterable[tuple[str, str, str, str]]) -> str:
    """The code of the dialyser that was opened; "" where none or more than one kind was, or its code is not known."""
    codes = {code.strip().casefold() for item, code, _, _ in packs if item == "dialyser"}
    return codes.pop() if len(codes) == 1 else ""


def _number(text: str) -> Decimal | None:
    try:
        value = Decimal(text)
    except InvalidOperation:
        return None
    return value if value.is_finite() else None
