"""The nights that ran, for sums about weeks: which pattern they kept, how long they were, what came in between."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, timedelta
from itertools import pairwise
from statistics import fmean, median
from zoneinfo import ZoneInfo

from ebbwell.core.clock import Moment
from ebbwell.review.basis import DAY_MIN, Nights, Pattern
from ebbwell.review.kept_pattern import Kept, kept_pattern
from ebbwell.state.night_fluid import decimal_of
from ebbwell.state.own_past import NightSummary, Past, latest
from ebbwell.state.standing import Order

HOURS_DAYS = 14
"""Days back, the newest night among them, that tell how long nights are. Own choice, as for the pattern."""
GAINS = 20
"""Nights that the fluid gained is taken from. Source: design, as for gains on the plan."""
OTHER_HOURS = 0.5
"""Hours by which nights differ before it is said that they go otherwise. Own choice."""


def flows_of(summary: NightSummary, order: Order | None) -> tuple[float, float] | None:
    """Blood and dialysis fluid flow of a night [mL/min]: the middle of its readings, else as ordered for it."""
    found = []
    for name in ("blood_flow", "dialysate_flow"):
        read = [value for _, row in summary.rows if (value := decimal_of(row.get(name, ""))) is not None]
        value = median(read) if read else decimal_of(ordered(name, summary, order).split(" ")[0])
        if value is None or value <= 0:
            return None
        found.append(float(value))
    return found[0], found[1]


def ordered(line: str, summary: NightSummary, order: Order | None) -> str:
    """A line of the order as it was shown that night, else as it stands now; "" for none."""
    shown = summary.thinner.shown.get(line, "")
    return shown or ("" if order is None else order.lines.get(line, ""))


class NightsRan:
    """The nights that ran, by the day on which their set-up began."""

    def __init__(self, past: Mapping[str, NightSummary], now: Moment) -> None:
        self.past, self.now = past if isinstance(past, Past) else Past(past), now
        self.ran = [
            one
            for one in latest(self.past, before=now.at + timedelta(seconds=1), nights=len(self.past))
            if one.first_blood is not None
        ]
        self.days = {one.treatment: date.fromisoformat(one.night) for one in self.ran}
        self.held = set(self.days.values())
        self.oldest = min(self.held, default=date.max)

    def day_of(self, treatment: str) -> date | None:
        """The day of a treatment; None where no blood ran in it."""
        return self.days.get(treatment)

    def kept(self, last: date) -> Kept | None:
        """The pattern kept up to a night."""
        return kept_pattern(self.held, last, self.oldest)

    def gain_l_day(self, last: date | None = None) -> float | None:
        """Mean fluid gained in a day between the last nights up to a day [L/day], 0 for a loss; None without weights."""
        nights = [one for one in self.ran if last is None or self.days[one.treatment] <= last][: GAINS + 1]
        gains, days = [], 0.0
        for later, earlier in pairwise(nights):
            before = decimal_of(later.values.get("weight_before", ""))
            after = decimal_of(earlier.values.get("weight_after", ""))
            if before is None or after is None or not (later.first_blood and earlier.pump_stopped):
                continue
            gains.append(float(before - after))
            days += (later.first_blood - earlier.pump_stopped).total_seconds() / 86400
        return max(sum(gains) / days, 0.0) if gains and days > 0 else None

    def weight_kg(self) -> float | None:
        """The newest weight after; None without one."""
        found = (decimal_of(one.values.get("weight_after", "")) for one in self.ran)
        newest = next((weight for weight in found if weight is not None), None)
        return None if newest is None else float(newest)

    def hours(self, last: date) -> float | None:
        """Middle length of the nights of the two weeks up to a day [h]; None where none is known."""
        first = last - timedelta(days=HOURS_DAYS - 1)
        minutes = [
            one.fluid.minutes
            for one in self.ran
            if one.fluid.minutes and first <= self.days[one.treatment] <= last
        ]
        return median(minutes) / 60 if minutes else None

    def otherwise(self, day: date, present: Pattern) -> bool:
        """Whether nights went otherwise up to a day than they go now, or the record doesn't say how they went."""
        last = max((night for night in self.held if night <= day), default=None)
        kept = None if last is None else self.kept(last)
        hours = None if last is None else self.hours(last)
        if kept is None or hours is None:
            return True
        then, now = Nights(kept.days, kept.cycle_days), present.nights
        apart = then.a_week != now.a_week or max(then.gaps_days()) != max(now.gaps_days())
        return apart or abs(hours - present.hours) >= OTHER_HOURS

    def present(self, order: Order | None) -> Pattern | None:
        """How nights go now, as they went lately; its name is left empty."""
        newest = [one for one in self.ran if one.fluid.minutes][:GAINS]
        last = self.days[newest[0].treatment] if newest else None
        kept = None if last is None else self.kept(last)
        hours = None if last is None else self.hours(last)
        flows = flows_of(newest[0], order) if newest else None
        if kept is None or hours is None or flows is None:
            return None
        starts = [
            _minute(one.first_blood, self.days[one.treatment], self.now.zone)
            for one in newest
            if one.first_blood is not None
        ]
        return Pattern("", kept.days, kept.cycle_days, hours, *flows, start_min=max(fmean(starts), 0.0))


def _minute(at: datetime, night: date, zone: str) -> float:
    """Minutes on the home's clock after the midnight that the day of a night begins with."""
    local = at.astimezone(ZoneInfo(zone))
    return (local.date() - night).days * DAY_MIN + local.hour * 60 + local.minute
