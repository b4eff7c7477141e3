"""A fit of the pairs that sit together; where bloods, the model and what was put in don't, no figure is told.

A pair that lies far from what all say together is left out, the furthest first and each time with a new fit, as long as
most pairs stay. It is named, never hidden: somebody has to look how its samples were drawn.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from math import exp, log
from statistics import median

from ebbwell.science.bands import Band
from ebbwell.science.fit import KNOWN, ODD_AT, Fit, Known, MonthBloods, fit

APART = 3.0
"""Standard deviations of what was put in from which the bloods contradict it. Source: common practice, no source."""
SCATTER = 2.0
"""Median distance of the pairs from the model, in their own standard deviations, from which nothing is told: half of the
pairs then lie where one in twenty should. Source: common practice, no source."""
SCATTER_FROM = 3
"""Pairs from which a scatter can be seen. Source: design."""
LEFT_OUT = 1 / 3
"""Share of the pairs that may be left out as odd, at most. Source: common practice, no source."""


@dataclass(frozen=True, slots=True)
class SoundFit:
    """fit: of the months at ``kept``; None where nothing can be told, then ``why`` is the wording key of the reason.

    kept, odd: places among the months, ascending.
    """

    fit: Fit | None
    kept: tuple[int, ...]
    odd: tuple[int, ...] = ()
    why: str = ""
    why_params: dict[str, str] = field(default_factory=dict)


def sound_fit(months: Sequence[MonthBloods], known: Known = KNOWN) -> SoundFit:
    """The fit of the months that sit together.

    Raises DomainError as ``science.fit.fit``. Source: own choice, by the constants; the estimate as ``science.fit``.
    """
    kept = list(range(len(months)))
    found = fit(months, known)
    spare = int(LEFT_OUT * len(months))
    while spare:
        worst = max(range(len(kept)), key=lambda place: abs(found.residuals[place]))
        if abs(found.residuals[worst]) <= ODD_AT:
            break
        del kept[worst]
        spare -= 1
        found = fit([months[place] for place in kept], known)
    odd = tuple(place for place in range(len(months)) if place not in kept)
    why, params = contradicted(found, known)
    return SoundFit(None if why else found, tuple(kept), odd, why, params)


def pulled(water_share: Band, clearances_over: Iterable[Band], known: Known) -> float:
    """How far the bloods pull what was put in at most, in standard deviations of it. Source: arithmetic."""
    water = log(water_share.middle / known.water_share) / known.water_doubt
    overs = [log(one.middle) / known.clearance_doubt for one in clearances_over]
    return max(map(abs, (water, *overs)))


def contradicted(found: Fit, known: Known) -> tuple[str, dict[str, str]]:
    """Why the bloods can't go together with the model and what was put in: a wording key and its parameters.

    known: what was put into ``found``. The key is "" where they may go together. Source: own choice, by the constants.
    """
    if pulled(found.water_share, [found.clearance_over], known) > APART:
        wanted = exp(log(found.clearance_over.middle) - log(found.water_share.middle / known.water_share))
        return "fit.cannot_apart", {"times": f"{wanted:.2f}"}
    if len(found.residuals) >= SCATTER_FROM and median(abs(one) for one in found.residuals) > SCATTER:
        return "fit.cannot_scatter", {}
    return "", {}
