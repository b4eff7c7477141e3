"""Parameters of the solutes, of the fit and of ranges, each against the figure that its source prints.

Read off the sources (kinetics 0, A1, A4, A9), not off the program. Where a source prints mL/min, a percentage or a
quotient, ours is turned into that before it is held against it.
"""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from statistics import NormalDist

import pytest

from ebbwell.science import bands, fit, ranges_solutes
from ebbwell.science.solutes import SOLUTES
from tests.external.table import Row, check, params

CLOSE = "1e-9"
FIGURES = {solute.key: solute.figures for solute in SOLUTES}
MEMORY = "from memory"
WATER, PHOSPHATE, BETA_2, BICARBONATE = (
    "kinetics:0",
    "kinetics:A9 phosphate",
    "kinetics:A9 beta-2",
    "kinetics:A9 bicarbonate",
)
BETA = "beta_2_microglobulin"


def turned(solute: str, name: str, end: str, change: Callable[[float], float]) -> Callable[[], Decimal]:
    return lambda: Decimal(change(getattr(FIGURES[solute][name], end)))


def per_litre(solute: str, name: str, end: str) -> Callable[[], Decimal]:
    """As mL/min."""
    return turned(solute, name, end, lambda one: 1000 * one)


def same(solute: str, name: str, end: str) -> Callable[[], Decimal]:
    return turned(solute, name, end, lambda one: one)


def quotient(solute: str, name: str, end: str) -> Callable[[], Decimal]:
    return turned(solute, name, end, lambda one: 1 / one)


def of_range(name: str, end: str) -> Callable[[], Decimal]:
    return lambda: Decimal(getattr(getattr(ranges_solutes, name), end))


SOLUTE_ROWS = (
    Row(WATER, "urea: outer pool a third", quotient("urea", "outer_share", "value"), "3", CLOSE),
    Row(
        WATER,
        "urea: 0.64 L/min between the pools at 40 L",
        turned("urea", "between_per_min", "value", lambda one: 40 * one),
        "0.64",
        CLOSE,
    ),
    Row(
        MEMORY,
        "kinetics 0: warn outside 0.010 to 0.025 x V",
        same("urea", "between_per_min", "low"),
        "0.010",
        CLOSE,
    ),
    Row(MEMORY, "kinetics 0: the same", same("urea", "between_per_min", "high"), "0.025", CLOSE),
    Row(
        WATER,
        "creatinine takes the pools of urea: outer a third",
        quotient("creatinine", "outer_share", "value"),
        "3",
        CLOSE,
    ),
    Row(
        PHOSPHATE,
        "V 11.0 +- 4.2 L in sessions of 2 h (Agar)",
        same("phosphate", "near_l", "value"),
        "11.0",
        CLOSE,
    ),
    Row(PHOSPHATE, "V 9.4 (7.2 to 12.0) L (Leypoldt)", same("phosphate", "near_l", "low"), "7.2", CLOSE),
    Row(
        PHOSPHATE,
        "V 11.9 + 3.8 L in sessions of 4 h (Agar)",
        same("phosphate", "near_l", "high"),
        "15.7",
        CLOSE,
    ),
    Row(
        PHOSPHATE,
        "KM 99 +- 47 mL/min in sessions of 4 h",
        per_litre("phosphate", "release_l_min", "value"),
        "99",
        CLOSE,
    ),
    Row(PHOSPHATE, "KM from 45 to 208 mL/min", per_litre("phosphate", "release_l_min", "low"), "45", CLOSE),
    Row(PHOSPHATE, "KM from 45 to 208 mL/min", per_litre("phosphate", "release_l_min", "high"), "208", CLOSE),
    Row(
        PHOSPHATE,
        "far pool 3 x body water (Daugirdas 2018)",
        same("phosphate", "far_over_water", "value"),
        "3",
        CLOSE,
    ),
    Row(MEMORY, "kinetics A9: V about 15 L (Agar 2014)", same("potassium", "near_l", "value"), "15", CLOSE),
    Row(
        MEMORY,
        "kinetics A9: KM about 158 mL/min (Agar 2014)",
        per_litre("potassium", "release_l_min", "value"),
        "158",
        CLOSE,
    ),
    Row(
        BETA_2,
        "25 to 36 % of body water",
        turned(BETA, "volume_over_water", "low", lambda one: 100 * one),
        "25",
        CLOSE,
    ),
    Row(
        BETA_2,
        "25 to 36 % of body water",
        turned(BETA, "volume_over_water", "high", lambda one: 100 * one),
        "36",
        CLOSE,
    ),
    Row(BETA_2, "V / V1 4.4, read so here", quotient(BETA, "outer_share", "value"), "4.4", CLOSE),
    Row(BETA_2, "from 3.5 to 5.3", quotient(BETA, "outer_share", "low"), "5.3", CLOSE),
    Row(BETA_2, "from 3.5 to 5.3", quotient(BETA, "outer_share", "high"), "3.5", CLOSE),
    Row(BETA_2, "K12 55 mL/min", per_litre(BETA, "between_l_min", "value"), "55", CLOSE),
    Row(BETA_2, "K12 30 to 80", per_litre(BETA, "between_l_min", "low"), "30", CLOSE),
    Row(BETA_2, "K12 30 to 80", per_litre(BETA, "between_l_min", "high"), "80", CLOSE),
    Row(
        MEMORY,
        "kinetics A9: elsewhere 3 mL/min (1 to 4)",
        per_litre(BETA, "elsewhere_l_min", "value"),
        "3",
        CLOSE,
    ),
    Row(MEMORY, "kinetics A9: the same", per_litre(BETA, "elsewhere_l_min", "low"), "1", CLOSE),
    Row(MEMORY, "kinetics A9: the same", per_litre(BETA, "elsewhere_l_min", "high"), "4", CLOSE),
    Row(MEMORY, "kinetics A9: G 2 to 4 mg/kg/day", same(BETA, "generation_mg_kg_day", "low"), "2", CLOSE),
    Row(MEMORY, "kinetics A9: the same", same(BETA, "generation_mg_kg_day", "high"), "4", CLOSE),
    Row(
        BICARBONATE,
        "Hm 0.152 +- 0.065 L/min",
        per_litre("bicarbonate", "release_l_min", "value"),
        "152",
        CLOSE,
    ),
    Row(
        BICARBONATE,
        "0.152 less 0.065 L/min",
        per_litre("bicarbonate", "release_l_min", "low"),
        "87",
        CLOSE,
    ),
    Row(
        BICARBONATE,
        "half of the people from 0.11 to 0.24 L/min",
        per_litre("bicarbonate", "release_l_min", "high"),
        "240",
        CLOSE,
    ),
)

FIT_ROWS = (
    Row(WATER, "outer pool a third", lambda: 1 / Decimal(fit.OUTER_SHARE), "3", CLOSE),
    Row(
        WATER,
        "0.64 L/min between the pools at 40 L",
        lambda: Decimal(40 * fit.BETWEEN_PER_MIN),
        "0.64",
        CLOSE,
    ),
    Row(
        "examples:E4.4",
        "58 % of a mean weight of 75.54 kg",
        lambda: Decimal(75.54 * fit.USUAL_WATER),
        "43.81",
    ),
    Row(
        "arithmetic",
        "Python's statistics: 95 in 100 of a normal distribution lie below",
        lambda: Decimal(bands.NINE_IN_TEN),
        str(NormalDist().inv_cdf(0.95)),
        CLOSE,
    ),
)

RANGES = (
    ("THRICE_HOURS", "low", "2", MEMORY, "kinetics A1: second generation, t 2 to 6 h"),
    ("THRICE_HOURS", "high", "6", MEMORY, "kinetics A1: second generation, t 2 to 6 h"),
    ("THRICE_DOSE", "low", "0.7", MEMORY, "kinetics A1: second generation, result 0.7 to 2.1"),
    ("THRICE_DOSE", "high", "2.1", MEMORY, "kinetics A1: second generation, result 0.7 to 2.1"),
    ("REGRESSION_HOURS", "low", "2.5", MEMORY, "kinetics A1: regression, 2.5 to 5 h"),
    ("REGRESSION_HOURS", "high", "5", MEMORY, "kinetics A1: regression, 2.5 to 5 h"),
    ("SESSIONS", "low", "2", "kinetics:A1", "any schedule: 2 to 7 a week"),
    ("SESSIONS", "high", "7", "kinetics:A1", "any schedule: 2 to 7 a week"),
    ("DAYS", "low", "1", MEMORY, "kinetics A1: GFAC for 1 to 4 days"),
    ("DAYS", "high", "4", MEMORY, "kinetics A1: GFAC for 1 to 4 days"),
    ("AGE", "low", "16", "kinetics:A4", "refuse age under 16 in adult forms"),
)
"""Ends of ranges that a formula's source names; name, end, printed, source, detail."""

RANGE_ROWS = tuple(
    Row(source, detail, of_range(name, end), printed, CLOSE) for name, end, printed, source, detail in RANGES
)
ROWS = (*SOLUTE_ROWS, *FIT_ROWS, *RANGE_ROWS)


@pytest.mark.parametrize("row", params(ROWS))
def test_printed_figure(row: Row) -> None:
    check(row)
