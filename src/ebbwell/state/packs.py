"""The pack of an item that was opened last: what is offered until the box changes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

from ebbwell.core.clock import Moment
from ebbwell.journal.kinds.marks import LotUsed
from ebbwell.state.facts import Facts
from ebbwell.state.own_past import NightSummary, latest
from ebbwell.state.standing import recalled

NIGHTS = 20
"""How many nights back a pack is looked for. Own choice: a box of strips lasts longer than one of sets."""


@dataclass(frozen=True)
class LastLot:
    """A pack as it was last read or scanned from its label. night: date of that night; "" for tonight."""

    item: str
    code: str
    lot: str
    expiry: str
    night: str = ""


def last_lot(
    treatment: Facts, standing: Facts, past: Mapping[str, NightSummary], item: str, now: Moment
) -> LastLot | None:
    """The pack of an item that was opened last, to be offered for the next one. Tonight's own come first.

    None where there is none, where its lot can't be read, and where it has expired or was recalled: then the label is
    read anew, and no older one is offered. Source: design section 6 (prefill lots until the box changes).
    """
    found = _last(treatment, past, item, now)
    if found is None or not found.lot.strip():
        return None
    try:
        expired = date.fromisoformat(found.expiry) < now.at.astimezone(ZoneInfo(now.zone)).date()
    except ValueError:
        return None
    if expired or recalled(standing, item, found.lot) is not None:
        return None
    return found


def _last(treatment: Facts, past: Mapping[str, NightSummary], item: str, now: Moment) -> LastLot | None:
    for fact in reversed(treatment.of("lot_used")):
        if isinstance(fact.body, LotUsed) and fact.body.item == item:
            return LastLot(item, fact.body.code, fact.body.lot, fact.body.expiry)
    pinned = treatment.of("pinned")
    before = pinned[0].at if pinned else now.at
    for night in latest(past, before=before, nights=NIGHTS):
        for name, code, lot, expiry in reversed(night.packs):
            if name == item:
                return LastLot(item, code, lot, expiry, night.night)
    return None
