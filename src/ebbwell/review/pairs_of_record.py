"""Pairs of bloods of the household's own record, as those of a file are: for the same sums and the same commands."""

from __future__ import annotations

from ebbwell.review.basis import DAY_MIN, Nights
from ebbwell.review.levels import CREATININE, TOLD_IN_MMOL
from ebbwell.review.own_numbers import URINE_DAY, URINE_TAKEN_AS_DAY, OwnMonth, OwnNumbers
from ebbwell.review.pairs import CreatininePair, Pair
from ebbwell.science.dialyser import PLASMA_WATER
from ebbwell.science.fit import MonthBloods


def pairs_of_record(numbers: OwnNumbers) -> tuple[Pair, ...]:
    """The pairs that the model can take, oldest first, those that don't sit with the others among them; () for none.

    A fit of them leaves the same ones out as the record's own does: to leave some out beforehand would let it leave out
    more. Days count from the first treatment of the pattern, since only the time between treatments goes into a sum.
    """
    return tuple(_pair(own, own.bloods) for own in numbers.months if own.bloods is not None)


def _pair(own: OwnMonth, bloods: MonthBloods) -> Pair:
    days = tuple(round(start / DAY_MIN) for start in bloods.starts_min)
    return Pair(
        night=own.night,
        urea_before=float(own.urea_before.value),
        urea_after=float(own.urea_after.value),
        weight_kg=bloods.weight_kg,
        minutes=bloods.minutes,
        clearance_l_min=bloods.clearance_l_min,
        gain_l_day=bloods.gain_l_min * DAY_MIN,
        nights=Nights(days, round(bloods.cycle_min / DAY_MIN)),
        which=bloods.which,
        drawn_after_min=bloods.drawn_after_min,
        own_kidneys_ml_min=1000 * bloods.residual_l_min / float(PLASMA_WATER),
        own_kidneys_by=_own_by(own, bloods),
        clearance_by="leaflet",
        creatinine=_creatinine(own),
    )


def _creatinine(own: OwnMonth) -> CreatininePair | None:
    """Creatinine of the two samples, where both have it as a figure that falls and the leaflet says what is cleared."""
    before, after = (view.figures.get(CREATININE) for view in (own.before, own.after))
    if before is None or after is None or own.creatinine_l_min is None:
        return None
    if not (before.exact and after.exact and after.value < before.value):
        return None
    first, second = (float(one.value * TOLD_IN_MMOL[CREATININE]) for one in (before, after))
    return CreatininePair(first, second, own.creatinine_l_min)


def _own_by(own: OwnMonth, bloods: MonthBloods) -> str:
    if not bloods.residual_l_min:
        return ""
    return "day" if any(note.key in (URINE_DAY, URINE_TAKEN_AS_DAY) for note in own.notes) else "between"
