"""A pair of bloods with the treatment it was drawn at, and what it takes to bring it to the solute sums.

Laboratories give urea of plasma, models run in water: plasma holds 0.93 of water, so a figure in water is the
laboratory's over 0.93. Dose and weekly dose don't feel that, the urea made does.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from ebbwell.core.errors import DomainError
from ebbwell.review.adequacy import measures
from ebbwell.review.adequacy_kinds import Asked, Measure, decimal_of
from ebbwell.review.basis import DAY_MIN, Basis, Nights, Pattern
from ebbwell.review.clearance import IN_BODY
from ebbwell.science.dialyser import PLASMA_WATER, blood_water_flow_simple, koa_of_clearance
from ebbwell.science.fit import KNOWN, Fit, Known, MonthBloods
from ebbwell.science.fit_figures import MonthFigures

OWN_BY = ("told", "between", "day", "")
"""Where what own kidneys clear comes from: told as a figure, from all urine between two treatments, from the urine of a
day, or nothing was told and it counts as 0."""
ACCESSES = ("fistula", "graft", "catheter")


class CreatininePair(NamedTuple):
    """Creatinine of the same two samples [mmol/L of plasma]; clearance_l_min: of it, as worked out [L/min of water]."""

    before: float
    after: float
    clearance_l_min: float


@dataclass(frozen=True, slots=True)
class Pair:
    """Urea before and after one treatment, and that treatment.

    person: a code, "" where there is one only. night: the day it began. urea_before, urea_after [mmol/L] as the
    laboratory gives it, of plasma. weight_kg after. minutes [min] of dialysis. clearance_l_min [L/min] of water, as
    worked out. gain_l_day [L/day] between treatments. nights: the pattern; which: number of this treatment in it, from
    0. removed_l [L] of fluid in this treatment, None for as much as came in since the last. drawn_after_min [min]: from
    the end to the second sample. own_kidneys_ml_min [mL/min], by one of ``OWN_BY``. blood_flow_ml_min,
    fluid_flow_ml_min, koa_ml_min [mL/min], None for not told. access: one of ``ACCESSES`` or "". clearance_by:
    ``leaflet`` where it was worked out from mass transfer and flows, "" where it was told. creatinine: None for
    none. levels: other substances before the treatment, with their figure as ``Basis.before`` has it; koas: their mass
    transfer in the leaflet [mL/min]. line: of the file it came from, 0 for none.
    """

    night: date
    urea_before: float
    urea_after: float
    weight_kg: float
    minutes: float
    clearance_l_min: float
    gain_l_day: float
    nights: Nights
    which: int = 0
    person: str = ""
    removed_l: float | None = None
    drawn_after_min: float = 0.0
    own_kidneys_ml_min: float = 0.0
    own_kidneys_by: str = ""
    blood_flow_ml_min: float | None = None
    fluid_flow_ml_min: float | None = None
    koa_ml_min: float | None = None
    access: str = ""
    clearance_by: str = ""
    creatinine: CreatininePair | None = None
    levels: tuple[tuple[str, float], ...] = ()
    koas: tuple[tuple[str, float], ...] = ()
    line: int = 0

    @property
    def since_last_days(self) -> int:
        """Days since the treatment before began, by the pattern."""
        return self.nights.gaps_days()[self.which]

    @property
    def fluid_l(self) -> float:
        """Fluid taken off [L]: as told, else what came in since the last treatment ended."""
        if self.removed_l is not None:
            return self.removed_l
        return self.gain_l_day * (self.since_last_days * DAY_MIN - self.minutes) / DAY_MIN


def leaflet_koa(clearance: float, blood_flow_ml_min: float, fluid_flow_ml_min: float) -> float:
    """The leaflet's mass transfer that ``clearance.clearance_l_min`` makes this clearance of, at these flows.  [mL/min]

    clearance [L/min] under both flows of water. Raises DomainError for one that isn't, and for flows outside 50 to 600
    and 50 to 1,000 mL/min. Source: kinetics:A5 (the exchange equations the other way round).
    """
    found = koa_of_clearance(
        clearance_ml_min=decimal_of(clearance * 1000),
        blood_flow_ml_min=blood_water_flow_simple(blood_flow_ml_min=decimal_of(blood_flow_ml_min)),
        dialysate_flow_ml_min=decimal_of(fluid_flow_ml_min),
    )
    return float(found) / IN_BODY


def month_of(pair: Pair) -> MonthBloods:
    """A pair as ``science.fit`` takes it: urea in water, the pattern in minutes.

    What own kidneys clear is told of plasma, and counts 0.93 of itself in water.

    Source: kinetics:C, kinetics:A5 (0.93).
    """
    water = float(PLASMA_WATER)
    return MonthBloods(
        before=pair.urea_before / water,
        post=pair.urea_after / water,
        weight_kg=pair.weight_kg,
        clearance_l_min=pair.clearance_l_min,
        gain_l_min=pair.gain_l_day / DAY_MIN,
        starts_min=pair.nights.starts_min(),
        minutes=pair.minutes,
        cycle_min=pair.nights.cycle_days * DAY_MIN,
        which=pair.which,
        residual_l_min=pair.own_kidneys_ml_min * water / 1000,
        drawn_after_min=pair.drawn_after_min,
    )


def creatinine_month_of(pair: Pair) -> MonthBloods | None:
    """The creatinine of a pair as ``science.fit_several`` takes it; None without any.

    None too where own kidneys clear: what they clear of creatinine is more than of urea, and isn't told.
    Source: as ``month_of``; kinetics:A7.
    """
    if pair.creatinine is None or pair.own_kidneys_ml_min:
        return None
    water = float(PLASMA_WATER)
    before, after, clearance = pair.creatinine
    return month_of(pair)._replace(before=before / water, post=after / water, clearance_l_min=clearance)


def present_of(pair: Pair, name: str = "") -> Pattern:
    """The pattern of a pair as comparisons take it. Raises DomainError where its flows weren't told."""
    if pair.blood_flow_ml_min is None or pair.fluid_flow_ml_min is None:
        raise DomainError("pairs.flows_needed")
    return Pattern(
        name,
        pair.nights.days,
        pair.nights.cycle_days,
        pair.minutes / 60,
        pair.blood_flow_ml_min,
        pair.fluid_flow_ml_min,
    )


def asked_of(pair: Pair, figures: MonthFigures | None = None, known: Known = KNOWN) -> Asked:
    """What the measures of a pair's dose are worked out from. figures: what a fit says of it, None for none."""
    return Asked(
        urea_before=decimal_of(pair.urea_before),
        urea_after=decimal_of(pair.urea_after),
        month=month_of(pair),
        figures=figures,
        removal_l=decimal_of(pair.fluid_l),
        access=pair.access,
        known=known,
    )


def doses_of(pair: Pair, figures: MonthFigures | None = None, known: Known = KNOWN) -> tuple[Measure, ...]:
    """Every measure of a pair's dose, each with its working and band, or why it isn't for such nights.

    figures: of the pair by a fit (``PersonFit.months``); the measures of the model need them. Raises DomainError for a
    schedule outside of 2 to 7 treatments a week of 0.5 to 24 h. Source: kinetics:A1, kinetics:A2, kinetics:A3.
    """
    return measures(asked_of(pair, figures, known))


def by_person(pairs: Sequence[Pair]) -> dict[str, tuple[Pair, ...]]:
    """Code to that person's pairs, oldest first; people in the order they first stand in."""
    found: dict[str, list[Pair]] = {}
    for pair in pairs:
        found.setdefault(pair.person, []).append(pair)
    return {person: tuple(sorted(ones, key=lambda one: one.night)) for person, ones in found.items()}


def basis_of(pairs: Sequence[Pair], fit: Fit, known: Known = KNOWN, name: str = "") -> Basis:
    """What comparisons rest on, from one person's pairs and their fit; the newest pair is how nights go now.

    Raises DomainError where the newest pair's flows weren't told.
    """
    newest = max(pairs, key=lambda one: one.night)
    present = present_of(newest, name)
    koa = newest.koa_ml_min
    if koa is None:
        koa = leaflet_koa(newest.clearance_l_min, present.blood_flow_ml_min, present.fluid_flow_ml_min)
    return Basis(
        months=tuple(month_of(one) for one in pairs),
        fit=fit,
        present=present,
        weight_kg=newest.weight_kg,
        gain_l_day=newest.gain_l_day,
        koa_ml_min={"urea": koa, **dict(newest.koas)},
        before={"urea": newest.urea_before, **dict(newest.levels)},
        bath={},
        drawn_before=dict.fromkeys((name for name, _ in newest.levels), newest.which),
        residual_l_min=month_of(newest).residual_l_min,
        known=known,
    )
