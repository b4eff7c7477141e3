"""The next nights beside the plan, in sentences: what they would carry if gains stay as they were."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from ebbwell.core.text import say
from ebbwell.core.worked import Input
from ebbwell.deeds.ahead import NextNights, next_nights
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.plan import Draughted
from ebbwell.papers.own_figures import both, number_here, unit_here
from ebbwell.plan.ahead import Ahead
from ebbwell.science import catalogue
from ebbwell.science.catalogue import formula_named
from ebbwell.science.nights_ahead import LEAST_GAINS, NightAhead

KILO = Decimal("0.1")


@dataclass(frozen=True)
class AheadWords:
    """lead: what it rests on. nights: a sentence each. after: what follows, such as the unit's rule. open: whether it
    stands open, because something remains tonight. by_weight: tonight's rate beside lines of a study, "" without one.
    """

    lead: str
    nights: tuple[str, ...]
    after: tuple[str, ...]
    open: bool
    by_weight: str


def ahead_words(desk: Desk, plan: Draughted) -> AheadWords:
    """Everything that is said of the next nights."""
    found = next_nights(desk, plan)
    remains = plan.line("remains_after")
    left = bool(remains is not None and remains.value)
    nights: tuple[str, ...] = ()
    if found.ahead is None:
        lead = say("web.plan.ahead.too_few", gains=found.gains, least=LEAST_GAINS)
    else:
        band = found.ahead.band
        same = _kilos(band.low) == _kilos(band.high)
        lead = say(
            "web.plan.ahead.gains_same" if same else "web.plan.ahead.gains",
            gains=band.gains,
            gap=_gap(found.ahead.gap),
            middle=_weight(band.middle),
            low=_kilos(band.low),
            high=_weight(band.high),
        )
        nights = tuple(_nights(found.ahead))
    return AheadWords(lead, nights, tuple(_after(found, plan)) if left else (), left, _by_weight(desk, plan))


def _gap(days: int) -> str:
    return say("web.plan.ahead.day") if days == 1 else say("web.plan.ahead.days", days=days)


def _kilos(kg: Decimal) -> str:
    """The number alone, to a tenth, in the household's unit."""
    if unit_here("kg") == "kg":
        return f"{kg.quantize(KILO, ROUND_HALF_UP) + 0:f}"
    return number_here(kg, "kg")


def _weight(kg: Decimal) -> str:
    """The same with its unit."""
    return f"{_kilos(kg)} {unit_here('kg')}"


def _nights(ahead: Ahead) -> list[str]:
    rows = zip(ahead.low, ahead.middle, ahead.high, strict=True)
    return [_night(low, middle, high) for low, middle, high in rows]


def _night(low: NightAhead, middle: NightAhead, high: NightAhead) -> str:
    return say(
        "web.plan.ahead.night",
        night=say(f"web.plan.ahead.night_{middle.night}"),
        over=_with_band(low.over_kg, middle.over_kg, high.over_kg),
        fits=formula_named("fits_tonight").shown(middle.fits_l),
        left=_with_band(low.left_kg, middle.left_kg, high.left_kg),
    )


def _with_band(low: Decimal, middle: Decimal, high: Decimal) -> str:
    """``3.3 kg (2.9 to 3.8)``; without a band where all are the same. Under the target is said in words."""
    first = say("web.plan.ahead.under", weight=_weight(-middle)) if middle < -KILO / 2 else _weight(middle)
    ends = (_kilos(low), _kilos(high))
    return first if ends[0] == ends[1] else say("web.plan.ahead.band", value=first, low=ends[0], high=ends[1])


def _after(found: NextNights, plan: Draughted) -> list[str]:
    """What is said where something remains tonight: of the unit's rule, and where the rest doesn't get less."""
    out = []
    ahead = found.ahead
    if ahead is not None and ahead.middle[-1].left_kg >= ahead.middle[0].left_kg > 0:
        out.append(say("web.plan.ahead.not_less"))
    if found.spread_nights is None:
        out.append(say("web.plan.ahead.no_rule"))
    elif ahead is None or ahead.spread is None or ahead.spread.value is None or ahead.spread_rate is None:
        out.append(say("web.plan.ahead.rule_only", nights=found.spread_nights))
    else:
        key = "web.plan.ahead.rule_over" if ahead.over_cap else "web.plan.ahead.rule"
        cap = plan.line("cap_volume")
        out.append(
            say(
                key,
                nights=found.spread_nights,
                volume=catalogue.shown(ahead.spread),
                rate=catalogue.shown(ahead.spread_rate),
                gain=_weight(max(Decimal(0), ahead.band.middle)),
                cap=catalogue.shown(cap) if cap is not None else "",
            )
        )
    if found.rule:
        out.append(say("web.plan.ahead.rule_words", words=found.rule))
    return out


def _by_weight(desk: Desk, plan: Draughted) -> str:
    """Tonight's rate beside the two lines that a study drew by weight; "" where the rate isn't known."""
    rate = plan.line("removal_rate")
    given = plan.line("cap_volume")
    weight = (
        next((i for i in given.inputs if i.name == "target_weight_kg"), None) if given is not None else None
    )
    if rate is None or rate.value is None or weight is None or weight.value is None:
        return ""
    kilos = {"weight_kg": Input("weight_kg", weight.value, weight.unit, weight.entry)}
    return say(
        "web.plan.ahead.by_weight",
        source=desk.rulebook.source(formula_named("weight_fair_rate_20").source).title,
        rate=catalogue.shown(rate),
        low=catalogue.shown(catalogue.work("weight_fair_rate_20", kilos)),
        high=catalogue.shown(catalogue.work("weight_fair_rate_40", kilos)),
        weight=both(weight.value, "kg"),
    )
