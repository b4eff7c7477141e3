"""Reads typed figures and lines, and asks again about the ones that look like a slip.

Only what can't be true is refused. An odd value is asked about once, one outside the last range twice; then kept.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal, localcontext
from statistics import median

from ebbwell.core.errors import InputError, UnitError
from ebbwell.core.numbers import parse_decimal, parse_limit, plain, plain_digits, refuse_two_numbers
from ebbwell.core.text import say
from ebbwell.core.units import CONTEXT, LB_KG, convert, in_water, parse_unit
from ebbwell.core.when import when_words
from ebbwell.rulebook.dilution import read_parts
from ebbwell.rulebook.model import QuantityDef, Rulebook
from ebbwell.rulebook.own_units import changed_to, in_own, rounded, said, split_unit, typed_unit
from ebbwell.rulebook.shares import read_shares
from ebbwell.rulebook.unit_words import in_its_words

OWN_NIGHTS = 10
"""How many of the person's last values count as their own past. Source: practice:a0."""

POUND_BAND = Decimal("0.03")
"""How near 2.2046 times the awaited weight counts as pounds. Source: practice:e (H6)."""

CLEARLY = 4
"""How many times nearer a guess has to be to the value awaited before it is offered. Source: design."""

_CLOCK = re.compile(r"([0-9]{1,2}):([0-5][0-9])")


@dataclass(frozen=True, slots=True)
class Question:
    """To be asked before a value is kept. key: the words are ``question.<key>``.

    level 1: asked once; 2: again, in other words, kept with a stop. suggestion: what may have been meant, in the
    quantity's unit; never put in its place by itself.
    """

    key: str
    level: int
    params: tuple[tuple[str, str], ...] = ()
    suggestion: Decimal | None = None


def say_question(question: Question, language: str = "") -> str:
    """The question in words."""
    params = dict(question.params)
    if "reading" in params:
        params["reading"] = when_words(params["reading"], language)
    if "quantity" in params:
        params["what"] = say(f"quantity.{params.pop('quantity')}", language)
    if "other_field" in params:
        params["other_field"] = say(f"quantity.{params['other_field'].partition('@')[0]}", language)
    same = question.key == "outside_own" and params.get("low") == params.get("high")
    return say(f"question.{question.key}{'_same' if same else ''}", language, **params)


@in_its_words
def read_quantity(
    rulebook: Rulebook, quantity_id: str, typed: str, unit: str | None = None
) -> tuple[Decimal, bool, str]:
    """A typed figure in the quantity's own unit: (value, "less than", unit).

    typed: the number, with or without its unit (``143 lb``); minutes also as ``7:30``. unit: the one picked
    beside the field. A bare number stands in the household's unit. A converted value is rounded to the decimals of the
    field, or as many more as bring the typed number back from it; a typed one never.
    Raises InputError and AmbiguousNumber (not a number, "less than" where no instrument says so), UnitError
    (unknown unit, another kind, none where one is needed). Source: practice:a0, practice:e (H7).
    """
    quantity = rulebook.quantity(quantity_id)
    refuse_two_numbers(typed)
    number, named = split_unit(typed)
    named = in_water(named) if "mg/L" in quantity.units else named
    if named and unit and parse_unit(named) != parse_unit(unit):
        raise UnitError("unit.two_units", typed=named, picked=unit)
    found = named or unit
    clock = _CLOCK.fullmatch(plain_digits(typed).strip())
    if clock and "min" in quantity.units:
        return Decimal(int(clock[1]) * 60 + int(clock[2])), False, "min"
    if not found:
        found = typed_unit(rulebook, quantity)
        if not found and quantity.unit:
            raise UnitError("unit.needed", units=" / ".join(quantity.units))
    value, below = parse_limit(number, places=quantity.places)
    if below and not quantity.below:
        raise InputError("quantity.no_less_than", label=say(f"quantity.{quantity_id}"))
    return _in_own_unit(quantity, value, found), below, quantity.unit


def _in_own_unit(quantity: QuantityDef, value: Decimal, unit: str) -> Decimal:
    if unit == quantity.unit:
        return value
    symbol = parse_unit(unit)
    if symbol == quantity.unit:
        return value
    return changed_to(value, symbol, quantity.unit, quantity.places, quantity.substance or None)


def check_typed(
    rulebook: Rulebook,
    quantity_id: str,
    value: Decimal,
    *,
    own: Sequence[Decimal] = (),
    expected: Decimal | None = None,
    others: Mapping[str, Decimal] | None = None,
    below: bool = False,
) -> tuple[Question, ...]:
    """What to ask about a typed value before it is kept: nothing, one question, or two.

    value, own, expected: in the quantity's unit. own: this person's values of the last nights, newest last.
    expected: what tonight's working awaits. others: other fields by key (``diastolic``,
    ``weight_after@last``, ``days_since_last``). below: "less than" the value; then where it usually lies is not asked
    about, since it may lie there, and the question says what was typed.
    Raises InputError for what can't be physically true, and for a value that isn't finite.
    Source: practice:a0, practice:e (H5, H6, H39, H40, H41).
    """
    quantity = rulebook.quantity(quantity_id)
    _refuse_impossible(quantity, value)
    with localcontext(CONTEXT):
        check = _Check(rulebook, quantity, value, tuple(own)[-OWN_NIGHTS:], expected, dict(others or {}))
        asked = None if below else check.ask()
    outside = _outside(value, quantity.last_low, quantity.last_high)
    out = [asked] if asked else []
    if outside:
        params = dict(_params(rulebook, quantity, value))
        shown = f"<{params['value']}" if below else params["value"]
        out.append(Question("outside_last", 2, tuple(sorted({**params, "value": shown}.items()))))
    return tuple(out)


def _refuse_impossible(quantity: QuantityDef, value: Decimal) -> None:
    if not value.is_finite():
        raise InputError("number.not_plain", typed=str(value))
    if quantity.never_below is not None and value < quantity.never_below:
        raise InputError(
            "quantity.never_below", label=say(f"quantity.{quantity.id}"), least=plain(quantity.never_below)
        )
    if quantity.never_above is not None and value > quantity.never_above:
        raise InputError(
            "quantity.never_above", label=say(f"quantity.{quantity.id}"), most=plain(quantity.never_above)
        )


def _outside(value: Decimal, low: Decimal | None, high: Decimal | None) -> bool:
    return (low is not None and value < low) or (high is not None and value > high)


def _params(
    book: Rulebook, quantity: QuantityDef, value: Decimal, **more: str
) -> tuple[tuple[str, str], ...]:
    shown = {"quantity": quantity.id, "value": said(book, quantity, value), **more}
    return tuple(sorted(shown.items()))


@dataclass(frozen=True, slots=True)
class _Check:
    book: Rulebook
    quantity: QuantityDef
    value: Decimal
    own: tuple[Decimal, ...]
    expected: Decimal | None
    others: Mapping[str, Decimal]

    def ask(self) -> Question | None:
        """The one question that fits best, or None."""
        return self._sign() or self._swapped() or self._odd()

    def _question(self, key: str, suggestion: Decimal | None = None, **more: str) -> Question:
        if suggestion is not None:
            more["suggestion"] = said(self.book, self.quantity, suggestion)
        return Question(key, 1, _params(self.book, self.quantity, self.value, **more), suggestion)

    def _sign(self) -> Question | None:
        if self.quantity.sign != "negative" or self.value <= 0:
            return None
        return self._question("minus", -self.value)

    def _swapped(self) -> Question | None:
        q, other = self.quantity, ""
        if q.more_than in self.others and self.value <= self.others[q.more_than] + q.gap:
            other = q.more_than
        elif q.less_than in self.others and self.value >= self.others[q.less_than] - q.gap:
            other = q.less_than
            if q.id == "weight_after" and self.value == self.others[other]:
                other = ""
        elif (
            q.swaps_with in self.others
            and self.value < 0 < self.others[q.swaps_with]
            and q.sign != "negative"
        ):
            other = q.swaps_with
        if not other:
            return None
        theirs = self.others[other]
        crossed = self.value < theirs if q.more_than == other else self.value > theirs
        if q.swaps_with == other or (crossed and q.id != "weight_after"):
            return self._question("swapped", theirs, other_field=other)
        explained = self._explained()
        return explained or self._question("too_near", other_field=other, other=said(self.book, q, theirs))

    def _odd(self) -> Question | None:
        why = self._why_odd(self.value)
        if why is None:
            return self._pounds()
        if self.quantity.blind and self.expected is not None:
            return self._question("not_as_expected")
        return self._explained() or Question(
            why[0], 1, _params(self.book, self.quantity, self.value, **why[1])
        )

    def _why_odd(self, value: Decimal) -> tuple[str, dict[str, str]] | None:
        """Why a value looks odd: key and params; None when it doesn't."""
        q = self.quantity
        bands = [("outside_own", self._own_band()), ("outside_expected", self._expected_band())]
        bands += [("outside_near", self._near_band(place)) for place in range(len(q.near))]
        bands.append(("outside_asked", (q.ask_low, q.ask_high)))
        for key, (low, high) in bands:
            if _outside(value, low, high):
                ends = {"low": low, "high": high}
                if key == "outside_own":
                    ends = self._own_ends(ends)
                text = {name: said(self.book, q, _trim(end)) for name, end in ends.items() if end is not None}
                if len(text) == 1:
                    only = "low" if low is not None else "high"
                    return f"{key}_{only}", text
                return key, text
        return None

    def _own_ends(self, asked: Mapping[str, Decimal | None]) -> dict[str, Decimal | None]:
        """The person's own lowest and highest value, where that end is asked about; below zero the one nearer to zero
        stands first, as the dial is read.
        """
        ends = {"low": min(self.own), "high": max(self.own)}
        if self.quantity.sign == "negative" and None not in asked.values():
            ends = {"low": ends["high"], "high": ends["low"]}
        return {name: ends[name] if asked[name] is not None else None for name in ends}

    def _own_band(self) -> tuple[Decimal | None, Decimal | None]:
        q = self.quantity
        if len(self.own) < q.own_least:
            return None, None
        middle = median(self.own)
        low = middle - q.own_below if q.own_below is not None else None
        high = middle + q.own_above if q.own_above is not None else None
        if q.own_percent is not None:
            part = abs(middle) * q.own_percent / 100
            low, high = middle - part, middle + part
        if q.own_factor is not None:
            high = middle * q.own_factor
        return low, high

    def _expected_band(self) -> tuple[Decimal | None, Decimal | None]:
        q, expected = self.quantity, self.expected
        if expected is None:
            return None, None
        part = q.expected_within
        if q.expected_percent is not None:
            part = abs(expected) * q.expected_percent / 100
        return (None, None) if part is None else (expected - part, expected + part)

    def _near_band(self, place: int) -> tuple[Decimal | None, Decimal | None]:
        near = self.quantity.near[place]
        base = self.others.get(near.other)
        if base is None:
            return None, None
        lows = [base - near.below] if near.below is not None else []
        highs = [base + near.above] if near.above is not None else []
        if near.below_percent is not None:
            lows.append(base * (1 - near.below_percent / 100))
        if near.above_percent is not None:
            highs.append(base * (1 + near.above_percent / 100))
        days = self.others.get("days_since_last")
        if near.above_a_day is not None and days is not None:
            highs.append(base + near.above_a_day * max(days, Decimal(1)))
        return max(lows, default=None), min(highs, default=None)

    def _explained(self) -> Question | None:
        """The slip that would bring the value back among the ones awaited, if one does."""
        q = self.quantity
        other = self._other_unit()
        if other:
            return other
        low, high = q.fahrenheit_low, q.fahrenheit_high
        if low is not None and high is not None and low <= self.value <= high:
            return self._question("fahrenheit", rounded(convert(self.value, "F", "C"), q.places))
        pounds = self._pounds()
        if pounds:
            return pounds
        reference = self._reference()
        candidates = [("digits", c) for c in self._digit_swaps()] if reference is not None else []
        candidates += [(_slip_of(q, factor), self._rounded(self.value * factor)) for factor in q.slips]
        fitting = [(key, c) for key, c in candidates if self._why_odd(c) is None and self._possible(c)]
        if reference is None:
            bounded = q.ask_low is not None or q.ask_high is not None
            return self._question(*fitting[0]) if fitting and bounded else None
        off = abs(self.value - reference)
        clear = [(abs(c - reference), key, c) for key, c in fitting if abs(c - reference) * CLEARLY <= off]
        return self._question(*min(clear)[1:]) if clear else None

    def _other_unit(self) -> Question | None:
        """Where the household types in another unit: whether the number was read off an instrument in the usual one."""
        number, unit = in_own(self.book, self.quantity, self.value)
        if unit == self.quantity.unit or not self._possible(number) or self._why_odd(number) is not None:
            return None
        as_typed = {"typed": f"{plain(number)} {unit}", "other": f"{plain(number)} {self.quantity.unit}"}
        return self._question("other_unit", number, **as_typed)

    def _pounds(self) -> Question | None:
        """Asked whatever band a value lies in: on a first night only the target says what is awaited."""
        reference = self._reference()
        as_kg = self.value * LB_KG
        if reference and reference > 0 and "lb" in self.quantity.units:
            if abs(as_kg / reference - 1) <= POUND_BAND:
                return self._question("pounds", rounded(as_kg, self.quantity.places))
        return None

    def _reference(self) -> Decimal | None:
        if self.expected is not None:
            return self.expected
        for near in self.quantity.near:
            if near.other in self.others:
                return self.others[near.other]
        return median(self.own) if self.own else None

    def _possible(self, value: Decimal) -> bool:
        q = self.quantity
        inside = not _outside(value, q.last_low, q.last_high)
        return value not in (0, self.value) and inside

    def _digit_swaps(self) -> list[Decimal]:
        text = plain(self.value)
        places = [i for i, char in enumerate(text) if char.isdigit()]
        out = []
        for n, i in enumerate(places):
            for j in places[n + 1 :]:
                chars = list(text)
                chars[i], chars[j] = chars[j], chars[i]
                out.append(Decimal("".join(chars)))
        return out

    def _rounded(self, value: Decimal) -> Decimal:
        return _trim(value) if value == rounded(value, self.quantity.places) else value


def _slip_of(quantity: QuantityDef, factor: Decimal) -> str:
    """What a slip by a factor is asked as: another unit where a meter shows both, else the place of the mark."""
    other = {Decimal(1000): ("uS/cm", "mS/cm"), Decimal("0.001"): ("mS/cm", "uS/cm")}.get(factor, ("", ""))
    found = quantity.unit == other[0] and other[1] in quantity.units
    return f"meter_in_{other[1].partition('/')[0]}" if found else "decimal"


def _trim(value: Decimal) -> Decimal:
    """Without zeros after the mark that nobody typed."""
    short = value.normalize()
    return short.quantize(Decimal(1)) if short == short.to_integral_value() else short


@in_its_words
def read_line(rulebook: Rulebook, line_id: str, typed: str) -> str:
    """A line of the prescription as it is stored: plain number in the line's unit, option word, or text.

    Raises InputError (not readable as this line, or so far out that the paper has to be read again), UnitError.
    Source: practice:a0; dilutions fluids:2.1.
    """
    line = rulebook.line(line_id)
    text = " ".join(typed.split())
    if not text:
        raise InputError("line.empty", label=say(f"line.{line_id}"))
    if line.form == "shares":
        return read_shares(line_id, text)
    if line.kind == "text":
        if len(text) > 200 or not text.isprintable():
            raise InputError("line.too_long", label=say(f"line.{line_id}"), length=len(text))
        return text
    if line.kind == "word":
        for option in line.options:
            spoken = say(f"option.{line_id}.{option}")
            if text.casefold() in (option, option.replace("_", " "), spoken.casefold()):
                return option
        options = ", ".join(say(f"option.{line_id}.{option}") for option in line.options)
        raise InputError("line.not_an_option", label=say(f"line.{line_id}"), options=options)
    return plain(_line_number(rulebook, line_id, text))


def _line_number(rulebook: Rulebook, line_id: str, text: str) -> Decimal:
    line = rulebook.line(line_id)
    if line.form == "parts":
        return _in_line_range(rulebook, line_id, read_parts(line_id, text))
    clock = _CLOCK.fullmatch(plain_digits(text))
    if clock and "min" in line.units:
        return _in_line_range(rulebook, line_id, Decimal(int(clock[1]) * 60 + int(clock[2])))
    number, typed_with = split_unit(text)
    value = parse_decimal(number, places=line.places)
    unit = parse_unit(typed_with) if typed_with else typed_unit(rulebook, line)
    if unit != line.unit:
        value = _trim(changed_to(value, unit, line.unit, line.places))
    if line.sign == "negative" and value > 0:
        raise InputError("line.minus_needed", label=say(f"line.{line_id}"), value=plain(value))
    return _in_line_range(rulebook, line_id, value)


def _in_line_range(rulebook: Rulebook, line_id: str, value: Decimal) -> Decimal:
    line = rulebook.line(line_id)
    if _outside(value, line.low, line.high):
        low, high = line.low or Decimal(0), line.high or Decimal(0)
        raise InputError(
            "line.outside",
            label=say(f"line.{line_id}"),
            value=said(rulebook, line, value),
            low=said(rulebook, line, low) if in_own(rulebook, line, low)[1] != line.unit else plain(low),
            high=said(rulebook, line, high),
        )
    return value
