"""Reads a plan worked on paper, and goes over its sums with fractions: nothing of the program is used for that.

A line of a sum reads ``words: expression = value`` where the value is exact, ``~ value`` where it is rounded to the
digits written, and may go on after a comma with how the value is shown.
"""

from __future__ import annotations

import ast
import operator
import re
import tomllib
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent

LINE = re.compile(
    r"^(?P<words>[^:]+): (?P<left>[-+*/(). 0-9]+?) (?P<sign>[=~]) (?P<right>-?[0-9.]+)(?P<rest>, [^=~]+)?$"
)

OPERATORS = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
}

SUMS = ("fluid", "heparin", "concentrates", "water")


@dataclass(frozen=True)
class PaperPlan:
    """given: name to text with unit. sums: the lines of arithmetic. figures: name to text as it is to be shown."""

    name: str
    title: str
    awkward: str
    given: dict[str, Any]
    sums: tuple[str, ...]
    figures: dict[str, str]
    rules: tuple[str, ...]


def plans() -> list[PaperPlan]:
    """All of them, in the order of their numbers."""
    return [_read(path) for path in sorted(HERE.glob("*.toml"))]


def _read(path: Path) -> PaperPlan:
    held = tomllib.loads(path.read_text("utf-8"))
    sums = [line for name in SUMS for line in held["paper"].get(name, "").strip().splitlines()]
    return PaperPlan(
        path.stem,
        held["title"],
        held["awkward"],
        held["given"],
        tuple(sums),
        held["figures"],
        tuple(held["findings"]["rules"]),
    )


def holds(line: str) -> bool:
    """Whether a line of arithmetic is true. Raises ValueError for a line that isn't one."""
    match = LINE.match(line)
    if match is None:
        raise ValueError(f"not a line of a sum: {line}")
    ours, printed = worth(match["left"]), Fraction(match["right"])
    if match["sign"] == "=":
        return ours == printed
    places = len(match["right"].partition(".")[2])
    return abs(ours - printed) <= Fraction(1, 2 * 10**places)


def worth(text: str) -> Fraction:
    """The exact value of an expression in numbers, ``+ - * /`` and brackets."""
    return _worth(ast.parse(text.strip(), mode="eval").body, text)


def _worth(node: ast.expr, text: str) -> Fraction:
    if isinstance(node, ast.Constant):
        return Fraction(ast.get_source_segment(text.strip(), node) or "")
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        return -_worth(node.operand, text)
    if isinstance(node, ast.BinOp):
        done: Fraction = OPERATORS[type(node.op)](_worth(node.left, text), _worth(node.right, text))
        return done
    raise ValueError(f"not a number: {text}")
