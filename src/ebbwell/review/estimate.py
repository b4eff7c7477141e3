"""A figure of a fit, for looking back: with its unit, its band, the model it rests on and where that was published."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ebbwell.review.doubt import wider
from ebbwell.science.bands import Band

SOURCE = "kinetics:A8"
"""Where it is published what a pair of bloods can tell, for every figure of a fit."""


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


def estimate_of(name: str, unit: str, model: str, band: Band, places: int, rests: Sequence[str]) -> Estimate:
    """A figure with what its band holds: the doubt of the bloods and of what was put in.

    band: in unit. rests: further wording keys of what went in.
    """
    numbers = (band.middle, band.low, band.high, places)
    return Estimate(name, unit, model, SOURCE, *numbers, ("rests.bloods_only", *rests))


def wider_estimate_of(
    name: str, unit: str, model: str, band: Band, places: int, rests: Sequence[str]
) -> Estimate:
    """The same with the band widened by what the model may be off."""
    wide = wider(band)
    numbers = (wide.middle, wide.low, wide.high, places)
    return Estimate(name, unit, model, SOURCE, *numbers, ("rests.model_off", *rests))
