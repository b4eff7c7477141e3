"""The next nights, gathered from tonight's plan, the order and this person's own past."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from ebbwell.core.worked import Input
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.plan import Draughted
from ebbwell.plan.ahead import Ahead, look_ahead
from ebbwell.state.own_gains import own_gains, usual_gap
from ebbwell.state.own_past import latest

LOOKED_BACK = 41
"""Nights that gains are taken from: twice the twenty that make a band, so that another gap in between leaves enough."""


@dataclass(frozen=True)
class NextNights:
    """ahead: None where it can't be said; then gains is how many there are of the usual gap. rule: the unit's words."""

    ahead: Ahead | None
    gains: int
    gap: int | None
    rule: str
    spread_nights: int | None


def next_nights(desk: Desk, plan: Draughted) -> NextNights:
    """What the next nights would carry if gains stay as they were. Nothing is written."""
    tonight = desk.treatment.of("pinned")
    before = tonight[0].at if tonight else desk.now.at
    gains = own_gains(latest(desk.past, before=before, nights=LOOKED_BACK))
    gap = usual_gap(gains)
    like = [gain.kg for gain in gains if gain.days == gap]
    order = desk.scene.order
    lines = order.lines if order is not None else {}
    text = lines.get("spread_nights", "")
    asked = None
    if text and order is not None:
        asked = Input("nights", Decimal(text), "nights", order.from_entry["spread_nights"])
    found = None
    if gap is not None:
        found = look_ahead(plan.tonight, like, gap, spread_nights=asked)
    return NextNights(found, len(like), gap, lines.get("spread_rule", ""), int(text) if text else None)
