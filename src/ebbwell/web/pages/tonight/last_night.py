"""What came of the night that has just ended, for the first lines of the home page."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from ebbwell.core.clock import elapsed
from ebbwell.core.text import say
from ebbwell.papers.night_now import ordered_line, unchecked
from ebbwell.papers.words import span, step_words
from ebbwell.state.night import Phase
from ebbwell.state.own_past import latest
from ebbwell.web.visit import Visit

LATELY = timedelta(hours=12)
"""How long after its end a night is told of. Own choice: until the next evening."""


@dataclass(frozen=True)
class LastNight:
    """treatment: its id. at: when the pump stopped. words: what came of it. open: what nobody wrote down."""

    treatment: str
    at: datetime
    words: str
    open: tuple[str, ...]


def last_night(visit: Visit) -> LastNight | None:
    """The night that ended within ``LATELY``, while none is open; None without one, or where none ran."""
    desk = visit.desk
    if desk.phase not in (Phase.NONE, Phase.CLOSED, Phase.CALLED_OFF):
        return None
    summary = next(iter(latest(desk.past, before=desk.now.at, nights=1)), None)
    if summary is None or summary.pump_stopped is None or summary.first_blood is None:
        return None
    if not timedelta() <= elapsed(summary.pump_stopped, desk.now.at) < LATELY:
        return None
    then = visit.house.look(by=visit.who, treatment=summary.treatment)
    ran = max(timedelta(), elapsed(summary.first_blood, summary.pump_stopped))
    ordered = ordered_line(then, "treatment_minutes").partition(" ")[0]
    left = [v.step.id for v in then.views.values() if v.step.gate == "next_night" and not v.passed]
    cleaned = any(f.at > summary.pump_stopped for f in desk.standing.of("disinfected"))
    steps = () if cleaned else tuple(step_words(then.procedure, step) for step in left)
    missed = len(unchecked(then))
    checks = (say("web.tonight.last_checks", count=missed),) if missed else ()
    words = say("web.tonight.last_ran_only", ran=span(ran))
    if ordered:
        whole = span(timedelta(minutes=float(ordered)))
        words = say("web.tonight.last_ran", ran=span(ran), ordered=whole)
    return LastNight(summary.treatment, summary.pump_stopped, words, (*steps, *checks))
