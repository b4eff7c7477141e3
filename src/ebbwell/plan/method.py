"""How tonight's fluid is come by, as the procedure has it: which parts the plan has, and lines of its own."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from ebbwell.core.worked import Input

PARTS = ("heparin", "concentrates", "water")
"""Parts that a plan can have besides fluid, time and blood."""


@dataclass(frozen=True, slots=True)
class MethodLine:
    """One line of the procedure's own. name: of a formula; inputs: given, or the name of a line before it."""

    name: str
    inputs: Mapping[str, Input | str | None]


@dataclass(frozen=True, slots=True)
class Method:
    """parts: of ``PARTS``; lines: of the procedure's own, in their order."""

    parts: tuple[str, ...] = PARTS
    lines: tuple[MethodLine, ...] = field(default=())

    def entries(self) -> tuple[str, ...]:
        """Ids of the entries that the lines of its own rest on."""
        inputs = (one for line in self.lines for one in line.inputs.values())
        return tuple(one.entry for one in inputs if isinstance(one, Input) and one.entry)
