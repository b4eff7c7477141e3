"""Three looks of a chart: day paper, night, print. Shapes and dashes tell lines apart; colour only helps."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True)
class Palette:
    """Colours as ``#RRGGBB``. arterial, venous: for those two lines only, which also carry their words."""

    name: str
    paper: str
    ink: str
    soft: str
    line: str
    accent: str
    band: str
    arterial: str
    venous: str

    def of(self, role: str) -> str:
        """The colour of a line by its role: ``arterial``, ``venous``, else ink."""
        return {"arterial": self.arterial, "venous": self.venous}.get(role, self.ink)


DAY: Final = Palette(
    name="day",
    paper="#F6F1E7",
    ink="#1C1E22",
    soft="#4A4F55",
    line="#CFC4B0",
    accent="#5A3A5E",
    band="#E6DCCA",
    arterial="#9C2A2A",
    venous="#27508F",
)
NIGHT: Final = Palette(
    name="night",
    paper="#0C0F12",
    ink="#D9CBB0",
    soft="#A89C86",
    line="#2C2F33",
    accent="#D9CBB0",
    band="#23282D",
    arterial="#E08A7C",
    venous="#9DB7E6",
)
PRINT: Final = Palette(
    name="print",
    paper="#FFFFFF",
    ink="#000000",
    soft="#333333",
    line="#BBBBBB",
    accent="#000000",
    band="#E2E2E2",
    arterial="#000000",
    venous="#000000",
)

PALETTES: Final = {p.name: p for p in (DAY, NIGHT, PRINT)}
"""Name of the look to its palette."""
