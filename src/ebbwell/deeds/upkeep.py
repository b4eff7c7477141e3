"""Deeds of upkeep that tonight depends on: disinfection and recalls."""

from __future__ import annotations

from datetime import UTC, datetime

from ebbwell.core.clock import elapsed
from ebbwell.core.errors import InputError
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.marks import LotRecalled
from ebbwell.journal.kinds.night import Disinfected
from ebbwell.state.night import first_blood

AGENTS = ("heat", "citric_heat", "hypochlorite", "peracetic", "other")


def disinfect(
    desk: Desk, *, what: str, agent: str, started_at: datetime, ended_at: datetime, lot: str = ""
) -> None:
    """Record a disinfection that was done. A chemical one asks for a residual test before the next blood.

    Refuses an agent that isn't one of the words, and an end before its start or still to come.
    """
    if agent not in AGENTS:
        raise InputError("enter.option", question="agent", options=", ".join(AGENTS))
    if (
        elapsed(started_at, ended_at).total_seconds() < 0
        or elapsed(ended_at, desk.now.at).total_seconds() < -120
    ):
        raise InputError("enter.start_end")
    desk.add(
        Disinfected(
            what=what,
            agent=agent,
            started_at=started_at.astimezone(UTC).isoformat(),
            ended_at=ended_at.astimezone(UTC).isoformat(),
            lot=lot.strip(),
            step=_cleaning(desk) if first_blood(desk.treatment) is not None else "",
        ),
        at=ended_at,
    )


def _cleaning(desk: Desk) -> str:
    """The step that a disinfection after the treatment belongs to; "" where the procedure has none."""
    steps = (s.id for s in desk.procedure.steps if any(e.form == "disinfected" for e in s.evidence))
    return next(steps, "")


def recall_lot(desk: Desk, *, item: str, lot: str, told_by: str) -> None:
    """Note that a lot is called back. Tonight's packs of it reopen their hold point at once.

    Refuses a recall without item, lot or who said so.
    """
    if not (item.strip() and lot.strip() and told_by.strip()):
        raise InputError("enter.recall")
    desk.add(LotRecalled(item=item.strip(), lot=lot.strip(), told_by=told_by.strip()), standing=True)
