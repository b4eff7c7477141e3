"""What of a file of bloods looks like a slip: another unit than the column's, a figure far from the person's others.

Nothing is changed and nothing dropped. Each is a question, to be answered with the laboratory's paper.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from math import exp, log
from statistics import median

from ebbwell.core.errors import DomainError
from ebbwell.core.numbers import plain
from ebbwell.core.units import LB_KG
from ebbwell.exchange.table import Broken
from ebbwell.review.pairs import Pair, by_person, month_of
from ebbwell.rulebook.substances import substance
from ebbwell.science.fit import SPLIT, USUAL_WATER, Expected, MonthBloods, expected
from ebbwell.science.fit_many import expected_many

NEAR = log(1.15)
"""How near a figure has to come to another unit's factor. Source: design."""
NEAR_FALL = log(1.25)
"""The same for how far urea fell, which a person's own water and dialyser move too. Source: design."""
FAR = log(1.8)
"""From which a pair falls so unlike what dialyser and hours would do that it is asked about. Source: design."""
LEAST_PAIRS = 3
"""Pairs of a person from which they tell what is usual. Source: design."""
WEIGHT_FAR = 0.15
"""Share by which a weight may be off the person's middle one before it is asked about. Source: design."""
GAIN_ASKED = 5.0
"""Gain in a day from which it is asked about [L]. Source: common practice, no source."""


def unit_factors() -> dict[tuple[str, str], float]:
    """Unit on the paper and unit of the column to how much too large the figure then is."""
    urea = substance("urea")
    kept = {unit: float(urea.in_kept(Decimal(1), unit)) for unit in urea.all_units}
    return {(a, b): kept[b] / kept[a] for a in kept for b in kept if a != b}


def slips(pairs: Sequence[Pair]) -> tuple[Broken, ...]:
    """Every question about the pairs, by line."""
    found: list[Broken] = []
    factors = tuple(unit_factors().values())
    awaited = dict(zip(pairs, _awaited(pairs), strict=True))
    for ones in by_person(pairs).values():
        levels = {one: log(one.urea_before) - told.before for one in ones if (told := awaited[one])}
        usual = median(levels.values()) if len(levels) > LEAST_PAIRS else None
        usual_weight = median(one.weight_kg for one in ones)
        for one in ones:
            asked, told = _range(one), awaited[one]
            if not asked and told is not None:
                asked = _apart(one, told, factors)
            if not asked and told is not None and usual is not None:
                asked = _unlike_others(one, levels[one] - usual, factors)
            found += asked
            if len(ones) > LEAST_PAIRS and abs(one.weight_kg / usual_weight - 1) > WEIGHT_FAR:
                pounds = abs(log(one.weight_kg / usual_weight * float(LB_KG))) < NEAR
                key = "slip.pounds" if pounds else "slip.weight"
                found.append(_asked(one, "weight_after", key, usual=f"{usual_weight:.1f}"))
            if one.gain_l_day > GAIN_ASKED:
                found.append(_asked(one, "gain_l_day", "slip.gain", value=f"{one.gain_l_day:g}"))
    return tuple(sorted(found, key=lambda one: one.line))


def _awaited(pairs: Sequence[Pair]) -> list[Expected | None]:
    """What the model says of each pair with the usual water.

    None where it can't keep such a pattern; a fit tells that, with why.
    """
    months = [month_of(one) for one in pairs]
    try:
        return [row[0] for row in expected_many(months, [(USUAL_WATER, 1.0, *SPLIT)])]
    except DomainError:
        return [_one(month) for month in months]


def _one(month: MonthBloods) -> Expected | None:
    try:
        return expected(month, USUAL_WATER, 1.0)
    except DomainError:
        return None


def _asked(pair: Pair, column: str, key: str, **params: str) -> Broken:
    return Broken(pair.line, column, key, tuple(params.items()))


def _range(pair: Pair) -> list[Broken]:
    """Figures outside of where they usually lie; urea above that is most often in another unit.

    Urea after a long night is often low, so there the last range counts.
    """
    urea = substance("urea")
    told = [
        ("urea_before", urea, urea.ask_low, pair.urea_before),
        ("urea_after", urea, urea.last_low, pair.urea_after),
    ]
    if pair.creatinine is not None:
        other = substance("creatinine")
        told += [
            ("creatinine_before", other, other.ask_low, 1000 * pair.creatinine.before),
            ("creatinine_after", other, other.last_low, 1000 * pair.creatinine.after),
        ]
    for name, value in pair.levels:
        other = substance(name)
        told.append((f"{name}_before", other, other.ask_low, value))
    found = []
    for column, known, low, value in told:
        if not float(low) <= value <= float(known.ask_high):
            ends = {"low": plain(low), "high": plain(known.ask_high), "unit": known.unit}
            key = "slip.range" if known is urea else "slip.range_other"
            found.append(_asked(pair, column, key, value=f"{value:.3g}", **ends))
    return found


def _apart(pair: Pair, told: Expected, factors: Sequence[float]) -> list[Broken]:
    """A pair whose fall is far from what dialyser and hours would do, and near it were one figure in another unit."""
    fall, awaited = log(pair.urea_after / pair.urea_before), told.post - told.before
    off = fall - awaited
    if abs(off) < FAR or all(abs(off - log(factor)) > NEAR_FALL for factor in factors):
        return []
    share, usual = (f"{100 * (1 - exp(one)):.0f}" for one in (fall, awaited))
    return [_asked(pair, "urea_after", "slip.pair", share=share, usual=usual)]


def _unlike_others(pair: Pair, off: float, factors: Sequence[float]) -> list[Broken]:
    """A pair that is as far from the person's others, each by its place in its pattern, as one unit is from another."""
    if all(abs(off - log(factor)) > NEAR for factor in factors):
        return []
    usual = f"{pair.urea_before / exp(off):.1f}"
    return [_asked(pair, "urea_before", "slip.others", value=f"{pair.urea_before:.1f}", usual=usual)]
