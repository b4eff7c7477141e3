"""When no projection is shown: a night was missed or called off, or the last one was cut short. Then the unit is asked.

A projection takes it that nights go as they went. After a night that didn't, levels are higher than it says, for about
a week. Source: kinetics:C (case F: a missed night shows for a week); the times below are our own choice.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from ebbwell.review.basis import DAY_MIN, Pattern
from ebbwell.state.night import Phase
from ebbwell.state.night_fluid import decimal_of
from ebbwell.state.own_past import NightSummary

LATE = timedelta(hours=12)
"""So long after its usual start a night that hasn't begun counts as missed. Own choice."""
SHORT_MIN = 60
"""A night that ran shorter than ordered by more than this is cut short [min]. Own choice."""
LONGEST_GAP = timedelta(hours=72)
"""Time since blood last stopped, from which none is shown. Source: practice:F20 (the gap that asks for a call)."""
SHOWS_DAYS = 7
"""So many days a missed night shows. Source: kinetics:C (case F: +14 % one session later, +0.05 % at the week's end)."""


def why_hidden(newest_first: Sequence[NightSummary], pattern: Pattern, now: datetime, zone: str) -> str:
    """The wording key that says why no projection is shown; "" where nothing speaks against one.

    newest_first: past nights, called off and running ones too. pattern: as kept; for every other night the newest night
    is on it. now: instant; zone: IANA name of the home's clock.
    """
    ran = [one for one in newest_first if one.first_blood is not None]
    if not ran:
        return "review.hidden.no_nights"
    last = ran[0]
    day = date.fromisoformat(last.night)
    begun = last.first_blood or last.opened_at
    if any(one.phase == Phase.CALLED_OFF.value and one.opened_at > begun for one in newest_first):
        return "review.hidden.called_off"
    held = {date.fromisoformat(one.night) for one in ran}
    if any(_begins(one, pattern, zone) + LATE < now for one in _due(pattern, day, now, zone)):
        return "review.hidden.missed"
    oldest = min(held)
    back = [day - timedelta(days=n) for n in range(1, SHOWS_DAYS + 1)]
    if any(one >= oldest and one not in held and _on(pattern, one, day) for one in back):
        return "review.hidden.missed_lately"
    if last.pump_stopped is None:
        return ""
    if now - last.pump_stopped > LONGEST_GAP:
        return "review.hidden.long_gap"
    ordered = decimal_of(last.thinner.shown.get("treatment_minutes", "").split(" ")[0])
    due = float(ordered) if ordered is not None else pattern.hours * 60
    if last.fluid.minutes is None:
        return "review.hidden.end_not_known"
    return "review.hidden.cut_short" if last.fluid.minutes < due - SHORT_MIN else ""


def _on(pattern: Pattern, day: date, newest: date) -> bool:
    """Whether a night of the pattern is due on a day."""
    if pattern.cycle_days == 7:
        return day.weekday() in pattern.days
    return (day - newest).days % pattern.cycle_days == 0


def _due(pattern: Pattern, newest: date, now: datetime, zone: str) -> list[date]:
    """Days after the newest night, up to today, on which one is due."""
    today = now.astimezone(ZoneInfo(zone)).date()
    days = [newest + timedelta(days=n) for n in range(1, (today - newest).days + 1)]
    return [day for day in days if _on(pattern, day, newest)]


def _begins(day: date, pattern: Pattern, zone: str) -> datetime:
    """When blood usually begins on a day, by the clock on the wall."""
    local = datetime(day.year, day.month, day.day, tzinfo=ZoneInfo(zone))
    return local + timedelta(days=pattern.start_min // DAY_MIN, minutes=pattern.start_min % DAY_MIN)


def night_begins(night: date, days_on: int, pattern: Pattern, zone: str) -> datetime:
    """When blood usually begins some days after a night, by the clock on the wall."""
    return _begins(night + timedelta(days=days_on), pattern, zone)
