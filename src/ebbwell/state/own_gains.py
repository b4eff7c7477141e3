"""What this person gained between treatments, by how many days lay between them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import pairwise

from ebbwell.state.own_past import NightSummary


@dataclass(frozen=True, slots=True)
class OwnGain:
    """days: between the dates of two nights. kg: weight before the later less weight after the earlier."""

    days: int
    kg: Decimal


def own_gains(nights: Iterable[NightSummary]) -> tuple[OwnGain, ...]:
    """Gains between nights that followed each other, oldest first.

    nights: newest first, as ``own_past.latest`` gives them, nights called off left out. A gain whose two weights
    aren't both on record and single is left out; so is one of two treatments on one date.
    """
    found = []
    for later, earlier in pairwise(nights):
        before, after = later.values.get("weight_before"), earlier.values.get("weight_after")
        days = (date.fromisoformat(later.night) - date.fromisoformat(earlier.night)).days
        if before and after and days > 0:
            found.append(OwnGain(days, Decimal(before) - Decimal(after)))
    return tuple(reversed(found))


def usual_gap(gains: Iterable[OwnGain]) -> int | None:
    """The number of days that lay between treatments most often; of two as frequent the longer. None without any."""
    counted: dict[int, int] = {}
    for gain in gains:
        counted[gain.days] = counted.get(gain.days, 0) + 1
    return max(counted, key=lambda days: (counted[days], days)) if counted else None
