"""What a treatment is made of, and what comes in beside it: plain numbers, in minutes, litres and mass.

Source: kinetics A8.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import isfinite
from typing import NamedTuple

from ebbwell.core.errors import DomainError


class Part(NamedTuple):
    """A part of a treatment with all settings constant.

    minutes above 0. clearance_l_min [L/min]: the dialyser's, diffusion and convection together. removal_l [L]: fluid
    taken off in it; None for an even share, by time, of what came in since the last treatment and other parts leave.
    bath: concentration in the dialysis fluid. isolated: no dialysis fluid flows, and the fluid taken off carries its
    solute along; clearance_l_min is then of no account.
    """

    minutes: float
    clearance_l_min: float
    removal_l: float | None = None
    bath: float = 0.0
    isolated: bool = False


class Treatment(NamedTuple):
    """start_min: minutes from the start of the cycle. parts: one after another, at least one."""

    start_min: float
    parts: tuple[Part, ...]

    @property
    def minutes(self) -> float:
        """How long all parts take [min]."""
        return sum(part.minutes for part in self.parts)


class Intake(NamedTuple):
    """A stretch of time with more of the solute coming in, such as a meal: start and minutes in the cycle, mass/min."""

    start_min: float
    minutes: float
    input_per_min: float


def check_numbers(treatments: Sequence[Treatment], intakes: Sequence[Intake], *others: float) -> None:
    """Raises DomainError where a treatment has no part, or anything in it isn't a number."""
    if not treatments or any(not one.parts for one in treatments):
        raise DomainError("science.no_treatments")
    numbers = [*others, *(one.start_min for one in treatments)]
    for one in treatments:
        for part in one.parts:
            numbers += (part.minutes, part.clearance_l_min, part.removal_l or 0.0, part.bath)
    for intake in intakes:
        numbers += intake
    if not all(map(isfinite, numbers)):
        raise DomainError("science.leg_not_a_number")


def shared(treatment: Treatment, gained: float) -> list[tuple[Part, float]]:
    """Each part with the fluid it takes off [L]: what is written, and an even share of the rest of what was gained [L].

    Raises DomainError for a part that takes no time. Source: arithmetic.
    """
    if any(not part.minutes > 0 for part in treatment.parts):
        raise DomainError("science.leg_not_above_zero")
    open_min = sum(part.minutes for part in treatment.parts if part.removal_l is None)
    rest = gained - sum(part.removal_l or 0.0 for part in treatment.parts)
    return [
        (part, rest * part.minutes / open_min if part.removal_l is None else part.removal_l)
        for part in treatment.parts
    ]


def cuts(start: float, minutes: float, intakes: Sequence[Intake]) -> list[tuple[float, float, float]]:
    """A stretch cut where intakes begin and end: start, length [min], and mass/min that comes in beside generation."""
    end = start + minutes
    turns = {t for one in intakes for t in (one.start_min, one.start_min + one.minutes) if start < t < end}
    edges = sorted({start, end} | turns)
    return [
        (
            left,
            right - left,
            sum(
                one.input_per_min
                for one in intakes
                if one.start_min <= left and right <= one.start_min + one.minutes
            ),
        )
        for left, right in pairwise(edges)
    ]
