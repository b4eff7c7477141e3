"""Made-up pairs of bloods as rows of a file, in every way that a spreadsheet may write them."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from math import exp, log
from random import Random

from ebbwell.review.clearance import clearance_l_min
from ebbwell.science.fit import MonthBloods, expected

TODAY = date(2026, 4, 29)
ROW: dict[str, str] = {
    "person": "A",
    "night": "2026-04-27",
    "nights": "every other night",
    "urea_before_mmol_l": "16.1",
    "urea_after_mmol_l": "3.2",
    "weight_after_kg": "64.5",
    "minutes": "450",
    "koa_ml_min": "1050",
    "blood_flow_ml_min": "230",
    "fluid_flow_ml_min": "300",
    "gain_l_day": "1.07",
}
"""A line that reads as it stands."""


def written(
    rows: Sequence[Mapping[str, str]], separator: str = ",", end: str = "\n", quote: int = csv.QUOTE_MINIMAL
) -> str:
    """The rows as a file, with the columns that the first one has."""
    out = io.StringIO(newline="")
    made = csv.DictWriter(out, list(rows[0]), delimiter=separator, lineterminator=end, quoting=quote)  # type: ignore[call-overload]
    made.writeheader()
    made.writerows(rows)
    return out.getvalue()


def row(**change: str) -> dict[str, str]:
    """The plain line with some cells changed."""
    return {**ROW, **change}


def people(count: int, months: int = 12, seed: int = 5, lab: float = 0.03) -> list[dict[str, str]]:
    """Lines of people whose bloods the fitted model made, each with their own water and clearance."""
    dice = Random(seed)
    cleared = clearance_l_min(1050, 230, 300)
    found = []
    for number in range(count):
        weight = dice.uniform(50, 95)
        share, over = exp(dice.gauss(log(0.58), 0.08)), exp(dice.gauss(0, 0.08))
        made = dice.uniform(0.0032, 0.0045) * weight
        month = MonthBloods(1, 0.5, weight, cleared, 1.07 / 1440, (0,), 450, 2880, 0)
        told = expected(month, share, over)
        for n in range(months):
            before, after = (0.93 * made * exp(one + dice.gauss(0, lab)) for one in (told.before, told.post))
            found.append(
                row(
                    person=f"P{number}",
                    night=(date(2025, 5, 1) + timedelta(days=28 * n)).isoformat(),
                    urea_before_mmol_l=f"{before:.2f}",
                    urea_after_mmol_l=f"{after:.2f}",
                    weight_after_kg=f"{weight + dice.gauss(0, 0.3):.1f}",
                )
            )
    return found
