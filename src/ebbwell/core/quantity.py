"""A number that knows its unit and whether it is only an upper bound."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from ebbwell.core.numbers import plain


@dataclass(frozen=True, slots=True)
class Quantity:
    """value [unit]; ``below`` means "less than value", as a strip or a laboratory reports it."""

    value: Decimal
    unit: str
    below: bool = False

    def __str__(self) -> str:
        mark = "<" if self.below else ""
        return f"{mark}{plain(self.value)} {self.unit}".rstrip()
