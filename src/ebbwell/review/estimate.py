"""A figure of a fit, for looking back: with its unit, its band, the model it rests on and where that was published."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Estimate:
    """name: what it is, wording key ``estimate.<name>``. value, low, high: in unit.

    low, high: ends that nine in ten such bands have the true figure between, if the model holds. places: digits it is
    told with. model: wording key ``model.<model>``. source: key in rulebook/sources.toml. rests_on: wording keys of what
    went in and of what the band holds.
    """

    name: str
    unit: str
    model: str
    source: str
    value: float
    low: float
    high: float
    places: int
    rests_on: tuple[str, ...] = ()

    def shown(self, value: float) -> str:
        """One of its numbers with the digits it is told with."""
        return f"{value:.{self.places}f}"
