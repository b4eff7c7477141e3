"""One person's own numbers from pairs of several solutes that spread in all body water: urea, and creatinine beside it.

Each solute has its own clearance and its own generation, and the body's water is one for all, so that a second solute
says more of the water than another month of the first. Its split of the water is less well known than urea's, so the
flow between the pools is a number to be found too, held by its published range. All else is as in ``fit``.
Source: kinetics A8, C (model, urea); ``solutes`` for creatinine's figures, whose flow is from memory.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import exp, hypot, log

import numpy as np

from ebbwell.core.errors import DomainError
from ebbwell.science.bands import Band, log_deviation
from ebbwell.science.exp_differences_many import Array
from ebbwell.science.fit import (
    DAMPING,
    DIFFERENCE,
    KNOWN,
    STEPS,
    Expected,
    Known,
    MonthBloods,
    Split,
    check_months,
    expected,
    log_generation,
)
from ebbwell.science.solutes import CREATININE, UREA, Solute

SMALL = 1e-8
"""Logarithms that a last step may move. Source: arithmetic."""
IN_ALL_WATER = (UREA, CREATININE)
"""Solutes whose pools are those of all body water. Source: kinetics:C."""


@dataclass(frozen=True, slots=True)
class SeveralFit:
    """What the pairs of all solutes say together; bands as in ``fit.Fit``.

    water_share [L/kg]. clearance_over, between_per_min [1/min], generation [mmol/min, one a month]: by solute.
    residuals: of each month's log ratio, in standard deviations, by solute.
    """

    water_share: Band
    clearance_over: Mapping[str, Band]
    between_per_min: Mapping[str, Band]
    generation: Mapping[str, tuple[Band, ...]]
    residuals: Mapping[str, tuple[float, ...]]


def fit_several(pairs: Mapping[str, Sequence[MonthBloods]], known: Known = KNOWN) -> SeveralFit:
    """The most likely numbers of several solutes and their bands.

    pairs: ``urea``, ``creatinine`` or both, each with one month or more; concentrations in water, and the clearance that
    dialyser and flows make of that solute. known: what is put in; its clearance doubt goes for each solute by
    itself, and more for creatinine. Raises DomainError for no pairs, a solute that isn't in all water, and as
    ``fit.fit``. Source: module text.
    """
    solutes = [one for one in IN_ALL_WATER if one.key in pairs]
    if len(solutes) < len(pairs) or not solutes or not all(pairs.values()):
        raise DomainError("science.no_bloods")
    for one in solutes:
        check_months(pairs[one.key], known)
    return _Several(solutes, pairs, known).found()


def clearance_doubt(solute: Solute, known: Known = KNOWN) -> float:
    """Log standard deviation of a worked-out clearance: what is put in, and the flow that carries the solute.

    Red cells give up creatinine more slowly than urea, so its flow is doubted apart. Source: module text.
    """
    carried = solute.figures.get("carried")
    return known.clearance_doubt if carried is None else hypot(known.clearance_doubt, log_deviation(carried))


class _Several:
    """Logarithms searched for: the water share, then for each solute the clearance and the flow between the pools."""

    def __init__(
        self, solutes: Sequence[Solute], pairs: Mapping[str, Sequence[MonthBloods]], known: Known
    ) -> None:
        self.solutes, self.pairs, self.known = solutes, pairs, known
        self.seen: dict[tuple[MonthBloods, float, float, Split], Expected] = {}
        middles, doubts = [log(known.water_share)], [known.water_doubt]
        for one in solutes:
            flow = one.figures["between_per_min"]
            middles += [0.0, log(flow.value)]
            doubts += [clearance_doubt(one, known), log_deviation(flow)]
        self.middles, self.doubts = np.array(middles), np.array(doubts)

    def told(self, numbers: Array, place: int, month: MonthBloods) -> Expected:
        """The model's figures of a month; months alike but for their bloods share one sum."""
        split = Split(self.solutes[place].figures["outer_share"].value, exp(float(numbers[2 + 2 * place])))
        key = (
            month.without_bloods(),
            exp(float(numbers[0])),
            exp(float(numbers[1 + 2 * place])),
            split,
        )
        if key not in self.seen:
            self.seen[key] = expected(*key)
        return self.seen[key]

    def each(self, numbers: Array) -> Iterator[tuple[MonthBloods, Expected]]:
        """Every month beside the model's figures of it, solute by solute."""
        for place, one in enumerate(self.solutes):
            for month in self.pairs[one.key]:
                yield month, self.told(numbers, place, month)

    def ratios(self, numbers: Array) -> list[float]:
        """How far each month's log ratio lies from the model's, in standard deviations."""
        doubt = self.known.ratio_doubt
        return [
            (log(month.post / month.before) - (told.post - told.before)) / doubt
            for month, told in self.each(numbers)
        ]

    def residuals(self, numbers: Array) -> Array:
        """The same, then those of what was put in."""
        return np.concatenate([self.ratios(numbers), (numbers - self.middles) / self.doubts])

    def levels(self, numbers: Array) -> Array:
        """The log of what each month's generation comes to, for bloods as they are."""
        return np.array([log_generation(month, told) for month, told in self.each(numbers)])

    def _moved(self, numbers: Array, number: int, by: float) -> Array:
        moved = numbers.copy()
        moved[number] += by
        return moved

    def slopes(self, numbers: Array) -> tuple[Array, Array]:
        """Derivatives of the residuals and of the levels by each number, a column each, from both sides."""
        rows, levels = [], []
        for number in range(len(numbers)):
            up, down = (self._moved(numbers, number, by) for by in (DIFFERENCE, -DIFFERENCE))
            rows.append((self.residuals(up) - self.residuals(down)) / (2 * DIFFERENCE))
            levels.append((self.levels(up) - self.levels(down)) / (2 * DIFFERENCE))
        return np.array(rows).T, np.array(levels).T

    def best(self) -> Array:
        """Damped Gauss and Newton steps from what was put in."""
        numbers, damping = self.middles.copy(), DAMPING
        rows = self.residuals(numbers)
        for _ in range(STEPS):
            slopes, _levels = self.slopes(numbers)
            normal = slopes.T @ slopes
            step = np.linalg.solve(normal + damping * np.diag(np.diag(normal)), -slopes.T @ rows)
            trial = self.residuals(numbers + step)
            if trial @ trial <= rows @ rows:
                numbers, rows, damping = numbers + step, trial, damping / 10
                if np.abs(step).max() < SMALL:
                    break
            else:
                damping *= 10
        return numbers

    def found(self) -> SeveralFit:
        """Bands by the slopes at the best place."""
        numbers = self.best()
        slopes, level_slopes = self.slopes(numbers)
        spread = np.linalg.inv(slopes.T @ slopes)
        bands = [Band.of_log(middle, spread[n, n]) for n, middle in enumerate(numbers)]
        variances = np.einsum("ij,jk,ik->i", level_slopes, spread, level_slopes) + self.known.level_variance
        levels = [Band.of_log(*one) for one in zip(self.levels(numbers), variances, strict=True)]
        ratios, start = self.ratios(numbers), 0
        generation, residuals = {}, {}
        for one in self.solutes:
            end = start + len(self.pairs[one.key])
            generation[one.key] = tuple(levels[start:end])
            residuals[one.key] = tuple(ratios[start:end])
            start = end
        return SeveralFit(
            bands[0],
            {one.key: bands[1 + 2 * n] for n, one in enumerate(self.solutes)},
            {one.key: bands[2 + 2 * n] for n, one in enumerate(self.solutes)},
            generation,
            residuals,
        )
