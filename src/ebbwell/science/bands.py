"""A figure with its band: the ends that nine in ten such bands have the true figure between.

Figures above 0 go by their logarithms, whose variances add up. Source: propagation of errors (general statistics).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log, sqrt
from typing import NamedTuple

from ebbwell.core.errors import DomainError
from ebbwell.science.solutes import Figure

NINE_IN_TEN = 1.6448536269514722
"""Normal deviate that leaves one in twenty on each side. Source: arithmetic (normal distribution)."""


class Spread(NamedTuple):
    """Doubt of the two logarithms searched for: variance of the water share, of both together, of the clearance."""

    water: float
    both: float
    over: float

    def carried(self, by_water: float, by_over: float) -> float:
        """Variance of the log of a figure whose log moves so much with each of the two."""
        return by_water**2 * self.water + 2 * by_water * by_over * self.both + by_over**2 * self.over


CERTAIN = Spread(0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Band:
    """A figure and the ends that nine in ten such bands have the true figure between."""

    low: float
    middle: float
    high: float

    @classmethod
    def of_log(cls, middle: float, variance: float) -> Band:
        """The band of a figure above 0 by its logarithm and the variance of that."""
        reach = NINE_IN_TEN * sqrt(variance)
        return cls(exp(middle - reach), exp(middle), exp(middle + reach))

    def times(self, factor: float) -> Band:
        """The band of so many times the figure; factor above 0."""
        return Band(self.low * factor, self.middle * factor, self.high * factor)


def log_deviation(figure: Figure) -> float:
    """Log standard deviation of a figure whose range is read as nine in ten.

    Raises DomainError for a range that isn't above 0. Source: module text.
    """
    if not 0 < figure.low <= figure.high:
        raise DomainError("science.leg_not_above_zero")
    return log(figure.high / figure.low) / (2 * NINE_IN_TEN)
