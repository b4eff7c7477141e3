"""Which nights, in a few words of a file or a command: ``mon wed fri``, ``every other night``, two weeks in turn."""

from __future__ import annotations

import re

from ebbwell.core.errors import InputError
from ebbwell.core.numbers import parse_decimal
from ebbwell.review.basis import DAY_MIN, Nights, Pattern
from ebbwell.science.ranges_solutes import ALL_HOURS, BLOOD_FLOW_RUNNING, DIALYSATE_FLOW_RUNNING

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
"""Days as they may be written, short or in full; a Monday is day 0."""
_FULL = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_SHORT = {"tues": 1, "thur": 3, "thurs": 3, "weds": 2}
_DAYS = {**{d: i for i, d in enumerate(WEEKDAYS)}, **{d: i for i, d in enumerate(_FULL)}, **_SHORT}
MOST_TYPED = 120
"""Signs of nights that are read; two whole weeks with every day in full have 115. Source: design."""

_PATTERN = re.compile(
    r"(?P<name>[^:]{1,60}):(?P<nights>.+?)\s(?P<hours>[0-9.,]+)\s*h(?:ours?|rs?)?\s+(?P<blood>[0-9]+)\s*/\s*(?P<fluid>[0-9]+)"
    r"(?:\s+at\s+(?P<at>[0-2]?[0-9]:[0-5][0-9]))?\s*",
    re.IGNORECASE,
)
TAKEN = {
    "nights.hours": ALL_HOURS,
    "nights.blood_flow": BLOOD_FLOW_RUNNING,
    "nights.fluid_flow": DIALYSATE_FLOW_RUNNING,
}
"""Wording key of a refusal to what the sums of a dialyser work for [h, mL/min]."""


def nights_of(typed: str) -> Nights:
    """The nights of a cycle.

    Days of the week parted by blanks; a second week behind ``/``; ``every night``; ``every other night``. Raises
    InputError for other words, a day twice, and no day.

    >>> nights_of("mon wed fri")
    Nights(days=(0, 2, 4), cycle_days=7)
    >>> nights_of("every other night")
    Nights(days=(0,), cycle_days=2)
    >>> nights_of("mon wed fri sun / tue thu sat")
    Nights(days=(0, 2, 4, 6, 8, 10, 12), cycle_days=14)
    """
    text = " ".join(re.sub(r"[,+&]|\band\b", " ", typed.casefold()).split())
    if not text or len(typed) > MOST_TYPED:
        raise InputError("nights.not_read", typed=typed[:60])
    if text in ("every night", "daily", "every day"):
        return Nights(tuple(range(7)), 7)
    if text in ("every other night", "every other day", "every second night", "alternate nights"):
        return Nights((0,), 2)
    weeks = text.split("/")
    if len(weeks) > 2:
        raise InputError("nights.not_read", typed=typed[:60])
    days: list[int] = []
    for number, week in enumerate(weeks):
        words = week.split()
        if not words:
            raise InputError("nights.not_read", typed=typed[:60])
        for word in words:
            if word not in _DAYS:
                raise InputError("nights.no_day", word=word[:30], typed=typed[:60])
            days.append(_DAYS[word] + 7 * number)
    if len(set(days)) < len(days):
        raise InputError("nights.twice", typed=typed.strip()[:60])
    return Nights(tuple(sorted(days)), 7 * len(weeks))


def nights_words(nights: Nights) -> str:
    """The same words back, in their short form."""
    if nights.cycle_days == 2:
        return "every other night"
    weeks = [[day % 7 for day in nights.days if day // 7 == week] for week in range(nights.cycle_days // 7)]
    return " / ".join(" ".join(WEEKDAYS[day] for day in week) for week in weeks)


def pattern_of(typed: str) -> Pattern:
    """A pattern of treatments from one line: ``name: nights hours h blood flow/fluid flow``, and ``at 22:00`` if wanted.

    Hours 0.5 to 24; blood flow 50 to 600, fluid flow 50 to 1,000 mL/min. Raises InputError for other words and for
    figures outside.

    >>> pattern_of("longer: mon wed fri 8 h 230/300").hours
    8.0
    """
    found = _PATTERN.fullmatch(typed.strip())
    if found is None:
        raise InputError("nights.pattern_not_read", typed=typed[:80])
    nights = nights_of(found["nights"])
    hours = float(parse_decimal(found["hours"]))
    flows = float(found["blood"]), float(found["fluid"])
    for value, (key, taken) in zip((hours, *flows), TAKEN.items(), strict=True):
        low, high = float(taken.low), float(taken.high)
        if not low <= value <= high:
            raise InputError(key, value=f"{value:g}", low=f"{low:g}", high=f"{high:g}")
    if hours * 60 >= min(nights.gaps_days()) * DAY_MIN:
        raise InputError("nights.too_long", hours=f"{hours:g}")
    start = 22 * 60.0
    if found["at"]:
        hour, _, minute = found["at"].partition(":")
        if int(hour) > 23:
            raise InputError("nights.pattern_not_read", typed=typed[:80])
        start = int(hour) * 60.0 + int(minute)
    return Pattern(
        found["name"].strip(), nights.days, nights.cycle_days, hours, flows[0], flows[1], start_min=start
    )
