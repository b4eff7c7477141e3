"""Reads the forms between nights: each field by its label, every slip named beside its own field, none kept by half."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import ROUND_HALF_UP, Decimal, localcontext

from ebbwell.core.errors import EbbwellError, InputError, UnitError
from ebbwell.core.numbers import NUMBER_PART, parse_limit, plain, plain_digits, refuse_two_numbers
from ebbwell.core.text import say
from ebbwell.core.units import CONTEXT, convert, in_water, kind_of_unit, parse_unit
from ebbwell.rulebook.typed import Question
from ebbwell.state.water import as_day

LONGEST = 500
"""Characters that words of one's own may have."""

_NUMBER = re.compile(rf"({NUMBER_PART})\s*([^0-9\s].*)?", re.DOTALL)


@dataclass
class Form:
    """What was typed, by field. today: on the home's clock. wrong: field to what can't be read; questions: what is odd.

    labels: what begins the wording key of each field's label.
    Each reading gives the value in its stored form, "" where the field is empty or wrong.
    """

    typed: Mapping[str, str]
    today: date
    wrong: dict[str, EbbwellError] = field(default_factory=dict)
    questions: list[Question] = field(default_factory=list)
    labels: str = "web.water.field."

    def done(self) -> None:
        """Raise the first field's error, if any."""
        for why in self.wrong.values():
            raise why

    def label(self, name: str) -> str:
        """What the form calls a field."""
        return say(f"{self.labels}{name}")

    def ask(self, key: str, level: int = 1, /, **params: str) -> None:
        """Put a question to be answered before anything is kept. level: as of ``Question``."""
        self.questions.append(Question(key, level, tuple(sorted(params.items()))))

    def text(self, name: str, *, needed: bool = False) -> str:
        """Words as typed."""
        found = self.typed.get(name, "").strip()
        if len(found) > LONGEST:
            self.wrong[name] = InputError("water.too_long", label=self.label(name), most=LONGEST)
        elif needed and not found:
            self.wrong[name] = InputError("water.words_needed", label=self.label(name))
        return "" if name in self.wrong else found

    def pick(self, name: str, options: Sequence[str], *, needed: bool = True) -> str:
        """One of some words."""
        found = self.typed.get(name, "").strip()
        if (found or needed) and found not in options:
            self.wrong[name] = InputError("water.pick_needed", label=self.label(name))
            return ""
        return found

    def day(self, name: str, *, needed: bool = True, to_come: bool = False) -> str:
        """A day (YYYY-MM-DD). to_come: it may lie ahead."""
        typed = self.typed.get(name, "").strip()
        if not typed and not needed:
            return ""
        found = as_day(typed)
        if found is None:
            self.wrong[name] = InputError("water.day_needed", label=self.label(name))
        elif found > self.today and not to_come:
            self.wrong[name] = InputError("water.day_to_come", label=self.label(name))
        return "" if name in self.wrong or found is None else found.isoformat()

    def number(
        self,
        name: str,
        unit: str,
        low: str,
        high: str,
        *,
        needed: bool = False,
        places: int = 3,
        unit_needed: bool = False,
    ) -> str:
        """A number, kept in ``unit``; a unit typed behind it is brought to that one. low, high: what can be true."""
        typed = self.typed.get(name, "").strip()
        if not typed:
            if needed:
                self.wrong[name] = InputError("water.number_needed", label=self.label(name), unit=unit)
            return ""
        try:
            value = read_number(typed, unit, places=places, unit_needed=unit_needed)
        except EbbwellError as why:
            self.wrong[name] = (
                InputError("water.unit_unknown", label=self.label(name), typed=typed[:30], unit=unit)
                if why.key == "unit.unknown" and unit
                else InputError("water.wrong", label=self.label(name), why=why_words(why))
            )
            return ""
        if not Decimal(low) <= value <= Decimal(high):
            self.wrong[name] = InputError(
                "water.outside", label=self.label(name), low=low, high=high, unit=unit
            )
            return ""
        return plain(value)

    def after(self, earlier: str, later: str, *, first: str, second: str) -> None:
        """Note two days that are the wrong way round. earlier, later: as read; first, second: their fields."""
        if earlier and later and later < earlier:
            self.wrong[second] = InputError(
                "water.days_crossed", label=self.label(second), other=self.label(first)
            )


def why_words(why: EbbwellError) -> str:
    """What an error says, for a field that names itself."""
    return say(why.key, "", **why.params)


def split(typed: str) -> tuple[str, str]:
    """A number and the unit typed behind it, "" for none."""
    parts = _NUMBER.fullmatch(plain_digits(typed).strip()) if len(typed) <= 80 else None
    return (parts[1].strip(), (parts[2] or "").strip()) if parts else (typed, "")


def _is_hardness(unit: str) -> bool:
    try:
        return kind_of_unit(unit) == "hardness"
    except UnitError:
        return False


def read_number(typed: str, unit: str, *, places: int = 3, unit_needed: bool = False) -> Decimal:
    """A typed number in ``unit``. Raises InputError and UnitError as the other readers do, also for "less than"."""
    refuse_two_numbers(typed)
    number, typed_unit = split(typed)
    typed_unit = in_water(typed_unit) if unit == "mg/L" else typed_unit
    if unit_needed and not typed_unit:
        raise UnitError("unit.needed", units="mg/L CaCO3 / dH / fH / grain/gal")
    value, below = parse_limit(number, places=places)
    if below:
        raise InputError("water.no_less_than")
    if unit_needed and typed_unit and not _is_hardness(typed_unit):
        raise UnitError("unit.of.hardness", typed=" ".join(typed.split()))
    if typed_unit and parse_unit(typed_unit) != unit:
        if not unit:
            raise UnitError("water.no_unit", unit=typed_unit[:20])
        with localcontext(CONTEXT):
            value = convert(value, typed_unit, unit).quantize(Decimal("0.001"), ROUND_HALF_UP).normalize()
            value = value.quantize(Decimal(1)) if value == value.to_integral_value() else value
    return value
