"""All chapters in one place: which nights are told in their own way, what happens by day, and in which order."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from typing import Final

from ebbwell.sim.story import access, bloods, fluid, people, samples, trouble, water
from ebbwell.sim.story.begins import begin
from ebbwell.sim.story.calendar import STANDS, eves
from ebbwell.sim.story.teller import OPENS, Teller
from ebbwell.sim.story.usual import Night

CHAPTERS: Final = (fluid, water, bloods, trouble, access, people)
NIGHTS: Final[dict[date, Callable[[Teller, Night], None]]] = {
    day: play for chapter in CHAPTERS for day, play in chapter.NIGHTS.items()
}
DAYS: Final[dict[datetime, Callable[[Teller], None]]] = {
    at: happens for chapter in CHAPTERS for at, happens in chapter.DAYS.items()
}


def tell_all(teller: Teller) -> None:
    """Every day and night of the story, in order; then the clock stands."""
    begin(teller)
    days = sorted(DAYS.items())
    for eve in eves():
        night = teller.usual(eve)
        access.shape(night)
        samples.shape(teller, night)
        days = _by_day(teller, days, night.first_blood - OPENS)
        NIGHTS.get(eve.day, Teller.play)(teller, night)
    _by_day(teller, days, STANDS)
    teller.until(STANDS)


def _by_day(
    teller: Teller, days: list[tuple[datetime, Callable[[Teller], None]]], until: datetime
) -> list[tuple[datetime, Callable[[Teller], None]]]:
    """What happens before an instant; gives what is still to come."""
    for at, happens in days:
        if at < until:
            teller.until(at)
            happens(teller)
    return [(at, happens) for at, happens in days if at >= until]
