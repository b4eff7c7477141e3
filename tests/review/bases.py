"""Own numbers to work from: a person whose bloods the model itself made, with any dialyser and pattern."""

from __future__ import annotations

from decimal import Decimal
from math import exp
from typing import Any

from ebbwell.review.basis import Basis, Pattern
from ebbwell.review.clearance import IN_BODY
from ebbwell.science.bands import CERTAIN, Band
from ebbwell.science.dialyser import BLOOD_WATER, koa_of_clearance
from ebbwell.science.fit import Fit, MonthBloods, expected, fit

EVERY_OTHER = Pattern("every other night", (0,), 2, 8.0, 250.0, 300.0)
FOUR = Pattern("four nights", (0, 1, 3, 5), 7, 8.0, 250.0, 300.0)
THRICE = Pattern("three times", (0, 2, 4), 7, 4.0, 300.0, 500.0)
SIX = Pattern("six nights", (0, 1, 2, 3, 4, 5), 7, 8.0, 200.0, 200.0)


def koa(clearance_ml_min: float, pattern: Pattern, share: float = float(BLOOD_WATER)) -> float:
    """The size of a dialyser that clears so much at the flows of a pattern."""
    return float(
        koa_of_clearance(
            clearance_ml_min=Decimal(repr(clearance_ml_min)),
            blood_flow_ml_min=Decimal(repr(round(share * pattern.blood_flow_ml_min, 9))),
            dialysate_flow_ml_min=Decimal(repr(pattern.fluid_flow_ml_min)),
        )
    )


def month_of(pattern: Pattern, *, litres: float, kilos: float, made: float, cleared_ml: float,
             kidneys_ml: float = 0.0, gain: float = 0.0) -> MonthBloods:  # fmt: skip
    """The pair that the fitted model makes of a person under a pattern."""
    plain = MonthBloods(
        1.0, 0.5, kilos, cleared_ml / 1000, gain / 1440, pattern.nights.starts_min(), pattern.hours * 60,
        pattern.cycle_min, len(pattern.days) // 2, kidneys_ml / 1000,
    )  # fmt: skip
    told = expected(plain, litres / kilos, 1.0)
    return plain._replace(before=made * exp(told.before), post=made * exp(told.post))


def certain(pattern: Pattern, **person: float) -> Basis:
    """A person whose numbers are known without doubt."""
    month = month_of(pattern, **person)  # type: ignore[arg-type]
    litres, kilos, made = person["litres"], person["kilos"], person["made"]

    def sure(value: float) -> Band:
        return Band(value, value, value)

    known = Fit(
        sure(litres / kilos), sure(1.0), (sure(made),), (sure(1.0),), sure(litres / kilos), (), (), (0.0,),
        CERTAIN,
    )  # fmt: skip
    return basis(pattern, (month,), known, **person)


def basis(pattern: Pattern, months: tuple[MonthBloods, ...], found: Fit, **person: float) -> Basis:
    """With a dialyser that clears what the bloods were made with."""
    cleared = person["cleared_ml"]
    return Basis(
        months=months,
        fit=found,
        present=pattern,
        weight_kg=person["kilos"],
        gain_l_day=person.get("gain", 0.0),
        koa_ml_min={
            "urea": koa(cleared, pattern) / IN_BODY,
            "phosphate": 700.0,
            "beta_2_microglobulin": 100.0,
        },
        before={"phosphate": 1.5},
        bath={"potassium": 2.0, "bicarbonate": 34.0},
        residual_l_min=person.get("kidneys_ml", 0.0) / 1000,
    )


PERSON: dict[str, float] = {
    "litres": 37.0, "kilos": 66.0, "made": 0.22, "cleared_ml": 170.0, "gain": 0.9,
}  # fmt: skip


def usual(pattern: Pattern = FOUR, months: int = 6, **change: Any) -> Basis:
    """A person with six months of bloods and the doubt that the fit leaves."""
    person = PERSON | change
    bloods = (month_of(pattern, **person),) * months
    return basis(pattern, bloods, fit(bloods), **person)
