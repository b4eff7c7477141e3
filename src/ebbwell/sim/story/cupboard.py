"""The cupboard: which lot is opened on which night. A delivery comes every four weeks; the older box is used first."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Final

from ebbwell.sim.household import LOTS
from ebbwell.sim.story.calendar import FIRST_DAY

DELIVERY_WEEKS: Final = (1, 5, 9, 13, 17)
"""Weeks in which the van comes."""
DELIVERY_WEEKDAY: Final = 1
RESERVE_DAYS: Final = 4
"""Days after a delivery until the last box of the one before is empty."""
SHELF_DAYS: Final = 500
"""Days from a delivery to the expiry of what it brought."""

RECALLED: Final = "T6605"
"""Lot of tubing that is called back. Source: scenario."""
RECALLED_FROM: Final = date(2026, 2, 28)
"""First night on which it was used; with the two nights after it, three."""
REPLACED: Final = "T6717"
"""Lot of the tubing that came in its place."""
RECALL_TOLD: Final = date(2026, 3, 5)
LEFT: Final = 11
"""Sets of it left in the cupboard. Source: scenario."""

REAGENT: Final = ("CT7804", date(2026, 5, 2))
"""The chlorine reagent in use at the end, and its expiry, in the week in which the story ends. Source: scenario."""
REAGENT_FROM: Final = date(2026, 3, 24)


def delivery(week: int) -> date:
    """The day on which the delivery of a week came."""
    return FIRST_DAY + timedelta(weeks=week - 1, days=DELIVERY_WEEKDAY)


def _round(day: date) -> int:
    """How many deliveries had been opened by a night: 0 is what was there when the story began."""
    opened = [delivery(week) + timedelta(days=RESERVE_DAYS) for week in DELIVERY_WEEKS]
    return sum(day >= first for first in opened)


def lot(item: str, day: date) -> tuple[str, str]:
    """Lot and expiry (YYYY-MM-DD) of the pack of an item opened on a night."""
    base = LOTS[item][1]
    turn = _round(day)
    came = delivery(DELIVERY_WEEKS[turn - 1]) if turn else FIRST_DAY - timedelta(weeks=3)
    expiry = came + timedelta(days=SHELF_DAYS)
    if item == "chlorine_test" and day >= REAGENT_FROM:
        return REAGENT[0], REAGENT[1].isoformat()
    if item == "tubing":
        if RECALLED_FROM <= day < RECALL_TOLD:
            return RECALLED, expiry.isoformat()
        if day >= RECALL_TOLD and turn == _round(RECALLED_FROM):
            return REPLACED, expiry.isoformat()
    letters = base.rstrip("0123456789")
    digits = base[len(letters) :]
    return f"{letters}{int(digits) - 100 * (3 - turn):0{len(digits)}d}", expiry.isoformat()
