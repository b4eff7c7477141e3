"""A figure worked out for looking back: with its unit, its band, the model it rests on and where that was published."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Estimate:
    """name: what it is, wording key ``estimate.<name>``. value, low, high: in unit; None where there is none.

    low, high: ends that nine in ten such bands have the true figure between, if the model holds; None for no band.
    model: wording key ``model.<model>``. source: key in rulebook/sources.toml. rests_on: what went in that nobody
    measured, wording keys. why, why_params: wording key of why there is no figure, "" where there is one.
    """

    name: str
    unit: str
    model: str
    source: str
    value: float | None = None
    low: float | None = None
    high: float | None = None
    places: int = 2
    rests_on: tuple[str, ...] = ()
    why: str = ""
    why_params: Mapping[str, str] | None = None

    def shown(self, value: float | None) -> str:
        """One of its numbers with the digits it is told with; "" for none. Never a minus before zero."""
        if value is None:
            return ""
        text = f"{value:.{self.places}f}"
        return text.removeprefix("-") if float(text) == 0 else text
