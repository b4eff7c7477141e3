"""Patterns of nights beside each other: what the model says of each, in the order they were typed, for the clinic.

No pattern is put before another and none is called good. Each figure has a band or follows from the pattern alone, says
which sources and which models it rests on, and where it isn't known, why. If the model holds; untested on any person.
Source: models as in ``review.models``; doubt as in ``review.doubt``.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import pairwise
from math import isfinite

import numpy as np

from ebbwell.core.errors import DomainError
from ebbwell.core.numbers import plain
from ebbwell.review.basis import DAY_MIN, WEEK_DAYS, Basis, Pattern
from ebbwell.review.doubt import GAIN, GAIN_DOUBT, Array, Doubtful, Doubts, Points, apart, urea_doubts, wider
from ebbwell.review.models import (
    beta_2_doubts,
    beta_2_figures,
    beta_2_points,
    phosphate_doubts,
    phosphate_figures,
    phosphate_points,
    urea_figures,
    urea_points,
)
from ebbwell.science.bands import Band
from ebbwell.science.ranges_solutes import ALL_HOURS, BLOOD_FLOW_RUNNING, DIALYSATE_FLOW_RUNNING
from ebbwell.science.solutes import BETA_2, PHOSPHATE, UREA
from ebbwell.science.weekly_dose import Measure, measures_for

MOST_PATTERNS = 6
"""Patterns in one comparison. Source: design (as many as a page holds beside each other)."""
MOST_DAYS = 56
"""Longest cycle in days. Source: design."""
UNEVEN = 4
"""Sessions a week that measures are asked for where it's no whole number: neither twice nor thrice a week."""
NEEDLES = 2
"""A treatment takes so many; a catheter takes none, one needle alone takes one. Source: common practice, no source."""

FIGURES: Mapping[str, str] = {
    "standard_dose": "/week",
    "urea_mean": "mmol/L",
    "urea_peak": "mmol/L",
    "urea_before": "mmol/L",
    "phosphate_before": "mmol/L",
    "beta_2_before": "mg/L",
    "removal_rate": "mL/h",
    "removal_rate_per_kg": "mL/kg/h",
    "hours": "h/week",
    "treatments": "/week",
    "needles": "/week",
    "sets": "/week",
    "dialysis_fluid": "L/week",
}
"""Figures of a pattern with their unit, in the order they are told."""
LEVELS = (PHOSPHATE.key, BETA_2.key)
"""Substances of which a comparison takes the newest result."""
UREA_FIGURES = ("standard_dose", "urea_mean", "urea_peak", "urea_before")


@dataclass(frozen=True, slots=True)
class Reckoned:
    """A figure as it may be told. key, unit: as in ``FIGURES``; band: None where it isn't known, its ends equal where it
    follows from the pattern alone.

    why_not: wording key that says why it isn't known, else "". rests: wording keys of what it rests on. sources: keys
    in the rulebook, or ``from memory``.
    """

    key: str
    unit: str
    band: Band | None
    why_not: str = ""
    rests: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()

    @property
    def exact(self) -> bool:
        """Whether it follows from the pattern alone."""
        return self.band is not None and self.band.low == self.band.high and not self.rests


@dataclass(frozen=True, slots=True)
class Compared:
    """One pattern. figures: by key, in the order of ``FIGURES``. measures: what else may be quoted for such a pattern,
    and why the others may not, as ``weekly_dose.measures_for`` has it; () for patterns it doesn't know.
    """

    pattern: Pattern
    figures: Mapping[str, Reckoned]
    measures: tuple[Measure, ...] = field(default=())


def compare(basis: Basis, patterns: Sequence[Pattern]) -> tuple[Compared, ...]:
    """What each pattern comes to, in the order given.

    patterns: 1 to 6, alike ones too. Raises DomainError for none, for more, for a pattern or a basis that can't be.
    Source: module text.
    """
    if not patterns:
        raise DomainError("review.no_patterns")
    if len(patterns) > MOST_PATTERNS:
        raise DomainError("review.too_many_patterns", most=MOST_PATTERNS, count=len(patterns))
    for pattern in (basis.present, *patterns):
        check_pattern(pattern)
    check_basis(basis)
    solutes = _solutes(basis)
    return tuple(_compared(basis, pattern, solutes) for pattern in patterns)


def one_reason(key: str, found: Sequence[Compared]) -> str:
    """The wording key of why a figure is told of no pattern, where that is one for all; else ""."""
    reasons = {one.figures[key].why_not for one in found}
    return reasons.pop() if len(reasons) == 1 else ""


def check_pattern(pattern: Pattern) -> None:
    """Raises DomainError with words for a pattern that can't be run: no days, no hours, flows of nothing, overlaps."""
    name, days, cycle = pattern.name, pattern.days, pattern.cycle_days
    if not days:
        raise DomainError("review.pattern_no_days", name=name)
    if not (_whole(cycle) and 1 <= cycle <= MOST_DAYS):
        raise DomainError("review.pattern_cycle", name=name, days=cycle, most=MOST_DAYS)
    in_order = all(earlier < later for earlier, later in pairwise(days))
    if not (all(map(_whole, days)) and in_order and days[0] >= 0 and days[-1] < cycle):
        raise DomainError("review.pattern_days", name=name, days=", ".join(map(str, days)), cycle=cycle)
    for key, value, allowed in (
        ("review.pattern_hours", pattern.hours, ALL_HOURS),
        ("review.pattern_blood_flow", pattern.blood_flow_ml_min, BLOOD_FLOW_RUNNING),
        ("review.pattern_fluid_flow", pattern.fluid_flow_ml_min, DIALYSATE_FLOW_RUNNING),
    ):
        if not (isfinite(value) and float(allowed.low) <= value <= float(allowed.high)):
            params = {"low": plain(allowed.low), "high": plain(allowed.high), "value": f"{value:g}"}
            raise DomainError(key, name=name, **params)
    if not (isfinite(pattern.start_min) and 0 <= pattern.start_min < 2 * DAY_MIN):
        raise DomainError("review.pattern_start", name=name)
    if min(pattern.nights.gaps_days()) * DAY_MIN <= pattern.hours * 60:
        raise DomainError("review.pattern_overlap", name=name, hours=f"{pattern.hours:g}")


def check_basis(basis: Basis) -> None:
    """Raises DomainError for own numbers that can't be: not a number, no weight, fluid or clearance below 0."""
    above = [basis.weight_kg, *basis.koa_ml_min.values(), *basis.before.values()]
    least = [basis.gain_l_day, basis.residual_l_min, *basis.bath.values()]
    if not all(map(isfinite, (*above, *least))):
        raise DomainError("science.leg_not_a_number")
    if min(above) <= 0 or min(least) < 0:
        raise DomainError("review.basis_not_above_zero")
    if not basis.months:
        raise DomainError("science.no_bloods")


def _whole(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)


@dataclass(frozen=True, slots=True)
class _Solute:
    """keys: its figures. doubts: None with why_not where it isn't known. points: of the doubts, with what all patterns
    share; at: what makes figures of them.
    """

    keys: tuple[str, ...]
    why_not: str = ""
    doubts: Doubts | None = None
    points: Points = field(default_factory=dict)
    at: Callable[[Basis, Pattern, Points], dict[str, Array]] = urea_figures
    rests: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()
    by_fit: bool = False


def _solutes(basis: Basis) -> tuple[_Solute, ...]:
    """What is known of each solute for this person and dialyser."""
    return (_urea(basis), _phosphate(basis), _beta_2(basis))


def _urea(basis: Basis) -> _Solute:
    if UREA.key not in basis.koa_ml_min:
        return _Solute(UREA_FIGURES, "review.not_known.no_clearance")
    return _Solute(
        UREA_FIGURES,
        "",
        doubts := urea_doubts(basis),
        urea_points(basis, doubts.points()),
        urea_figures,
        (
            "review.rests.urea",
            "review.rests.blood_water",
            "review.rests.split",
            "review.rests.model_off",
            UREA.limits,
        ),
        ("kinetics:A2", "kinetics:A5", "kinetics:A8", "kinetics:C"),
        by_fit=True,
    )


def _phosphate(basis: Basis) -> _Solute:
    keys = ("phosphate_before",)
    if PHOSPHATE.key not in basis.koa_ml_min:
        return _Solute(keys, "review.not_known.no_clearance")
    if PHOSPHATE.key not in basis.before:
        return _Solute(keys, "review.not_known.no_result")
    if PHOSPHATE.key in basis.other_nights:
        return _Solute(keys, "review.not_known.other_nights")
    return _Solute(
        keys,
        "",
        doubts := phosphate_doubts(basis),
        phosphate_points(basis, doubts.points()),
        phosphate_figures,
        (
            "review.rests.level",
            "review.rests.no_kidneys",
            "review.rests.plasma",
            "review.rests.leaflet",
            PHOSPHATE.limits,
        ),
        ("kinetics:A5", "kinetics:A9 phosphate", "from memory"),
    )


def _beta_2(basis: Basis) -> _Solute:
    keys = ("beta_2_before",)
    if BETA_2.key not in basis.koa_ml_min:
        return _Solute(keys, "review.not_known.no_clearance")
    if BETA_2.key in basis.other_nights:
        return _Solute(keys, "review.not_known.other_nights")
    level = "review.rests.level" if BETA_2.key in basis.before else "review.rests.usual_made"
    return _Solute(
        keys,
        "",
        doubts := beta_2_doubts(basis),
        beta_2_points(basis, doubts.points()),
        beta_2_figures,
        (level, "review.rests.plasma", "review.rests.leaflet", BETA_2.limits),
        ("kinetics:A5", "kinetics:A9 beta-2", "from memory"),
    )


def _compared(basis: Basis, pattern: Pattern, solutes: Sequence[_Solute]) -> Compared:
    measures = _measures(pattern)
    made: dict[str, Reckoned] = {}
    for one in solutes:
        made |= _of_solute(basis, pattern, one)
    made |= _removal(basis, pattern) | _plain(pattern)
    why_not = _may_not_quote(measures)
    if why_not:
        made["standard_dose"] = Reckoned("standard_dose", FIGURES["standard_dose"], None, why_not)
    return Compared(pattern, {key: made[key] for key in FIGURES}, measures)


def _of_solute(basis: Basis, pattern: Pattern, one: _Solute) -> dict[str, Reckoned]:
    if one.doubts is None:
        return {key: Reckoned(key, FIGURES[key], None, one.why_not) for key in one.keys}
    found = one.at(basis, pattern, one.points)
    bands = dict(zip(found, one.doubts.bands(np.array(list(found.values()))), strict=True))
    if one.by_fit:
        bands = {key: wider(band) for key, band in bands.items()}
    return {key: Reckoned(key, FIGURES[key], bands[key], "", one.rests, one.sources) for key in one.keys}


def _measures(pattern: Pattern) -> tuple[Measure, ...]:
    a_week = pattern.nights.a_week
    count = round(a_week) if a_week == round(a_week) else UNEVEN
    if not 2 <= a_week <= WEEK_DAYS:
        return ()
    return measures_for(count, Decimal(repr(float(pattern.hours))))


def _may_not_quote(measures: Sequence[Measure]) -> str:
    """Why the weekly dose isn't to be quoted; "" where it may be."""
    found = [one.why_not for one in measures if one.name == "standard_dose"]
    return found[0] if found else "review.not_known.too_few_nights"


def _removal(basis: Basis, pattern: Pattern) -> dict[str, Reckoned]:
    """Fluid to take off after the longest gap, over the hours: what came in by the usual gain of a day."""
    longest = max(pattern.nights.gaps_days()) * DAY_MIN - pattern.hours * 60
    rate = 1000 * basis.gain_l_day * longest / DAY_MIN / pattern.hours

    def figures(points: Points) -> dict[str, Array]:
        rates = rate * points[GAIN]
        return {"removal_rate": rates, "removal_rate_per_kg": rates / basis.weight_kg}

    bands = apart([Doubtful(GAIN, 1.0, GAIN_DOUBT)]).banded(figures)
    rests = ("review.rests.gain",)
    return {
        key: Reckoned(key, FIGURES[key], band, "", rests, ("arithmetic", "common practice"))
        for key, band in bands.items()
    }


def _plain(pattern: Pattern) -> dict[str, Reckoned]:
    """What follows from the pattern alone."""
    a_week = pattern.nights.a_week
    values = {
        "hours": pattern.hours * a_week,
        "treatments": a_week,
        "needles": NEEDLES * a_week,
        "sets": a_week,
        "dialysis_fluid": pattern.fluid_flow_ml_min * pattern.hours * 60 * a_week / 1000,
    }
    return {
        key: Reckoned(key, FIGURES[key], Band(value, value, value), sources=("arithmetic",))
        for key, value in values.items()
    }
