"""Each solute under a pattern of nights, for many sets of parameters at once: what comparisons are made of.

Levels are those of plasma, as a laboratory reports them. Urea's pools are in water, and plasma holds 0.93 of that; the
other solutes' pools were measured with plasma and stay in it. Urea crosses red cells, so that the flow which carries it
is the blood's water, 0.86 of the blood flow. Phosphate, beta-2-microglobulin and ions are taken as carried by plasma
alone. Clearances go by spreading; what the fluid that is taken off carries along is left out (about 1 % of urea's at 10
mL/min, kinetics B28; more of beta-2-microglobulin's).
Source: kinetics A5, A9, C.
"""

from __future__ import annotations

import numpy as np

from ebbwell.review.basis import DAY_MIN, Basis, Pattern
from ebbwell.review.clearance import IN_BODY, clearance_l_min
from ebbwell.review.doubt import (
    BETWEEN,
    GAIN,
    LEVEL_DOUBT,
    OUTER,
    OVER,
    WATER,
    Array,
    Doubtful,
    Doubts,
    Points,
    apart,
    generation_at,
    ranged,
    together,
    water_doubts,
)
from ebbwell.science import dialyser
from ebbwell.science.bands import log_deviation
from ebbwell.science.pools_many import ManyBodies, ManyLink, ManyTreatment, settled_many
from ebbwell.science.schedule import WEEK_MIN
from ebbwell.science.solutes import BETA_2, PHOSPHATE, UREA, Figure, Solute

PLASMA_WATER = float(dialyser.PLASMA_WATER)
"""Share of water in plasma, as ``dialyser`` has it. Source: from memory (kinetics A5)."""
PLASMA_FLOW = 0.67
"""Share of the blood flow that is plasma, with a third of red cells. Source: common practice, no source."""
LEAFLET = Figure(IN_BODY, 0.65, 0.95, "1", "from memory: kinetics A5")
"""``IN_BODY`` with a range, for what no bloods are fitted to; of urea's clearance the fit says how far it is off."""
SHARE, LEVEL = "leaflet", "level"
"""Parameters beside those of ``solutes``: ``LEAFLET``, and a measured level over the usual one."""
MADE, PRESENT = "made", "present"
"""What hangs on the parameters and not on the pattern compared: urea made, a solute's level under the present one."""


def clearances_l_min(koa_ml_min: Array | float, carried_ml_min: float, fluid_ml_min: float) -> Array:
    """What dialysers clear by spreading [L/min], as ``clearance.clearance_l_min`` for many and any flow that carries.

    koa_ml_min [mL/min]: in the body, above 0, one or many; carried_ml_min: flow that carries the solute; fluid_ml_min:
    of dialysis fluid; all above 0. Source: kinetics:A5.
    """
    size = np.asarray(koa_ml_min, dtype=np.float64) / carried_ml_min
    slope = size * (1 - carried_ml_min / fluid_ml_min)
    still = slope == 0
    passed = size * np.where(still, 1.0, np.expm1(slope) / np.where(still, 1.0, slope))
    found: Array = carried_ml_min * passed / (1 + passed) / 1000
    return found


def nights(pattern: Pattern, clearance: Array | float) -> list[ManyTreatment]:
    """The treatments of a cycle, all alike."""
    minutes = pattern.hours * 60
    return [ManyTreatment(start, minutes, clearance) for start in pattern.nights.starts_min()]


def urea_clearance(basis: Basis, pattern: Pattern, over: Array | float) -> Array:
    """Of water [L/min]: worked out from dialyser and flows, times what the fit found beside it. Source: kinetics:A5."""
    size = basis.koa_ml_min[UREA.key]
    cleared = clearance_l_min(size, pattern.blood_flow_ml_min, pattern.fluid_flow_ml_min)
    return np.asarray(cleared * over)


def urea_points(basis: Basis, points: Points) -> Points:
    """The points with what the newest pair says of urea made. Raises DomainError as ``generation_at``."""
    return {**points, MADE: generation_at(basis, points)}


def urea_figures(basis: Basis, pattern: Pattern, points: Points) -> dict[str, Array]:
    """Weekly stdKt/V by its definition, and urea in plasma [mmol/L]: mean over time, highest, mean before treatments.

    points: of ``urea_points``. The highest is a level before a treatment: urea rises all the time until one. Raises
    DomainError as ``settled_many``. Source: kinetics A2 (definition), C (model).
    """
    volume, made = points[WATER] * basis.weight_kg, points[MADE]
    bodies = ManyBodies(
        (points[OUTER], 1 - points[OUTER]),
        (ManyLink(0, 1, points[BETWEEN] * volume),),
        volume,
        made,
        basis.residual_l_min,
        basis.gain_l_day / DAY_MIN * points[GAIN],
    )
    clearance = urea_clearance(basis, pattern, points[OVER])
    found = settled_many(bodies, nights(pattern, clearance), pattern.cycle_min, means=True)
    mean = found.mean if found.mean is not None else np.zeros_like(volume)
    before = found.before.mean(axis=0)
    return {
        "standard_dose": made * WEEK_MIN / (before * volume),
        "urea_mean": PLASMA_WATER * mean,
        "urea_peak": PLASMA_WATER * found.before.max(axis=0),
        "urea_before": PLASMA_WATER * before,
    }


def plasma_clearance(basis: Basis, key: str, pattern: Pattern, points: Points) -> Array:
    """Of plasma [L/min], from the leaflet's mass transfer and what a person gets of it. Source: kinetics:A5."""
    carried = PLASMA_FLOW * pattern.blood_flow_ml_min
    return clearances_l_min(basis.koa_ml_min[key] * points[SHARE], carried, pattern.fluid_flow_ml_min)


def _doubts(basis: Basis, solute: Solute) -> Doubts:
    """Published ranges of a solute, water, leaflet, and how far one level stands for the usual one."""
    own = [Doubtful(SHARE, LEAFLET.value, log_deviation(LEAFLET)), Doubtful(LEVEL, 1.0, LEVEL_DOUBT)]
    return together(water_doubts(basis), ranged(solute.figures), apart(own))


def phosphate_doubts(basis: Basis) -> Doubts:
    """The doubt of phosphate's parameters."""
    return _doubts(basis, PHOSPHATE)


def phosphate_bodies(basis: Basis, points: Points) -> ManyBodies:
    """The pools of ``solutes.phosphate_body`` with 1 mmol/min coming in; no fluid gained, own kidneys left out."""
    near = points["near_l"]
    far = points["far_over_water"] * points[WATER] * basis.weight_kg
    whole = near + far
    return ManyBodies((near / whole, far / whole), (ManyLink(0, 1, points["release_l_min"]),), whole, 1.0)


def phosphate_points(basis: Basis, points: Points) -> Points:
    """The points with what the present pattern comes to for 1 mmol/min. Raises DomainError as ``settled_many``."""
    return {**points, PRESENT: _where_drawn(basis, PHOSPHATE, _phosphate(basis, basis.present, points))}


def phosphate_figures(basis: Basis, pattern: Pattern, points: Points) -> dict[str, Array]:
    """Phosphate before treatments, mean over the cycle [mmol/L].

    points: of ``phosphate_points``. What comes in is such that the present pattern gives the measured level before the
    treatment that it was drawn before, or as the mean before all where that isn't known. The basis must have both the
    level and a clearance. Raises DomainError as ``settled_many``. Source: kinetics A9.
    """
    share = _phosphate(basis, pattern, points).mean(axis=0) / points[PRESENT]
    return {"phosphate_before": basis.before[PHOSPHATE.key] * points[LEVEL] * share}


def _phosphate(basis: Basis, pattern: Pattern, points: Points) -> Array:
    """Levels before treatments, a row for each."""
    cleared = plasma_clearance(basis, PHOSPHATE.key, pattern, points)
    return settled_many(phosphate_bodies(basis, points), nights(pattern, cleared), pattern.cycle_min).before


def _where_drawn(basis: Basis, solute: Solute, before: Array) -> Array:
    """Of levels before treatments the one where the measured level was drawn; their mean where that isn't known."""
    place = basis.drawn_before.get(solute.key)
    found: Array = before.mean(axis=0) if place is None else before[place]
    return found


def beta_2_doubts(basis: Basis) -> Doubts:
    """The doubt of beta-2-microglobulin's parameters; that of the level is idle where none was measured."""
    return _doubts(basis, BETA_2)


def beta_2_points(basis: Basis, points: Points) -> Points:
    """The points with what the present pattern comes to, where a level was measured. Raises as ``settled_many``."""
    if BETA_2.key not in basis.before:
        return points
    return {**points, PRESENT: _where_drawn(basis, BETA_2, _beta_2(basis, basis.present, points))}


def beta_2_figures(basis: Basis, pattern: Pattern, points: Points) -> dict[str, Array]:
    """Beta-2-microglobulin before treatments, mean over the cycle [mg/L].

    points: of ``beta_2_points``. By the usual generation for the weight; where a level was measured, such that the
    present pattern gives it where it was drawn. Own kidneys count as they do for urea. Raises DomainError as
    ``settled_many``. Source: kinetics A9, G.
    """
    level = _beta_2(basis, pattern, points).mean(axis=0)
    if BETA_2.key in basis.before:
        level = basis.before[BETA_2.key] * points[LEVEL] * level / points[PRESENT]
    return {"beta_2_before": level}


def _beta_2(basis: Basis, pattern: Pattern, points: Points) -> Array:
    """Levels before treatments, a row for each."""
    outer = points["outer_share"]
    bodies = ManyBodies(
        (outer, 1 - outer),
        (ManyLink(0, 1, points["between_l_min"]),),
        points["volume_over_water"] * points[WATER] * basis.weight_kg,
        points["generation_mg_kg_day"] * basis.weight_kg / DAY_MIN,
        basis.residual_l_min / PLASMA_WATER,
        other_l_min=(points["elsewhere_l_min"], 0.0),
    )
    cleared = plasma_clearance(basis, BETA_2.key, pattern, points)
    return settled_many(bodies, nights(pattern, cleared), pattern.cycle_min).before
