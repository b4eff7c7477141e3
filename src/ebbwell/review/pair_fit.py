"""One person's own numbers from their pairs of bloods: figures with bands, what they lean on, which pair is odd.

Or plainly that the pairs and what was put in don't go together, and then no figure at all.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import sqrt

from ebbwell.core.errors import DomainError
from ebbwell.review.estimate import Estimate, estimate_of, wider_estimate_of
from ebbwell.review.pairs import Pair, by_person, month_of
from ebbwell.review.sound_fit import sound_fit
from ebbwell.science.fit import KNOWN, Fit, Known
from ebbwell.science.fit_figures import MonthFigures, month_figures

MODEL = "two_pools"


@dataclass(frozen=True, slots=True)
class PersonFit:
    """What one person's pairs say.

    pairs: that the fit takes, oldest first; odd: those that don't sit with the others and are left out. fit: None where
    nothing can be told; then ``cannot`` is the wording key of why, with its ``cannot_params``. figures: of the newest
    pair, with bands. months: what the fit says of each pair. leans: figures that mostly say what was put in.
    doubt_left: share of the doubt that was put in and is left, 0 to 1, of ``water_share`` and ``clearance_over``.
    """

    person: str
    pairs: tuple[Pair, ...]
    known: Known
    fit: Fit | None = None
    figures: tuple[Estimate, ...] = ()
    months: tuple[MonthFigures, ...] = ()
    odd: tuple[Pair, ...] = ()
    leans: tuple[str, ...] = ()
    doubt_left: dict[str, float] = field(default_factory=dict)
    cannot: str = ""
    cannot_params: dict[str, str] = field(default_factory=dict)


def fit_people(pairs: Sequence[Pair], known: Known = KNOWN) -> tuple[PersonFit, ...]:
    """``fit_person`` for each person of the pairs, in the order they first stand in."""
    return tuple(fit_person(ones, known) for ones in by_person(pairs).values())


def fit_person(pairs: Sequence[Pair], known: Known = KNOWN) -> PersonFit:
    """One person's own numbers.

    pairs: at least one, all of one person, in any order. known: what is put in. Never raises for pairs the file reader
    takes: where nothing can be told, ``cannot`` says why. Raises DomainError for no pair.
    Source: kinetics:A8, kinetics:C; the estimate itself is weighted least squares.
    """
    if not pairs:
        raise DomainError("science.no_bloods")
    ones = tuple(sorted(pairs, key=lambda one: one.night))
    person = ones[-1].person
    months = [month_of(one) for one in ones]
    try:
        sound = sound_fit(months, known)
        found = sound.fit
        kept = [months[place] for place in sound.kept]
        of_each = month_figures(kept, found, known) if found is not None else ()
    except DomainError as why:
        told = {name: str(value) for name, value in why.params.items()}
        return PersonFit(person, ones, known, cannot=why.key, cannot_params=told)
    odd = tuple(ones[place] for place in sound.odd)
    ones = tuple(ones[place] for place in sound.kept)
    if found is None:
        return PersonFit(person, ones, known, odd=odd, cannot=sound.why, cannot_params=sound.why_params)
    left = {
        "water_share": min(1.0, sqrt(found.spread.water) / known.water_doubt),
        "clearance_over": min(1.0, sqrt(found.spread.over) / known.clearance_doubt),
    }
    figures = _figures(found, of_each[-1], ones[-1])
    return PersonFit(person, ones, known, found, figures, of_each, odd, found.leans, left)


def rests_on(pair: Pair) -> tuple[str, ...]:
    """What goes into a fit that nobody measured in this person, wording keys."""
    clearance = "rests.koa" if pair.clearance_by == "leaflet" else "rests.clearance"
    own = {"": "rests.no_urine", "day": "rests.urine_day", "between": "rests.urine", "told": "rests.own_told"}
    return "rests.kept", "rests.water", clearance, own[pair.own_kidneys_by]


def _figures(found: Fit, newest: MonthFigures, pair: Pair) -> tuple[Estimate, ...]:
    rests = rests_on(pair)
    return (
        estimate_of("water_share", "L/kg", MODEL, found.water_share, 3, rests),
        estimate_of("water", "L", MODEL, newest.water_l, 1, rests),
        estimate_of("clearance_over", "", MODEL, found.clearance_over, 2, rests),
        estimate_of("clearance", "mL/min", MODEL, newest.clearance, 0, rests),
        wider_estimate_of("made", "mmol/min", MODEL, newest.made, 3, rests),
        wider_estimate_of("standard_by_model", "/week", MODEL, newest.standard, 2, rests),
    )
