"""The next nights beside tonight's plan: what they would carry if gains stay as in this person's own past.

Nothing here is set on a machine. No night, hour or rate is added to what was ordered; without the unit's written rule
nothing is spread. Source: practice hazard H61, fluids 4.3.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from ebbwell.core.worked import Input, Outcome, Worked
from ebbwell.plan.tonight import TonightPlan
from ebbwell.science import catalogue
from ebbwell.science.nights_ahead import GainBand, NightAhead, gain_band, nights_ahead

NIGHTS = 4
"""Tonight and the three after it. Own choice: with every other night about a week."""


@dataclass(frozen=True, slots=True)
class Ahead:
    """gap: days between treatments that were most frequent. band: own gains over so many days.

    low, middle, high: the nights if every gain lies at that end of the band; tonight is the same in all three.
    spread: the even volume by the unit's rule, over spread_nights; None without a rule, or where tonight fits.
    spread_rate [mL/h]: the same as a rate; over_cap: whether it is more than the unit's cap lets off.
    """

    gap: int
    band: GainBand
    low: tuple[NightAhead, ...]
    middle: tuple[NightAhead, ...]
    high: tuple[NightAhead, ...]
    spread: Worked | None = None
    spread_rate: Worked | None = None
    spread_nights: int = 0
    over_cap: bool = False


def look_ahead(
    plan: TonightPlan, gains: Sequence[Decimal], gap: int, *, spread_nights: Input | None = None
) -> Ahead | None:
    """The next nights from tonight's plan; None where tonight isn't worked out or own gains are too few.

    gains [kg]: own gains over ``gap`` days, oldest first. spread_nights: the line of the prescription, if it has one.
    What goes in is taken as tonight, each night.
    """
    over, goes_in, cap = _tonight(plan)
    band = gain_band(gains)
    if over is None or goes_in is None or cap is None or band is None:
        return None

    def run(gain: Decimal) -> tuple[NightAhead, ...]:
        return nights_ahead(excess_kg=over, cap_volume_l=cap, goes_in_l=goes_in, gain_kg=gain, nights=NIGHTS)

    low, middle, high = run(band.low), run(band.middle), run(band.high)
    found = Ahead(gap, band, low, middle, high)
    remains = plan.line("remains_after")
    if spread_nights is None or spread_nights.value is None or remains is None or not remains.value:
        return found
    spread = catalogue.work(
        "spread_volume",
        {
            "excess_kg": Input("excess_kg", over, "kg"),
            "gain_kg": Input("gain_kg", max(Decimal(0), band.middle), "kg"),
            "goes_in_l": Input("goes_in_l", goes_in, "L"),
            "nights": spread_nights,
        },
    )
    hours = next((one for one in _inputs(plan, "cap_volume") if one.name == "hours_h"), None)
    rate = catalogue.work("removal_rate", {"volume_l": spread.value, "hours_h": hours})
    over_cap = spread.outcome is Outcome.OK and spread.value is not None and spread.value > cap
    return Ahead(gap, band, low, middle, high, spread, rate, int(spread_nights.value), over_cap)


def _inputs(plan: TonightPlan, name: str) -> tuple[Input, ...]:
    line = plan.line(name)
    return line.inputs if line is not None else ()


def _tonight(plan: TonightPlan) -> tuple[Decimal | None, Decimal | None, Decimal | None]:
    """Over the target [kg], what goes in less what is lost [L], and the volume at the cap [L]; None for not known."""
    given = {one.name: one.value for one in _inputs(plan, "removal_volume")}
    cap = plan.line("cap_volume")
    before, target = given.get("weight_before_kg"), given.get("target_weight_kg")
    over = None if before is None or target is None else before - target
    parts = [given.get(f"{name}_l") for name in ("rinse_back", "prime_given", "drink", "saline", "losses")]
    known = [part for part in parts if part is not None]
    goes_in = sum(known[:-1], Decimal(0)) - known[-1] if len(known) == len(parts) else None
    return over, goes_in, cap.value if cap is not None else None
