"""One person's own numbers from urea with creatinine beside it, in the same water; or plainly that the two don't agree.

Creatinine's flow between the pools is known less well than urea's, and the band holds that. Source: ``fit_several``.
"""

from __future__ import annotations

from dataclasses import dataclass

from ebbwell.review.basis import DAY_MIN
from ebbwell.review.estimate import Estimate, estimate_of, wider_estimate_of
from ebbwell.review.levels import CREATININE, UREA
from ebbwell.review.pair_fit import PersonFit, rests_on
from ebbwell.review.pairs import Pair, creatinine_month_of, month_of
from ebbwell.review.sound_fit import APART, pulled
from ebbwell.science.fit import ODD_AT
from ebbwell.science.fit_several import SeveralFit, fit_several

MODEL = "two_pools_twice"


@dataclass(frozen=True, slots=True)
class WithCreatinine:
    """count: pairs whose creatinine goes in. figures: of the newest of them, () where they can't be told.

    cannot: wording key of why not, which names the nights of ``odd``: pairs whose creatinine lies far from what all say.
    """

    count: int
    figures: tuple[Estimate, ...] = ()
    odd: tuple[Pair, ...] = ()
    cannot: str = ""


def with_creatinine(own: PersonFit) -> WithCreatinine | None:
    """What urea and creatinine say together; None where no pair has creatinine.

    own: what urea says alone; creatinine is looked at in the pairs that it takes, and None stands where it takes none.
    Raises DomainError as ``fit_several``. Source: kinetics:A8; the limits are those of ``sound_fit``.
    """
    if own.fit is None or all(pair.creatinine is None for pair in own.pairs):
        return None
    held = [(pair, month) for pair in own.pairs if (month := creatinine_month_of(pair)) is not None]
    if not held:
        return WithCreatinine(0, cannot="fit.creatinine_kidneys")
    known = own.known
    months = {UREA: [month_of(one) for one in own.pairs], CREATININE: [month for _, month in held]}
    found = fit_several(months, known)
    odd = tuple(
        pair for (pair, _), off in zip(held, found.residuals[CREATININE], strict=True) if abs(off) > ODD_AT
    )
    if odd:
        return WithCreatinine(len(held), odd=odd, cannot="fit.creatinine_odd")
    if pulled(found.water_share, found.clearance_over.values(), known) > APART:
        return WithCreatinine(len(held), cannot="fit.creatinine_apart")
    pair, month = held[-1]
    return WithCreatinine(len(held), _figures(found, pair, month.clearance_l_min))


def _figures(found: SeveralFit, pair: Pair, creatinine_l_min: float) -> tuple[Estimate, ...]:
    rests = (*rests_on(pair), "rests.creatinine")
    share, over = found.water_share, found.clearance_over
    cleared = over[UREA].times(1000 * pair.clearance_l_min)
    cleared_creatinine = over[CREATININE].times(1000 * creatinine_l_min)
    made = found.generation[CREATININE][-1].times(DAY_MIN)
    return (
        estimate_of("water_share", "L/kg", MODEL, share, 3, rests),
        estimate_of("water", "L", MODEL, share.times(pair.weight_kg), 1, rests),
        estimate_of("clearance", "mL/min", MODEL, cleared, 0, rests),
        estimate_of("creatinine_clearance", "mL/min", MODEL, cleared_creatinine, 0, rests),
        wider_estimate_of("creatinine_made", "mmol/day", MODEL, made, 1, rests),
    )
