"""Values printed outside the project, as rows that a test compares and a change of a constant must break."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from decimal import Decimal

import pytest

from ebbwell.science.catalogue import formula_named


@dataclass(frozen=True)
class Row:
    """printed: the digits as printed. within: tolerance, else half a unit of the last printed digit."""

    key: str
    detail: str
    ours: Callable[[], Decimal]
    printed: str
    within: str = ""

    @property
    def tolerance(self) -> Decimal:
        if self.within:
            return Decimal(self.within)
        exponent = Decimal(self.printed).as_tuple().exponent
        assert isinstance(exponent, int)
        return Decimal(5).scaleb(exponent - 1)

    def off(self) -> Decimal:
        """How far ours lies from the printed figure."""
        return abs(self.ours() - Decimal(self.printed))

    def agrees(self) -> bool:
        return self.off() <= self.tolerance


def calc(name: str, **inputs: str) -> Decimal:
    """A public formula with its inputs as printed."""
    return formula_named(name).function(**{key: Decimal(text) for key, text in inputs.items()})


def params(rows: Iterable[Row]) -> list[object]:
    """The rows for parametrize, each with its source as a marker and as its id."""
    return [
        pytest.param(row, id=f"{row.key} {row.printed}", marks=pytest.mark.source(row.key, detail=row.detail))
        for row in rows
    ]


def check(row: Row) -> None:
    """Compare, with everything needed to see what is off."""
    assert row.agrees(), (
        f"{row.key} ({row.detail}): {row.ours()} against {row.printed}, tolerance {row.tolerance}"
    )
