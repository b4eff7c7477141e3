"""Weights, removal, pressures and cramps over past nights: figures for the unit, no verdict and no proposal."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from ebbwell.core.errors import DomainError
from ebbwell.science.fluid import removal_rate, removal_rate_per_kg, weight_gain_share
from ebbwell.science.nights_ahead import BAND, LEAST_GAINS, quantile
from ebbwell.science.scale_check import ScaleCheck, scale_check
from ebbwell.state.night import Phase
from ebbwell.state.night_fluid import decimal_of
from ebbwell.state.own_past import NightSummary

CRAMP = "cramp"
KILO = Decimal("0.1")


@dataclass(frozen=True, slots=True)
class WeightNight:
    """One night; None for what isn't known. Weights [kg]: before, after, target as shown that night, gain since the
    night before this one. removed, net [L]: net is less what went in. per_kg [mL/kg/h]: by the weight after. Upper
    blood pressure [mmHg]: before, lowest while blood ran and later, after coming off. unlike: another scale, other
    clothes.
    """

    treatment: str
    night: str
    at: datetime
    before: Decimal | None
    after: Decimal | None
    target: Decimal | None
    gain: Decimal | None
    removed: Decimal | None
    net: Decimal | None
    per_kg: Decimal | None
    start: Decimal | None
    lowest: Decimal | None
    end: Decimal | None
    cramps: int
    unlike: tuple[str, ...] = ()

    @property
    def apart(self) -> Decimal | None:
        """What the scale fell by, less what the machine took off and what went in [kg]."""
        if self.before is None or self.after is None or self.net is None:
            return None
        return self.before - self.after - self.net

    @property
    def off(self) -> Decimal | None:
        """Weight after less target [kg]; below 0 for under it."""
        return None if self.after is None or self.target is None else self.after - self.target


@dataclass(frozen=True, slots=True)
class Spread:
    """Two tenths and the middle of a value, and of how many nights; None three times for fewer than 5."""

    nights: int
    low: Decimal | None = None
    middle: Decimal | None = None
    high: Decimal | None = None


@dataclass(frozen=True, slots=True)
class WeightSigns:
    """Figures over some nights. over, under: nights whose weight after missed the target by at least so much; weighed:
    nights with both. cramps: nights with any. low: nights whose lowest pressure was under the rulebook's figure.
    """

    nights: int
    weighed: int
    over: int
    under: int
    cramps: int
    low: int
    off: Spread
    gain: Spread
    gain_share: Spread
    per_kg: Spread
    start: Spread
    lowest: Spread
    end: Spread


def weight_nights(newest_first: Sequence[NightSummary]) -> tuple[WeightNight, ...]:
    """The nights that ran, oldest first. The oldest has no gain: what was before it isn't among them."""
    made: list[WeightNight] = []
    last: Decimal | None = None
    for summary in reversed(newest_first):
        if summary.phase == Phase.CALLED_OFF.value:
            continue
        night = _night(summary, last)
        made.append(night)
        last = night.after
    return tuple(made)


def _night(one: NightSummary, last_after: Decimal | None) -> WeightNight:
    before, after = (decimal_of(one.values.get(name, "")) for name in ("weight_before", "weight_after"))
    fluid = one.fluid
    removed, came_in = decimal_of(fluid.removed), decimal_of(fluid.went_in)
    return WeightNight(
        treatment=one.treatment,
        night=one.night,
        at=one.first_blood or one.opened_at,
        before=before,
        after=after,
        target=decimal_of(fluid.target),
        gain=None if before is None or last_after is None else before - last_after,
        removed=removed,
        net=None if removed is None or came_in is None else removed - came_in,
        per_kg=_per_kg(removed, fluid.minutes, after),
        start=decimal_of(one.values.get("systolic", "")),
        lowest=decimal_of(fluid.lowest),
        end=decimal_of(fluid.after),
        cramps=fluid.symptoms.count(CRAMP),
        unlike=fluid.unlike,
    )


def _per_kg(removed: Decimal | None, minutes: int | None, after: Decimal | None) -> Decimal | None:
    """Removal by the weight after [mL/kg/h]. None where a part isn't known or can't be. Source: fluids 4.1."""
    if removed is None or minutes is None or after is None:
        return None
    try:
        rate = removal_rate(volume_l=removed, hours_h=Decimal(minutes) / 60)
        return removal_rate_per_kg(rate_ml_h=rate, weight_kg=after)
    except DomainError:
        return None


def spread(values: Iterable[Decimal | None]) -> Spread:
    """The band of the values that are known."""
    known = [value for value in values if value is not None]
    if len(known) < LEAST_GAINS:
        return Spread(len(known))
    return Spread(len(known), *(quantile(known, share) for share in BAND))


def weight_signs(nights: Sequence[WeightNight], *, missed_kg: Decimal, low_mmhg: Decimal) -> WeightSigns:
    """Figures over the nights given.

    missed_kg [kg]: from how far off the target counts as missed, either way. low_mmhg [mmHg]: under which the lowest
    pressure counts as low. Both are limits of the rulebook. Source: fluids:U4, fluids:U8, fluids:U7.
    """
    offs = [night.off for night in nights]
    shares = [_share(night) for night in nights]
    return WeightSigns(
        nights=len(nights),
        weighed=sum(off is not None for off in offs),
        over=sum(off is not None and off >= missed_kg for off in offs),
        under=sum(off is not None and off <= -missed_kg for off in offs),
        cramps=sum(night.cramps > 0 for night in nights),
        low=sum(night.lowest is not None and night.lowest < low_mmhg for night in nights),
        off=spread(offs),
        gain=spread(night.gain for night in nights),
        gain_share=spread(shares),
        per_kg=spread(night.per_kg for night in nights),
        start=spread(night.start for night in nights),
        lowest=spread(night.lowest for night in nights),
        end=spread(night.end for night in nights),
    )


def _share(night: WeightNight) -> Decimal | None:
    if night.gain is None or night.before is None or night.target is None:
        return None
    try:
        return weight_gain_share(
            weight_before_kg=night.before,
            last_weight_after_kg=night.before - night.gain,
            target_weight_kg=night.target,
        )
    except DomainError:
        return None


def scale_beside_machine(nights: Sequence[WeightNight]) -> tuple[ScaleCheck | None, int]:
    """The scale against what the machine took off, and how many nights have all that it takes.

    Nights with another scale or other clothes are left out. Source: fluids 4.5.
    """
    known = [
        (date.fromisoformat(night.night), night.before - night.after, night.net)
        for night in nights
        if night.before is not None and night.after is not None and night.net is not None and not night.unlike
    ]
    if not known:
        return None, 0
    first = known[0][0]
    try:
        found = scale_check(
            days=[Decimal((day - first).days) for day, _, _ in known],
            change_kg=[change for _, change, _ in known],
            net_l=[net for _, _, net in known],
        )
    except DomainError:
        return None, len(known)
    return found, len(known)
