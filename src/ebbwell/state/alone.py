"""Lines of the order that the unit changed for one night alone: which night that is, and what holds for it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta

from ebbwell.core.clock import elapsed
from ebbwell.journal.kinds.orders import LineAmended
from ebbwell.state.facts import Fact, Facts
from ebbwell.state.night import Phase
from ebbwell.state.own_past import NightSummary, Past

NEXT_WITHIN = timedelta(hours=24)
"""How long a change "for tonight only", taken down before the night was opened, waits for that night. Own choice."""

GOES_ON = frozenset({Phase.SETTING_UP, Phase.RUNNING, Phase.PAUSED, Phase.STOPPING})
"""Phases in which a night is the one that "tonight" means; after coming off it is the next one."""

_GOES_ON = frozenset(each.value for each in GOES_ON)


def for_one_night(standing: Facts) -> tuple[Fact, ...]:
    """Every change for one night alone that nothing replaced, whatever its night."""
    return tuple(
        f for f in standing.of("line_amended") if isinstance(f.body, LineAmended) and f.body.tonight_only
    )


def night_of(fact: Fact, past: Mapping[str, NightSummary]) -> str:
    """The treatment that such a change holds for; "" where none was opened in time.

    It is the one that was open when it was taken down, here or in another store, else the next one opened within
    24 hours: always one alone, whatever is opened after it.
    """
    if not isinstance(fact.body, LineAmended):
        raise TypeError(f"not an amended line: {fact.kind}")
    if fact.body.during:
        return fact.body.during
    nights = past if isinstance(past, Past) else Past(past)
    for night in nights.opened_before(fact.at):
        if elapsed(night.opened_at, fact.at) > NEXT_WITHIN:
            break
        if night.pump_stopped > fact.at if night.pump_stopped else night.phase in _GOES_ON:
            return night.treatment
    following = next(nights.opened_from(fact.at), None)
    if following is None or elapsed(fact.at, following.opened_at) > NEXT_WITHIN:
        return ""
    return following.treatment


def for_night(
    standing: Facts, treatment: Facts, past: Mapping[str, NightSummary], now: datetime
) -> frozenset[str]:
    """Ids of the changes that hold for this night alone; with no night in hand, of those for the next one."""
    held = for_one_night(standing)
    own = next((entry.envelope.treatment for entry in treatment.entries.values()), None)
    if not held:
        return frozenset()
    if own is None:
        return for_next(standing, past, now)
    return frozenset(fact.id for fact in held if night_of(fact, past) == own)


def for_next(standing: Facts, past: Mapping[str, NightSummary], now: datetime) -> frozenset[str]:
    """Ids of the changes that wait for the next night to be opened."""
    return frozenset(
        fact.id
        for fact in for_one_night(standing)
        if elapsed(fact.at, now) <= NEXT_WITHIN and not night_of(fact, past)
    )
