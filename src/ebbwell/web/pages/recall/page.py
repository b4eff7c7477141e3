"""A lot that its maker or supplier calls back: written down, with the nights it was used on."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import islice

from starlette.responses import Response

from ebbwell.deeds.upkeep import recall_lot
from ebbwell.journal.kinds.marks import LotRecalled
from ebbwell.procedure.model import ITEMS
from ebbwell.state.facts import Fact
from ebbwell.state.own_past import NightSummary, Past
from ebbwell.web.visit import ALL, HOME, Visit, Way

NIGHTS = 400
"""Nights that are looked through, newest first: over a year of every night. Packs expire before. Own choice."""


@dataclass(frozen=True)
class Recall:
    """A recall and the nights on which a pack of that lot was opened."""

    fact: Fact
    body: LotRecalled
    nights: tuple[NightSummary, ...]


def recalls(visit: Visit) -> list[Recall]:
    """Every recall on record, newest first."""
    past = visit.desk.past
    ordered = past if isinstance(past, Past) else Past(past)
    nights = list(islice(ordered.opened_before(visit.desk.now.at), NIGHTS))
    out = []
    for fact in reversed(visit.desk.standing.of("lot_recalled")):
        body = fact.body
        if isinstance(body, LotRecalled):
            used = tuple(night for night in nights if _opened(night, body))
            out.append(Recall(fact, body, used))
    return out


def _opened(night: NightSummary, body: LotRecalled) -> bool:
    lot = body.lot.strip().casefold()
    return any(item == body.item and held.strip().casefold() == lot for item, _, held, _ in night.packs)


def show(visit: Visit) -> Response:
    """What was called back, and the form for another."""
    return visit.show(
        "pages/recall/page.html",
        recalls=recalls(visit),
        items=ITEMS,
        may_act=bool(visit.roles & HOME),
    )


def take(visit: Visit) -> Response:
    """Write a recall down."""
    item = visit.typed.get("item", "")
    done = visit.do(
        recall_lot,
        field="item",
        key=visit.typed.get("key"),
        item=item if item in ITEMS else "",
        lot=visit.typed.get("lot", ""),
        told_by=visit.typed.get("told_by", ""),
    )
    return show(visit) if done is None else visit.go("/recall", kept="recall")


WAYS = (Way("GET", "/recall", show, ALL), Way("POST", "/recall", take, HOME))
