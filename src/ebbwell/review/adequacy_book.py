"""The measures of one month while they are worked out one after the other; later ones take earlier ones in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal

from ebbwell.core.worked import Input
from ebbwell.review.adequacy_kinds import Asked, Came, Doubt, Inputs, Measure, decimal_of
from ebbwell.science import catalogue
from ebbwell.science.adequacy import GENERATION_DAYS
from ebbwell.science.bands import NINE_IN_TEN
from ebbwell.science.weekly_dose import measures_for

RULE_OFF = (Decimal("0.0025"), Decimal("0.0015"))
"""How far the rule for urea made in an hour lies off exact values, a day and two days or more after the last treatment
[/h]. Source: kinetics:A1 (exact rows beside the rule)."""
NEXT_DAY = Decimal("1.5")
"""Days under which the last treatment counts as a day ago, beside ``RULE_OFF``. Source: arithmetic (the middle)."""
EVENED_OUT = "equilibrated_dose_time"
"""The measure that stands for the evened out dose wherever another asks for one."""
AT_END_MIN = 2.0
"""Minutes after the end within which a sample with the flow slowed counts as drawn at the end. Source: common practice,
no source."""


def measure_named(found: Iterable[Measure], key: str) -> Measure | None:
    """The one of that key; None for none."""
    return next((one for one in found if one.key == key), None)


class Book:
    """Takes measures in, in order, and holds what several of them ask for."""

    def __init__(self, asked: Asked) -> None:
        self.asked = asked
        self.rules = {one.name: one.why_not for one in measures_for(asked.sessions, asked.hours)}
        self.found: list[Measure] = []
        self.late = not 0 <= asked.month.drawn_after_min <= AT_END_MIN
        self.days = asked.since_last

    def add(
        self,
        key: str,
        group: str,
        inputs: Inputs,
        *,
        why: str = "",
        formula: str = "",
        came: Mapping[str, Came] | None = None,
        doubt: Doubt | None = None,
        notes: Sequence[str] = (),
    ) -> Measure:
        """Work one out, unless a reason keeps it out; then it has none of its inputs either."""
        name = formula or key
        reason = why or self.rules.get(name, "")
        worked = catalogue.work(name, {} if reason else inputs)
        keep = None if reason or worked.value is None else doubt
        one = Measure(key, group, worked, reason, keep, dict(came or {}), tuple(notes))
        self.found.append(one)
        return one

    def input(self, name: str, value: Decimal | float | None, unit: str) -> Input:
        """An input with the entry that it came from, if any."""
        number = value if value is None or isinstance(value, Decimal) else decimal_of(value)
        return Input(name, number, unit, self.asked.entries.get(name))

    @property
    def urea(self) -> dict[str, Input | Decimal | None]:
        """The pair, as the sums of a session take it."""
        return {
            "urea_before_mmol_l": self.input("urea_before_mmol_l", self.asked.urea_before, "mmol/L"),
            "urea_after_mmol_l": self.input("urea_after_mmol_l", self.asked.urea_after, "mmol/L"),
        }

    @property
    def why_late(self) -> str:
        """Why a measure of a sample drawn at the end isn't quoted; "" where it was drawn then."""
        return "adequacy.why_drawn_late" if self.late else ""

    @property
    def made_by_days(self) -> Decimal:
        """Urea made in an hour, as a share of that before, by days since the last treatment, at least one [/h]."""
        return GENERATION_DAYS / max(self.days, Decimal(1))

    @property
    def lab_off(self) -> Decimal:
        """How far one figure of urea may be off by the laboratory, nine times in ten, as a share of it."""
        return decimal_of(NINE_IN_TEN * self.asked.known.lab_doubt)

    @property
    def ratio_off(self) -> Decimal:
        """How far after over before may be off by the laboratory, nine times in ten."""
        ratio = self.asked.urea_after / self.asked.urea_before
        return ratio * decimal_of(NINE_IN_TEN * self.asked.known.ratio_doubt)

    def error_inputs(self, made: Decimal) -> dict[str, Decimal]:
        """What the error of a dose is worked out from, but for the pair. made [/h]: urea, as a share of that before."""
        return {
            "hours_h": self.asked.hours,
            "generation_per_h": made,
            "ratio_error_factor": self.ratio_off,
            "generation_error_per_h": RULE_OFF[0] if self.days < NEXT_DAY else RULE_OFF[1],
        }

    def dose_doubt(self, name: str, inputs: Inputs, made: Decimal) -> Doubt | None:
        """The dose less and more its error; without an upper end where the least of what may be left is nothing."""
        dose = catalogue.work(name, inputs).value
        ends = self.error_inputs(made)
        error = catalogue.work("single_pool_dose_error", {**self.urea, **ends}).value
        if dose is None or error is None:
            return None
        ratio = self.asked.urea_after / self.asked.urea_before
        least = ratio - self.ratio_off - (made + ends["generation_error_per_h"]) * self.asked.hours
        return Doubt(max(dose - error, Decimal(0)), dose + error if least > 0 else None)

    @property
    def dose(self) -> Measure | None:
        """The dose of a session that later measures take: the one made for thrice weekly where it fits."""
        for key in ("single_pool_dose", "single_pool_dose_any"):
            one = measure_named(self.found, key)
            if one is not None and one.worked.value is not None:
                return one
        return None

    @property
    def dose_came(self) -> Came:
        """Where that dose came from; where there is none, what would have given it."""
        return Came("measure", self.dose.key if self.dose else "single_pool_dose_any")

    @property
    def evened_out(self) -> Measure | None:
        """The evened out dose that later measures take: by the time a body takes, which fits any length."""
        return measure_named(self.found, EVENED_OUT)


def over(name: str, cases: Sequence[Inputs], open_end: bool = False) -> Doubt | None:
    """The band over some cases of the inputs; None where one of them has no answer."""
    values = [catalogue.work(name, case) for case in cases]
    known = [one.value for one in values if one.value is not None]
    if not values or len(known) < len(values):
        return None
    return Doubt(min(known), None if open_end else max(known))
