"""The newest level of each substance before a treatment, in one unit, with the night it was drawn before."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import NamedTuple

from ebbwell.science import solutes
from ebbwell.state.bloods import BloodFigure, apart, blood_results
from ebbwell.state.facts import Facts
from ebbwell.state.own_past import NightSummary

UREA, CREATININE = solutes.UREA.key, solutes.CREATININE.key
TOLD_IN_MMOL = {CREATININE: Decimal("0.001")}
"""Substances kept in another unit than mmol/L, and what brings them to it."""


class NewestLevel(NamedTuple):
    """level: mmol/L of plasma, beta-2-microglobulin mg/L. night: of the treatment, else the day of drawing."""

    level: float
    night: date


def newest_levels(standing: Facts, past: Mapping[str, NightSummary]) -> dict[str, NewestLevel]:
    """Substance to its newest level before a treatment.

    A figure that is a bound is left out, and so are two of one moment that differ: nobody said yet which one holds.
    """
    held: dict[tuple[str, date], list[BloodFigure]] = {}
    for view in blood_results(standing):
        night = past.get(view.body.night)
        day = date.fromisoformat(night.night) if night is not None else view.on
        if view.body.drawn == "before" and day is not None:
            for name, figure in view.figures.items():
                held.setdefault((name, day), []).append(figure)
    found: dict[str, NewestLevel] = {}
    for (name, day), figures in sorted(held.items(), key=lambda one: one[0][1], reverse=True):
        first = figures[0]
        sure = first.exact and not any(apart(first, other) for other in figures)
        if sure and name not in found:
            level = first.value * TOLD_IN_MMOL.get(name, Decimal(1))
            found[name] = NewestLevel(float(level), day)
    return found
