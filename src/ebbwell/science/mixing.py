"""Mixing and diluting: strength times volume stays the same.

The result of ``volume_after_dilution`` is the whole, not what is added: the trap of "1 in 20" and "1 + 19".
"""

from __future__ import annotations

from decimal import Decimal

from ebbwell.core.errors import DomainError
from ebbwell.core.numbers import plain
from ebbwell.science.formula import formula, span

VOLUME = span("mL", "0.01", "20000")
STRENGTH = span("%", "0.001", "100")


def _weaker(stock_percent: Decimal, final_percent: Decimal) -> None:
    if final_percent > stock_percent:
        raise DomainError(
            "science.stronger_than_stock", final=plain(final_percent), stock=plain(stock_percent)
        )


@formula(
    unit="mL",
    places=1,
    source="arithmetic",
    text="final volume x final strength / stock strength",
    final_volume_ml=VOLUME,
    final_percent=STRENGTH,
    stock_percent=STRENGTH,
)
def stock_needed(*, final_volume_ml: Decimal, final_percent: Decimal, stock_percent: Decimal) -> Decimal:
    """Strong solution that makes a volume of a weaker one.  [mL]

    final_volume_ml [mL] 0.01 to 20,000; final_percent, stock_percent [%] 0.001 to 100. Raises DomainError
    outside, and where the final strength is above the stock's. Source: arithmetic.
    """
    _weaker(stock_percent, final_percent)
    return final_volume_ml * final_percent / stock_percent


@formula(
    unit="mL",
    places=1,
    source="arithmetic",
    text="stock volume x stock strength / final strength",
    stock_volume_ml=VOLUME,
    stock_percent=STRENGTH,
    final_percent=STRENGTH,
)
def volume_after_dilution(
    *, stock_volume_ml: Decimal, stock_percent: Decimal, final_percent: Decimal
) -> Decimal:
    """The whole volume once a strong solution is down to a weaker strength.  [mL]

    Subtract the stock for what to add.

    stock_volume_ml [mL] 0.01 to 20,000; stock_percent, final_percent [%] 0.001 to 100. Raises DomainError
    outside, and where the final strength is above the stock's. Source: arithmetic.
    """
    _weaker(stock_percent, final_percent)
    return stock_volume_ml * stock_percent / final_percent


@formula(
    unit="%",
    places=3,
    source="arithmetic",
    text="stock volume x stock strength / (stock volume + water added)",
    stock_volume_ml=VOLUME,
    stock_percent=STRENGTH,
    water_ml=span("mL", "0", "20000"),
)
def strength_after_dilution(
    *, stock_volume_ml: Decimal, stock_percent: Decimal, water_ml: Decimal
) -> Decimal:
    """Strength once water has been added.  [%]

    stock_volume_ml [mL] 0.01 to 20,000; stock_percent [%] 0.001 to 100; water_ml [mL] 0 to 20,000, added.
    Raises DomainError outside. Source: arithmetic.
    """
    return stock_volume_ml * stock_percent / (stock_volume_ml + water_ml)
