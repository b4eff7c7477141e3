"""Microbe and endotoxin results: below the limit, at the action level, or not to be told from what was plated."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import Enum

from ebbwell.core.errors import DomainError
from ebbwell.core.numbers import parse_decimal
from ebbwell.science.formula import formula, inside, span

TOO_MANY = ("tntc", "too many to count", "too numerous to count")
"""How a laboratory writes that the plate couldn't be counted."""

COUNT = span("CFU/mL", "0", "100000000")
PLATED = span("mL", "0.01", "10000")


@formula(
    unit="mL",
    places=2,
    rounding="up",
    trim=True,
    source="arithmetic",
    text="1 / limit",
    limit_cfu_ml=span("CFU/mL", "0.0001", "1000"),
)
def least_plated(*, limit_cfu_ml: Decimal) -> Decimal:
    """Least volume that can show a count below a limit when no colony grows.  [mL]

    limit_cfu_ml [CFU/mL] 0.0001 to 1,000. Raises DomainError outside. Shown rounded up.
    Source: arithmetic (fluids 1.2).
    """
    return 1 / limit_cfu_ml


@formula(
    unit="CFU/mL",
    places=3,
    rounding="up",
    trim=True,
    source="arithmetic",
    text="1 / volume",
    plated_ml=PLATED,
)
def shown_by_no_colony(*, plated_ml: Decimal) -> Decimal:
    """What a plate without a colony shows: less than this, and not 0.  [CFU/mL]

    plated_ml [mL] 0.01 to 10,000. Raises DomainError outside. Shown rounded up. Source: arithmetic (fluids 1.2).
    """
    return 1 / plated_ml


class MicrobeLevel(Enum):
    """What a result shows. The words of the lists are "below": a result at the limit isn't below it."""

    BELOW = "below the action level, or below the limit where no action level is set"
    ACTION = "at or over the action level, or not to be told from it"
    OVER = "at or over the limit"
    CANT_TELL = "the result can't show whether it is below the limit"


@dataclass(frozen=True, slots=True)
class MicrobeLimit:
    """below: the figure a result has to be below. action: the level at which steps are taken; None: not set."""

    below: Decimal
    unit: str
    action: Decimal | None = None


@dataclass(frozen=True, slots=True)
class MicrobeResult:
    """A result in the limit's unit; value is None for a plate too full to count.

    sign: ``<`` less than, ``>`` more than, or empty. plated_ml [mL]: what was plated; None: not known.
    """

    value: Decimal | None
    unit: str
    sign: str = ""
    plated_ml: Decimal | None = None


def read_microbes(typed: str, unit: str, plated_ml: Decimal | None = None) -> MicrobeResult:
    """A result as the laboratory wrote it: ``TNTC``, ``<0.1``, ``>300``, ``12``.

    unit: CFU/mL or EU/mL. plated_ml [mL] 0.01 to 10,000. Raises InputError and AmbiguousNumber for other text,
    DomainError outside.
    """
    if plated_ml is not None:
        inside("plated_ml", plated_ml, PLATED)
    text = " ".join(typed.split())
    if text.casefold() in TOO_MANY:
        return MicrobeResult(None, unit, plated_ml=plated_ml)
    sign = text[:1] if text[:1] in ("<", ">") else ""
    value = parse_decimal(text.removeprefix(sign))
    inside("count", value, COUNT)
    return MicrobeResult(value, unit, sign, plated_ml)


def judge_microbes(result: MicrobeResult, limit: MicrobeLimit) -> MicrobeLevel:
    """What a result shows against a limit and its action level.

    No colony is "less than 1 / volume"; for a limit under 1 CFU/mL a 0 without its volume shows nothing. A "<"
    over the action level is taken as at it. Raises DomainError where the units differ.
    Source: fluids:W6, fluids:W7, common practice (fluids 1.2).
    """
    if result.unit != limit.unit:
        raise DomainError("science.other_unit_than_limit", unit=result.unit[:40], limit=limit.unit)
    if result.value is None:
        return MicrobeLevel.OVER
    value, sign = result.value, result.sign
    if value == 0 and not sign and limit.unit == "CFU/mL":
        if result.plated_ml is not None:
            value, sign = shown_by_no_colony(plated_ml=result.plated_ml), "<"
        elif limit.below < 1:
            return MicrobeLevel.CANT_TELL
    if sign == "<" and value == 0:
        raise DomainError("science.less_than_nothing")
    if value > limit.below if sign == "<" else sign == ">" and value < limit.below:
        return MicrobeLevel.CANT_TELL
    if sign != "<" and value >= limit.below:
        return MicrobeLevel.OVER
    if limit.action is not None and (value > limit.action if sign == "<" else value >= limit.action):
        return MicrobeLevel.ACTION
    return MicrobeLevel.BELOW
