"""When the carer has to leave, held against the end as it stands now: it moves with a late start and with time off."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from ebbwell.core.clock import elapsed
from ebbwell.core.findings import Finding, Grade
from ebbwell.core.quantity import Quantity
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.orders import Plan
from ebbwell.papers.night_now import times_of
from ebbwell.rulebook.evaluate import evaluate
from ebbwell.state.facts import instant
from ebbwell.state.night import Phase, start_known

RULE = "carer_leaves_early"
FACT = "carer_stays"


def carer_leaves(desk: Desk) -> datetime | None:
    """When the carer has to leave, a UTC instant, as written down with the plan; None where it doesn't say."""
    fact = desk.treatment.last("plan")
    given = fact.body.given if fact is not None and isinstance(fact.body, Plan) else {}
    return instant(given.get("carer_leaves", ""))


def carer_findings(desk: Desk) -> tuple[Finding, ...]:
    """What the rulebook says of the minutes from the end to when the carer has to leave, while blood runs or is paused.

    None where the start is a guess or the computer's clock jumped. Source: practice:a6.
    """
    times, leaves = times_of(desk), carer_leaves(desk)
    if (
        desk.phase not in (Phase.RUNNING, Phase.PAUSED)
        or times is None
        or times.end is None
        or leaves is None
    ):
        return ()
    if times.trusted is False or not start_known(desk.treatment):
        return ()
    ends = times.end.replace(second=0, microsecond=0)
    stays = Quantity(Decimal(round(elapsed(ends, leaves).total_seconds() / 60)), "min")
    found = evaluate(desk.scene.rulebook, {FACT: stays}, only=(RULE,))
    return tuple(finding for finding in found if finding.grade is not Grade.UNKNOWN)
