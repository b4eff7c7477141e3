"""Reads a dilution as labels print it: the sum of its parts."""

from __future__ import annotations

from decimal import Decimal

from ebbwell.core.errors import InputError
from ebbwell.core.numbers import parse_decimal, plain_digits
from ebbwell.core.text import say


def read_parts(line_id: str, text: str) -> Decimal:
    """A dilution as the sum of its parts: ``1 + 34`` is 35; ``1:34`` and a bare 34 read two ways.

    Three numbers, of acid, bicarbonate and water, read one way: ``1 : 1.83 : 34`` is 36.83. Raises InputError for what
    reads two ways, and for what is no number. Source: fluids:2.1, fluids:F1, fluids:F2.
    """
    folded = _folded(text)
    three = _three(folded)
    if three:
        return sum((parse_decimal(number, places=3) for number in three[1:]), Decimal(1))
    if folded.startswith("1+"):
        return 1 + parse_decimal(folded[2:], places=2)
    if ":" in folded or folded in ("34", "44"):
        number = folded.rpartition(":")[2]
        raise InputError("line.parts_two_ways", label=say(f"line.{line_id}"), typed=text, number=number)
    return parse_decimal(folded, places=2)


def bicarbonate_parts(text: str) -> Decimal | None:
    """The parts of bicarbonate for each part of acid, where all three are printed: ``1 : 1.83 : 34`` has 1.83.

    None where the text has no three numbers. Raises InputError for what is no number. Source: fluids:F1, fluids:F2.
    """
    three = _three(_folded(text))
    return parse_decimal(three[1], places=3) if three else None


def _folded(text: str) -> str:
    return plain_digits(text).replace(" ", "").casefold().removesuffix("parts").removesuffix("x")


def _three(folded: str) -> list[str]:
    """Three numbers of which the first is 1; none else."""
    three = folded.replace("+", ":").split(":")
    return three if len(three) == 3 and three[0] == "1" else []
