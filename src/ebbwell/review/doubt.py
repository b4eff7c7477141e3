"""What the doubt of parameters does to a figure: bands that nine in ten such bands hold the true figure between.

Each parameter has a middle and a log standard deviation, and parameters may doubt each other. A figure's slope by each
is taken by the logs, from a standard deviation below to one above, and variances add up: linear, the same on each run,
and as dear as one sum more than twice the number of parameters. All these sums go in one call, as arrays. A figure that
is above 0 everywhere goes by its log; one that may be 0 or below goes by itself.

Urea's parameters are the fitted ones and the model's own. ``docs/fit_study.md`` shows that the fit's bands of the weekly
dose miss the truth where the water is parted otherwise than the fit takes it to be: bloods hold the ratio of clearance
to water so well that a small error of the model lies outside. So the outer share and the flow between the pools have
their published ranges here, and the fit is moved along with them, as it would be by bloods that are the same under
another split. What no range can carry, such as a dialyser that fades over the night or samples drawn late, is allowed
for by the same few per cent at both ends of every band that is told (``wider``).
Source: propagation of errors (general statistics); ranges as ``science.solutes`` gives them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import exp, isfinite, sqrt
from typing import NamedTuple

import numpy as np

from ebbwell.core.errors import DomainError
from ebbwell.review.basis import Basis
from ebbwell.science.bands import NINE_IN_TEN, Band, log_deviation
from ebbwell.science.exp_differences_many import Array as Array
from ebbwell.science.fit import SPLIT, Split, expected, generation_of
from ebbwell.science.fit_many import moved_by_split
from ebbwell.science.solutes import UREA, Figure

Points = Mapping[str, Array]
"""Parameter to its values, one for each sum that is asked for."""

MODEL_OFF = 1.06
"""What a band of the fit is widened by at each end, for the model may not be the body: the weekly dose of made-up people
with other pools lay 5.7 % off, outside its band. Source: docs/fit_study.md (own trial, no person)."""
GAIN_DOUBT = 0.20
"""Log standard deviation of the fluid gained in a day. Source: common practice, no source."""
LEVEL_DOUBT = 0.10
"""Log standard deviation of one level as it stands for the usual one: laboratory and day to day. Source: common
practice, no source."""
WATER, OVER, OUTER, BETWEEN, BLOODS, GAIN = (
    "water",
    "over",
    "outer_share",
    "between_per_min",
    "bloods",
    "gain",
)
"""Parameters of urea: share of water [L/kg], clearance over the worked-out one, the split, the error of the newest pair,
the fluid gained over the usual one."""


class Doubtful(NamedTuple):
    """A parameter: name, middle above 0, log standard deviation of 0 or more."""

    name: str
    middle: float
    log_sd: float


@dataclass(frozen=True, slots=True)
class Doubts:
    """Parameters with their doubt. spread: covariances of the logs, a row and a column for each name."""

    names: tuple[str, ...]
    middles: tuple[float, ...]
    spread: tuple[tuple[float, ...], ...]

    def points(self) -> dict[str, Array]:
        """Where figures are to be worked out: all in the middle, then each one a standard deviation up, then down."""
        count = len(self.names)
        found = {}
        for number, (name, middle) in enumerate(zip(self.names, self.middles, strict=True)):
            step = exp(sqrt(self.spread[number][number]))
            values = np.full(1 + 2 * count, middle)
            values[1 + number] = middle * step
            values[1 + count + number] = middle / step
            found[name] = values
        return found

    def bands(self, figures: Array) -> tuple[Band, ...]:
        """The band of each figure. figures: a row for each, a column for each point of ``points``.

        Raises DomainError for a figure that isn't a number. Source: module text.
        """
        if not np.isfinite(figures).all():
            raise DomainError("science.leg_not_a_number")
        count = len(self.names)
        spread = np.array(self.spread).reshape(count, count)
        steps = np.sqrt(np.diag(spread))
        inverse = np.where(steps > 0, 0.5 / np.where(steps > 0, steps, 1.0), 0.0)
        made = []
        for row in figures:
            by_log = bool((row > 0).all())
            values = np.log(row) if by_log else row
            slopes = (values[1 : 1 + count] - values[1 + count :]) * inverse
            reach = NINE_IN_TEN * sqrt(max(float(slopes @ spread @ slopes), 0.0))
            ends = [float(values[0]) + side * reach for side in (-1, 0, 1)]
            made.append(Band(*(map(exp, ends) if by_log else ends)))
        return tuple(made)

    def banded(self, figures: Callable[[Points], Mapping[str, Array]]) -> dict[str, Band]:
        """Names of figures to their bands; figures: what a set of parameters makes of each. Raises as ``bands``."""
        found = figures(self.points())
        width = 1 + 2 * len(self.names)
        rows = np.array([np.broadcast_to(row, width) for row in found.values()]).reshape(-1, width)
        return dict(zip(found, self.bands(rows), strict=True))


def wider(band: Band) -> Band:
    """A band of the fit, above 0, widened at both ends by ``MODEL_OFF``. Source: docs/fit_study.md (own trial)."""
    return Band(band.low / MODEL_OFF, band.middle, band.high * MODEL_OFF)


def ranged(figures: Mapping[str, Figure]) -> Doubts:
    """The parameters of a solute, each by its published middle and range."""
    return apart([Doubtful(name, one.value, log_deviation(one)) for name, one in figures.items()])


def apart(parameters: Sequence[Doubtful]) -> Doubts:
    """Parameters that have nothing to do with each other. Raises DomainError for a doubt below 0 and no number."""
    for one in parameters:
        if not (isfinite(one.middle) and isfinite(one.log_sd) and one.middle > 0 and one.log_sd >= 0):
            raise DomainError("science.leg_not_above_zero")
    variances = np.diag([one.log_sd**2 for one in parameters])
    return Doubts(
        tuple(one.name for one in parameters),
        tuple(one.middle for one in parameters),
        tuple(tuple(map(float, row)) for row in variances),
    )


def together(*all_doubts: Doubts) -> Doubts:
    """Sets of parameters side by side; none of one set has to do with any of another."""
    names = [name for one in all_doubts for name in one.names]
    size, at = len(names), 0
    spread = np.zeros((size, size))
    for one in all_doubts:
        end = at + len(one.names)
        spread[at:end, at:end] = np.array(one.spread).reshape(end - at, end - at)
        at = end
    return Doubts(
        tuple(names),
        tuple(middle for one in all_doubts for middle in one.middles),
        tuple(tuple(map(float, row)) for row in spread),
    )


def water_doubts(basis: Basis) -> Doubts:
    """The share of water alone, with the fit's own doubt, for solutes that lean on nothing else of urea's."""
    fit = basis.fit
    return apart([Doubtful(WATER, fit.water_share.middle, sqrt(fit.spread.water))])


def urea_doubts(basis: Basis) -> Doubts:
    """Urea's parameters: the fit's two, the split of the water that moves them, the newest pair, the fluid gained.

    Raises DomainError for no bloods, and as ``expected``. Source: module text.
    """
    if not basis.months:
        raise DomainError("science.no_bloods")
    fit = basis.fit
    steps = Split(*(log_deviation(UREA.figures[name]) for name in Split._fields))
    moved = np.array(moved_by_split(basis.months, basis.known, fit, steps)).T
    split = np.diag([step**2 for step in steps])
    own = np.array([[fit.spread.water, fit.spread.both], [fit.spread.both, fit.spread.over]])
    across = moved @ split
    spread = np.block([[own + across @ moved.T, across], [across.T, split]])
    fitted = Doubts(
        (WATER, OVER, OUTER, BETWEEN),
        (fit.water_share.middle, fit.clearance_over.middle, *SPLIT),
        tuple(tuple(map(float, row)) for row in spread),
    )
    pair = Doubtful(BLOODS, 1.0, sqrt(basis.known.level_variance))
    return together(fitted, apart([pair, Doubtful(GAIN, 1.0, GAIN_DOUBT)]))


def generation_at(basis: Basis, points: Points) -> Array:
    """Urea made [mmol/min] that the newest pair of bloods speaks for, at each point. Source: module text of ``fit``."""
    month = basis.months[-1]
    seen: dict[tuple[float, ...], float] = {}
    found = []
    for water, over, outer, between in zip(
        *(points[name].tolist() for name in (WATER, OVER, OUTER, BETWEEN)), strict=True
    ):
        key = (water, over, outer, between)
        if key not in seen:
            seen[key] = generation_of(month, expected(month, water, over, Split(outer, between)))
        found.append(seen[key])
    return np.array(found) * points[BLOODS]
