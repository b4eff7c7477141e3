"""Lines of the order that held for one night alone and are again as before: what changed without anybody's doing."""

from __future__ import annotations

from datetime import datetime

from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.orders import holding
from ebbwell.journal.kinds.orders import LineAmended
from ebbwell.papers.words import day, line_value, named
from ebbwell.state.alone import NEXT_WITHIN, for_one_night, night_of
from ebbwell.state.facts import Fact
from ebbwell.state.own_past import NightSummary
from ebbwell.state.standing import checked


def over_again(desk: Desk, last: NightSummary) -> list[tuple[Fact, datetime, str]]:
    """Each change for one night alone that is over since the last night: since when, and in words what holds again.

    last: the last night that ran. A change whose own night was never opened is told too. One that was never in force
    isn't told.
    """
    found = []
    held = desk.scene.alone | holding(desk)
    for fact in for_one_night(desk.standing):
        body = fact.body
        if not isinstance(body, LineAmended) or fact.id in held or checked(desk.standing, fact.id) is None:
            continue
        own = desk.past.get(night_of(fact, desk.past))
        if (own.opened_at if own is not None else fact.at) < last.opened_at:
            continue
        at = fact.at + NEXT_WITHIN if own is None else own.pump_stopped or max(fact.at, own.opened_at)
        found.append((fact, at, _words(desk, body, own)))
    return found


def _words(desk: Desk, body: LineAmended, own: NightSummary | None) -> str:
    order = desk.scene.order
    again = order.lines.get(body.line, "") if order is not None else ""
    said = {
        "line": named("line", body.line),
        "value": line_value(body.line, body.value, desk.rulebook),
        "giver": body.giver,
    }
    if own is None:
        return say("said.line_unused", **said)
    if not again:
        return say("said.line_off", day=day(own.night), **said)
    return say(
        "said.line_again", again=line_value(body.line, again, desk.rulebook), day=day(own.night), **said
    )
