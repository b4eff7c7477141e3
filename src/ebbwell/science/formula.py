"""What a public formula is: a pure function with units, ranges and a source, checked at each call.

The decorator ties the three together, so that the range a formula refuses, the range the docs show and the
range the tests walk are one.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Context, Decimal, localcontext
from functools import wraps
from typing import Any, ParamSpec

from ebbwell.core.errors import DomainError
from ebbwell.core.numbers import plain, without_noise

P = ParamSpec("P")

CONTEXT = Context(prec=34)
"""Digits carried through a sum; the caller's own decimal settings change nothing."""

ROUNDING = {"nearest": ROUND_HALF_UP, "down": ROUND_FLOOR, "up": ROUND_CEILING}


@dataclass(frozen=True, slots=True)
class Range:
    """The values an input may have, both ends included."""

    unit: str
    low: Decimal
    high: Decimal


@dataclass(frozen=True, slots=True)
class FormulaInput:
    """One input: its argument name, unit and range; default is None where it must be given.

    meaning: wording key that says in plain words what it is.
    """

    name: str
    unit: str
    low: Decimal
    high: Decimal
    default: Decimal | None

    @property
    def meaning(self) -> str:
        """Wording key of the input."""
        return f"input.{self.name}"


@dataclass(frozen=True, slots=True)
class Formula:
    """A public formula. name: its function's name, which is the name of its result.

    unit, text, source: of the result, the working, and a key in rulebook/sources.toml.
    places, rounding: how the result is shown (``nearest``, ``down``, ``up``); the value itself isn't
    rounded. review_only: for looking back, never to be listed at the bedside.
    """

    name: str
    function: Callable[..., Decimal]
    inputs: tuple[FormulaInput, ...]
    unit: str
    text: str
    source: str
    places: int
    rounding: str
    trim: bool
    review_only: bool = False

    @property
    def meaning(self) -> str:
        """Wording key of the result."""
        return f"formula.{self.name}"

    def shown(self, value: Decimal, most: Decimal | None = None) -> str:
        """The value with the digits it is shown with; never a minus before zero.

        most: what the value is held against, unrounded. The rounded figure lies on the same side of it as the value.
        """
        step = Decimal(1).scaleb(-self.places)
        rounded = value.quantize(step, rounding=ROUNDING[self.rounding], context=CONTEXT)
        exact = without_noise(value)
        if most is not None and (rounded > most) is not (exact > most):
            away = ROUND_CEILING if exact > most else ROUND_FLOOR
            rounded = exact.quantize(step, rounding=away, context=CONTEXT)
        tidy = rounded.normalize(CONTEXT) if self.trim else rounded
        return plain(tidy if tidy else tidy.copy_abs())


registered: dict[str, Formula] = {}
"""Every formula of the modules loaded so far; ``science.catalogue`` loads them all."""


def span(unit: str, low: str, high: str) -> Range:
    """A range written in the table's own digits."""
    return Range(unit, Decimal(low), Decimal(high))


def refuse(name: str, value: Decimal, allowed: Range | FormulaInput) -> DomainError:
    """The refusal of a value outside its range."""
    return DomainError(
        "science.out_of_range",
        name=name,
        value=plain(value) if value.is_finite() else str(value),
        unit=allowed.unit,
        low=plain(allowed.low),
        high=plain(allowed.high),
    )


def inside(name: str, value: Decimal, allowed: Range | FormulaInput) -> None:
    """Raise DomainError for a value outside its range, not-a-number and infinity too."""
    if not value.is_finite() or not allowed.low <= value <= allowed.high:
        raise refuse(name, value, allowed)


def formula(
    *,
    unit: str,
    text: str,
    source: str,
    places: int,
    rounding: str = "nearest",
    trim: bool = False,
    review_only: bool = False,
    **ranges: Range,
) -> Callable[[Callable[P, Decimal]], Callable[P, Decimal]]:
    """Enter a keyword-only function of Decimals in the register and check its inputs at each call.

    Raises ValueError at import for an argument without range or a name used twice. The function then raises
    DomainError outside a range (not-a-number and infinity too) and TypeError for anything that isn't a
    Decimal.
    """

    def enter(function: Callable[P, Decimal]) -> Callable[P, Decimal]:
        name = function.__name__
        parameters = inspect.signature(function).parameters
        if set(parameters) != set(ranges) or name in registered:
            raise ValueError(f"formula {name}: arguments and ranges differ, or the name is taken")
        if any(p.kind is not inspect.Parameter.KEYWORD_ONLY for p in parameters.values()):
            raise ValueError(f"formula {name}: inputs go by name only")

        @wraps(function)
        def checked(*args: P.args, **kwargs: P.kwargs) -> Decimal:
            for key, value in kwargs.items():
                allowed = ranges.get(key)
                if allowed is None:
                    continue
                if not isinstance(value, Decimal):
                    raise TypeError(f"{key} must be a Decimal, not {type(value).__name__}")
                inside(key, value, allowed)
            with localcontext(CONTEXT):
                return function(*args, **kwargs)

        registered[name] = Formula(
            name=name,
            function=checked,
            inputs=tuple(_input(p, ranges[p.name]) for p in parameters.values()),
            unit=unit,
            text=text,
            source=source,
            places=places,
            rounding=rounding,
            trim=trim,
            review_only=review_only,
        )
        return checked

    return enter


def _input(parameter: inspect.Parameter, allowed: Range) -> FormulaInput:
    default: Any = None if parameter.default is inspect.Parameter.empty else parameter.default
    return FormulaInput(parameter.name, allowed.unit, allowed.low, allowed.high, default)
