"""Collected urine beside the bloods of its own days: what own kidneys clear is told by levels of that time alone."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from typing import NamedTuple

from ebbwell.journal.kinds.bloods import UrineCollected
from ebbwell.state.bloods import as_date, figure_of, urine
from ebbwell.state.facts import Facts

UREA = "urea"


class Levels(NamedTuple):
    """Urea before and after the treatment of a night [mmol/L of plasma]."""

    night: date
    before: Decimal
    after: Decimal


class Collected(NamedTuple):
    """A collection of urine, its urea [mmol/L], and the levels nearest to its end."""

    ended: date
    body: UrineCollected
    urea: Decimal
    levels: Levels


def collected_urine(standing: Facts, levels: Sequence[Levels]) -> list[Collected]:
    """Every collection with urea, newest first; () where there are no levels. Source: kinetics A7 (Pmean)."""
    found = []
    for _, body in urine(standing):
        ended = as_date(body.ended_on)
        figure = next((f for line in body.lines if line.substance == UREA and (f := figure_of(line))), None)
        if ended is not None and figure is not None and not figure.below and levels:
            nearest = min(levels, key=lambda one: abs((one.night - ended).days))
            found.append(Collected(ended, body, figure.value, nearest))
    return found
