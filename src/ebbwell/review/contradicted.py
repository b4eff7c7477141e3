"""Whether bloods, the model and what was put in go together; where they don't, no figure is told."""

from __future__ import annotations

from math import exp, log
from statistics import median

from ebbwell.science.fit import Fit, Known

APART = 3.0
"""Standard deviations of what was put in from which the bloods contradict it. Source: common practice, no source."""
SCATTER = 2.0
"""Median distance of the pairs from the model, in their own standard deviations, from which nothing is told: half of the
pairs then lie where one in twenty should. Source: common practice, no source."""
SCATTER_FROM = 3
"""Pairs from which a scatter can be seen. Source: design."""


def contradicted(found: Fit, known: Known) -> tuple[str, dict[str, str]]:
    """Why the bloods can't go together with the model and what was put in: a wording key and its parameters.

    known: what was put into ``found``. The key is "" where they may go together. Source: own choice, by the constants.
    """
    water = log(found.water_share.middle / known.water_share) / known.water_doubt
    over = log(found.clearance_over.middle) / known.clearance_doubt
    if max(abs(water), abs(over)) > APART:
        wanted = exp(log(found.clearance_over.middle) - log(found.water_share.middle / known.water_share))
        return "fit.cannot_apart", {"times": f"{wanted:.2f}"}
    if len(found.residuals) >= SCATTER_FROM and median(abs(one) for one in found.residuals) > SCATTER:
        return "fit.cannot_scatter", {}
    return "", {}
