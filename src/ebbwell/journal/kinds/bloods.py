"""Bloods as the laboratory gave them, the clinic's targets, urine, and what is known of the dialyser and the body."""

from __future__ import annotations

import msgspec

from ebbwell.journal.kinds.base import Body, register

DRAWN = ("before", "after", "between")
"""When a sample was drawn: before a treatment, at its end, or on a day between."""

SLOWED = ("slowed", "not_slowed", "")
"""How a sample at the end was drawn: with the blood flow slowed as taught, without; "" for not known."""

TAKEN = ("last_day", "between", "other", "")
"""When urine was collected: on the last day before a treatment, the whole time between two, at another time; "" for not
known."""


class BloodLine(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """One figure of a result. value: decimal string in unit, the laboratory's own. below: "less than"; above: "more".

    low, high: the laboratory's range as printed, in the same unit, "" for none. typed: as it stands on the paper.
    """

    substance: str
    value: str
    unit: str
    below: bool = False
    above: bool = False
    low: str = ""
    high: str = ""
    typed: str = ""

    @property
    def sign(self) -> str:
        """What stands before the value: ``<``, ``>``, or nothing."""
        return "<" if self.below else ">" if self.above else ""


@register
class BloodResult(Body, frozen=True, kw_only=True):
    """What came back from the laboratory of one sample.

    sampled_on: date (YYYY-MM-DD) of drawing. drawn: one of ``DRAWN``. night: the treatment it was drawn before or after,
    "" for none. minutes_after: from the end of dialysis to drawing [min], a decimal string, "" for not known.
    slowed: one of ``SLOWED``.
    """

    KIND = "blood_result"
    sampled_on: str
    drawn: str
    lines: tuple[BloodLine, ...]
    night: str = ""
    minutes_after: str = ""
    slowed: str = ""
    laboratory: str = ""
    reported_on: str = ""
    words: str = ""
    asked: tuple[str, ...] = ()


@register
class BloodTarget(Body, frozen=True, kw_only=True):
    """What the clinic wants a substance to lie between before treatment. low, high: decimal strings in unit.

    One of them "" leaves that side open; both "" takes the target off again. giver, given_on: who of the clinic
    said so, and the date.
    """

    KIND = "blood_target"
    substance: str
    unit: str
    low: str
    high: str
    giver: str
    given_on: str
    words: str = ""


@register
class UrineCollected(Body, frozen=True, kw_only=True):
    """A timed collection of urine. ended_on: date. hours [h], volume_ml [mL], decimal strings.

    lines: what the laboratory found in it, such as urea. taken: one of ``TAKEN``.
    """

    KIND = "urine_collected"
    ended_on: str
    hours: str
    volume_ml: str
    lines: tuple[BloodLine, ...]
    taken: str = ""
    words: str = ""
    asked: tuple[str, ...] = ()


@register
class DialyserFigures(Body, frozen=True, kw_only=True):
    """What the leaflet of a dialyser says it clears. dialyser: its name as on the prescription.

    blood_flow, fluid_flow, removal [mL/min]: at which it was measured; clearances: substance to mL/min. All are decimal
    strings. stands_in: where the figures stand.
    """

    KIND = "dialyser_figures"
    dialyser: str
    blood_flow: str
    fluid_flow: str
    clearances: dict[str, str]
    stands_in: str
    removal: str = "0"
    words: str = ""


@register
class BodyFigures(Body, frozen=True, kw_only=True):
    """Of the person on dialysis, for the usual formulas of body water and surface. height_cm: decimal string.

    born: year (YYYY). water_by: whose formula of body water is used, ``woman`` or ``man``; "" for none.
    """

    KIND = "body_figures"
    height_cm: str
    born: str
    water_by: str = ""
