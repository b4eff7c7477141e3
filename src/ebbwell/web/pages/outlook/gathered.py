"""What the record says of the coming weeks, each substance from its own newest blood result on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from ebbwell.core.errors import DomainError, EbbwellError
from ebbwell.papers.spoken import error_words
from ebbwell.review.basis import Basis, Pattern
from ebbwell.review.outlook import Ahead, outlook
from ebbwell.review.outlook_hidden import SHOWS_DAYS, night_begins
from ebbwell.state.own_past import NightSummary

SUBSTANCES = ("urea", "phosphate", "potassium", "bicarbonate")


@dataclass(frozen=True)
class Told:
    """One substance. drawn_on: of its newest result, None without one. begins_on: the night that its course begins with.

    ahead: None with ``why``, in words.
    """

    key: str
    drawn_on: date | None
    begins_on: date
    ahead: Ahead | None
    why: str = ""


def told(
    basis: Basis,
    days: Mapping[str, date],
    pair: date,
    nights: Sequence[NightSummary],
    now: datetime,
    zone: str,
) -> list[Told]:
    """Each substance from its newest result on; without one, from the newest pair's night."""
    made = []
    seen: dict[date, dict[str, Ahead]] = {}
    for key in SUBSTANCES:
        drawn = days.get(key)
        day = drawn or pair
        try:
            begins, place = first_night(day, basis.present, nights, now, zone)
            if begins not in seen:
                since = max((now - night_begins(begins, 0, basis.present, zone)) / timedelta(minutes=1), 0.0)
                seen[begins] = {one.key: one for one in outlook(basis, first=place, since_min=since)}
        except EbbwellError as why:
            made.append(Told(key, drawn, day, None, error_words(why)))
            continue
        made.append(Told(key, drawn, begins, seen[begins][key]))
    return made


def first_night(
    day: date, present: Pattern, nights: Sequence[NightSummary], now: datetime, zone: str
) -> tuple[date, int]:
    """The night of the present pattern that a course begins with, and which of the cycle it is.

    It is that of the bloods. Where that is none of the pattern, as after nights moved by a day, it is the next one that
    is, if that is over a week ago, so that no level shows the difference any more. Raises DomainError otherwise.
    """
    newest = next((date.fromisoformat(one.night) for one in nights if one.first_blood is not None), day)
    for more in range(present.cycle_days):
        one = day + timedelta(days=more)
        place = _place(one, present, newest)
        if place is None:
            continue
        if more and now - night_begins(one, 0, present, zone) < timedelta(days=SHOWS_DAYS):
            break
        return one, place
    raise DomainError("review.start_in_pattern")


def _place(day: date, present: Pattern, newest: date) -> int | None:
    """Which treatment of the cycle a night is; for every other night the newest night is on the pattern."""
    if present.cycle_days == 7:
        return present.days.index(day.weekday()) if day.weekday() in present.days else None
    return 0 if (newest - day).days % present.cycle_days == 0 else None
