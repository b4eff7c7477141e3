"""Six patterns of nights compared, with all bands: ours beside the same comparison by SciPy's ``solve_ivp``.

The yardstick works out the same figures at the same parameters, a leg's map from one run over units of mass, equal legs
once, and makes bands of them the same way. Of DOP853, RK45 and LSODA at 1e-5 to 1e-8, LSODA at 1e-6 was the quickest
that came within 1e-6 of ours.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from math import exp

import numpy as np
from numpy.typing import NDArray

from bench.rows import Row, in_turns, middle, row, spread
from ebbwell.review.basis import DAY_MIN, Basis, Pattern
from ebbwell.review.clearance import clearance_l_min
from ebbwell.review.doubt import (
    BETWEEN,
    GAIN,
    OUTER,
    OVER,
    WATER,
    Array,
    Doubts,
    generation_at,
    urea_doubts,
)
from ebbwell.review.models import (
    LEVEL,
    PLASMA_WATER,
    beta_2_doubts,
    beta_2_figures,
    beta_2_points,
    phosphate_doubts,
    phosphate_figures,
    phosphate_points,
    plasma_clearance,
    urea_clearance,
    urea_figures,
    urea_points,
)
from ebbwell.review.patterns import compare
from ebbwell.science.bands import Band
from ebbwell.science.fit import MonthBloods, expected, fit
from ebbwell.science.schedule import WEEK_MIN

MOST_MS = 100.0
METHOD = "LSODA"
TOLERANCE = 1e-6
WITHIN = 1e-5
"""How far apart the ends of bands may lie."""

FOUR = Pattern("four nights", (0, 1, 3, 5), 7, 8.0, 250.0, 300.0)
PATTERNS = (
    FOUR,
    replace(FOUR, name="every other night", days=(0,), cycle_days=2),
    replace(FOUR, name="five nights", days=(0, 1, 2, 4, 5)),
    replace(FOUR, name="six nights", days=(0, 1, 2, 3, 4, 5), hours=7.0),
    replace(
        FOUR, name="three days", days=(0, 2, 4), hours=4.0, blood_flow_ml_min=350.0, fluid_flow_ml_min=500.0
    ),
    replace(FOUR, name="seven in two weeks", days=(0, 2, 4, 6, 8, 10, 12), cycle_days=14),
)


def _basis() -> Basis:
    """A year of bloods, none of equal weight, that the fitted model made."""
    koa = {"urea": 900.0, "phosphate": 700.0, "beta_2_microglobulin": 110.0}
    cleared = clearance_l_min(koa["urea"], FOUR.blood_flow_ml_min, FOUR.fluid_flow_ml_min)
    starts = FOUR.nights.starts_min()
    months = []
    for number in range(12):
        plain = MonthBloods(1, 0.5, 66 + number / 10, cleared, 0.9 / DAY_MIN, starts, 480, WEEK_MIN, 2)
        told = expected(plain, 0.56, 1.0)
        months.append(plain._replace(before=0.22 * exp(told.before), post=0.22 * exp(told.post)))
    before = {"phosphate": 1.5, "beta_2_microglobulin": 24.0}
    return Basis(tuple(months), fit(months), FOUR, 66.0, 0.9, koa, before, {})


def _settled(
    pattern: Pattern, shares: tuple[float, float], flow: float, volume: float, made: float, cleared: float,
    elsewhere: float, gain: float,
) -> tuple[list[float], float]:  # fmt: skip
    """Concentrations before treatment and their mean over time, by the solver."""
    from scipy.integrate import solve_ivp

    starts, minutes = [*pattern.nights.starts_min(), pattern.cycle_min], pattern.hours * 60
    gaps = [later - earlier - minutes for earlier, later in pairwise(starts)]
    units = np.array([1.0, 0, 0, 0, 1.0, 0, 0, 0, 0])

    def run(length: float, litres: float, fluid: float, lost: float) -> NDArray[np.float64]:
        def change(t: float, state: Array) -> Array:
            water = litres + fluid * t
            outer, inner = state[:3] / (shares[0] * water), state[3:6] / (shares[1] * water)
            across = flow * (outer - inner)
            first = -across - lost * outer
            first[2] += made
            return np.concatenate([first, across, outer])

        end: Array = solve_ivp(
            change, (0, length), units, METHOD, t_eval=[length], rtol=TOLERANCE, atol=TOLERANCE / 10
        ).y[:, -1]
        return end.reshape(3, 3)

    seen: dict[tuple[float, ...], NDArray[np.float64]] = {}
    legs = []
    for number, gap in enumerate(gaps):
        came = gain * gaps[number - 1]
        legs += [
            (minutes, volume + came, -came / minutes, cleared + elsewhere),
            (gap, volume, gain, elsewhere),
        ]
    for leg in legs:
        if leg not in seen:
            seen[leg] = run(*leg)
    whole, more = np.eye(2), np.zeros(2)
    for leg in legs:
        one = seen[leg]
        whole, more = one[:2, :2] @ whole, one[:2, :2] @ more + one[:2, 2]
    masses = np.linalg.solve(np.eye(2) - whole, more)
    befores, area = [], 0.0
    for number, leg in enumerate(legs):
        one = seen[leg]
        if number % 2 == 0:
            befores.append(float(masses[0] / (shares[0] * leg[1])))
        area += float(one[2, :2] @ masses + one[2, 2])
        masses = one[:2, :2] @ masses + one[:2, 2]
    return befores, area / pattern.cycle_min


def _urea(basis: Basis, doubts: Doubts, pattern: Pattern) -> dict[str, Array]:
    points = doubts.points()
    made, cleared = generation_at(basis, points), urea_clearance(basis, pattern, points[OVER])
    rows = []
    for n, litres in enumerate(points[WATER] * basis.weight_kg):
        outer = float(points[OUTER][n])
        befores, mean = _settled(
            pattern, (outer, 1 - outer), float(points[BETWEEN][n]) * litres, litres, float(made[n]),
            float(cleared[n]), basis.residual_l_min, basis.gain_l_day / DAY_MIN * float(points[GAIN][n]),
        )  # fmt: skip
        before = sum(befores) / len(befores)
        rows.append((made[n] * WEEK_MIN / (before * litres), mean, max(befores), before))
    dose, mean_row, peak, mean_before = np.array(rows).T
    return {
        "standard_dose": dose,
        "urea_mean": PLASMA_WATER * mean_row,
        "urea_peak": PLASMA_WATER * peak,
        "urea_before": PLASMA_WATER * mean_before,
    }


Level = Callable[[Basis, dict[str, Array], int, float, Pattern], float]


def _phosphate_level(basis: Basis, at: dict[str, Array], n: int, cleared: float, pattern: Pattern) -> float:
    near, far = float(at["near_l"][n]), float(at["far_over_water"][n] * at[WATER][n]) * basis.weight_kg
    whole = near + far
    shares = (near / whole, far / whole)
    befores, _ = _settled(pattern, shares, float(at["release_l_min"][n]), whole, 1.0, cleared, 0.0, 0.0)
    return sum(befores) / len(befores)


def _beta_2_level(basis: Basis, at: dict[str, Array], n: int, cleared: float, pattern: Pattern) -> float:
    outer, volume = (
        float(at["outer_share"][n]),
        float(at["volume_over_water"][n] * at[WATER][n]) * basis.weight_kg,
    )
    made = float(at["generation_mg_kg_day"][n]) * basis.weight_kg / DAY_MIN
    flow, elsewhere = float(at["between_l_min"][n]), float(at["elsewhere_l_min"][n])
    befores, _ = _settled(pattern, (outer, 1 - outer), flow, volume, made, cleared, elsewhere, 0.0)
    return sum(befores) / len(befores)


def _by_level(
    basis: Basis, key: str, doubts: Doubts, level: Level, patterns: tuple[Pattern, ...]
) -> list[Array]:
    """A solute that was measured: the present pattern gives the level, the others its share."""
    points = doubts.points()
    every = []
    for pattern in (basis.present, *patterns):
        cleared = plasma_clearance(basis, key, pattern, points)
        every.append(np.array([level(basis, points, n, float(k), pattern) for n, k in enumerate(cleared)]))
    return [basis.before[key] * points[LEVEL] * one / every[0] for one in every[1:]]


def by_solver(basis: Basis, patterns: tuple[Pattern, ...]) -> list[dict[str, Band]]:
    """The bands of what the model says of each pattern, all levels by the solver."""
    urea, phosphate, beta_2 = urea_doubts(basis), phosphate_doubts(basis), beta_2_doubts(basis)
    found = [urea.banded(lambda _, p=one: _urea(basis, urea, p)) for one in patterns]  # type: ignore[misc]
    for key, name, doubts, level in (
        ("phosphate", "phosphate_before", phosphate, _phosphate_level),
        ("beta_2_microglobulin", "beta_2_before", beta_2, _beta_2_level),
    ):
        for one, level_row in zip(found, _by_level(basis, key, doubts, level, patterns), strict=True):
            one[name] = doubts.bands(np.array([level_row]))[0]
    return found


def by_model(basis: Basis, patterns: tuple[Pattern, ...]) -> list[dict[str, Band]]:
    """The same bands by our sums, as they are before anything is allowed for beside them."""
    urea, phosphate, beta_2 = urea_doubts(basis), phosphate_doubts(basis), beta_2_doubts(basis)
    return [
        urea.banded(lambda at, p=one: urea_figures(basis, p, urea_points(basis, at)))  # type: ignore[misc]
        | phosphate.banded(lambda at, p=one: phosphate_figures(basis, p, phosphate_points(basis, at)))  # type: ignore[misc]
        | beta_2.banded(lambda at, p=one: beta_2_figures(basis, p, beta_2_points(basis, at)))  # type: ignore[misc]
        for one in patterns
    ]


def run(small: bool) -> list[Row]:
    """One row: a comparison's time beside the solver's, with how far their bands lie apart."""
    basis = _basis()
    asked = PATTERNS[:1] if small else PATTERNS
    theirs = by_solver(basis, asked)
    worst = 0.0
    for one, other in zip(by_model(basis, asked), theirs, strict=True):
        for key, band in other.items():
            mine = one[key]
            ends = zip((mine.low, mine.middle, mine.high), (band.low, band.middle, band.high), strict=True)
            worst = max(worst, *(abs(a / b - 1) for a, b in ends))
    ours, other_ms = in_turns(
        1 if small else 5, lambda: compare(basis, asked), lambda: by_solver(basis, asked)
    )
    note = (
        f"{len(asked)} patterns, 12 months of bloods, all bands: {spread(ours)}; beside {METHOD} at {TOLERANCE:g},"
        f" band ends at most {worst:.0e} apart"
    )
    ours_ms, goal = middle(ours), f"under {MOST_MS:g} ms, {WITHIN:g} apart"
    return [
        row("compare.patterns", ours_ms, middle(other_ms), goal, ours_ms < MOST_MS and worst < WITHIN, note)
    ]
