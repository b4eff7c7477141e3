"""Patterns as they are typed into the address: up to six, each with its nights, hours and flows. Nothing is kept."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ebbwell.core.errors import EbbwellError
from ebbwell.core.text import say
from ebbwell.deeds.water_typed import read_number
from ebbwell.papers.spoken import error_words
from ebbwell.review.basis import Pattern
from ebbwell.review.patterns import MOST_PATTERNS, check_pattern
from ebbwell.web.visit import Trouble

CYCLES = {"other": 2, "week": 7, "two": 14}
"""How nights go, to the days of a round."""
NUMBERS = {"hours": "hours", "blood": "blood_flow_ml_min", "fluid": "fluid_flow_ml_min"}
"""Field to what it is of a pattern. Left empty, it is as now."""
UNITS = {"hours": "h", "blood": "mL/min", "fluid": "mL/min"}
"""Field to the unit that its number stands in; another typed behind it is brought to that one."""
LONGEST_NAME = 40
PLACES = {"hours": 2, "blood": 0, "fluid": 0}


@dataclass(frozen=True)
class Typed:
    """One pattern as typed. number: from 1. kind: a key of ``CYCLES`` or "". days: those ticked, in order."""

    number: int
    name: str
    kind: str
    days: tuple[int, ...]
    numbers: Mapping[str, str]

    @property
    def used(self) -> bool:
        """Whether anything of it was typed."""
        return bool(self.name or self.kind or self.days or any(self.numbers.values()))

    @property
    def days_left_over(self) -> bool:
        """Whether nights are ticked that the way its nights go has no place for."""
        return bool(self.days) and (
            self.kind == "other" or self.days[-1] >= CYCLES.get(self.kind, CYCLES["two"])
        )

    @property
    def shown(self) -> str:
        """Its name, or its number where it has none."""
        return self.name or say("web.compare.unnamed", number=self.number)


def typed_rows(query: Mapping[str, str]) -> tuple[Typed, ...]:
    """All six, empty ones too."""
    return tuple(_row(query, number) for number in range(1, MOST_PATTERNS + 1))


def _row(query: Mapping[str, str], number: int) -> Typed:
    kind = query.get(f"kind{number}", "")
    return Typed(
        number,
        query.get(f"name{number}", "").strip()[:LONGEST_NAME],
        kind if kind in CYCLES else "",
        tuple(day for day in range(CYCLES["two"]) if query.get(f"day{number}.{day}")),
        {field: query.get(f"{field}{number}", "").strip() for field in NUMBERS},
    )


def pattern_of(row: Typed, present: Pattern) -> tuple[Pattern | None, list[Trouble]]:
    """The pattern of a row, or what is wrong with it, each beside its field."""
    troubles = []
    values: dict[str, float] = {}
    for field, name in NUMBERS.items():
        text, values[name] = row.numbers[field], getattr(present, name)
        if text:
            try:
                values[name] = float(read_number(text, UNITS[field], places=PLACES[field]))
            except EbbwellError as why:
                told = say(
                    f"web.compare.{'wrong_unit' if why.key.startswith('unit.') else 'wrong'}",
                    name=row.shown,
                    label=say(f"web.compare.{field}"),
                    why=error_words(why),
                    typed=text[:30],
                    unit=UNITS[field],
                )
                troubles.append(Trouble(told, f"{field}{row.number}"))
    if not row.kind:
        troubles.append(Trouble(say("web.compare.no_kind", name=row.shown), f"kind{row.number}"))
    elif row.days_left_over:
        told = say(f"web.compare.days_left_over.{row.kind}", name=row.shown)
        troubles.append(Trouble(told, f"kind{row.number}"))
    if troubles:
        return None, troubles
    cycle = CYCLES[row.kind]
    days = (0,) if row.kind == "other" else tuple(day for day in row.days if day < cycle)
    pattern = Pattern(row.shown, days, cycle, **values, start_min=present.start_min)
    try:
        check_pattern(pattern)
    except EbbwellError as why:
        return None, [Trouble(error_words(why), _field(why.key, row.number))]
    return pattern, []


def names_twice(rows: Sequence[Typed], present: str) -> list[Trouble]:
    """What is wrong where two patterns would stand under one name. present: the name of the one now."""
    seen, troubles = {present}, []
    for row in rows:
        if row.used and row.shown in seen:
            troubles.append(Trouble(say("web.compare.name_twice", name=row.shown), f"name{row.number}"))
        seen |= {row.shown} if row.used else set()
    return troubles


def _field(key: str, number: int) -> str:
    """The field that a refusal is about."""
    about = {
        "review.pattern_hours": "hours",
        "review.pattern_overlap": "hours",
        "review.pattern_blood_flow": "blood",
        "review.pattern_fluid_flow": "fluid",
    }
    return f"{about.get(key, 'kind')}{number}"
