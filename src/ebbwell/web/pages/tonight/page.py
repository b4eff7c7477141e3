"""Tonight: the one next thing, what is still open, what waits, and how the night is meant to run."""

from __future__ import annotations

from starlette.responses import Response

from ebbwell.core.findings import Grade
from ebbwell.deeds import setup
from ebbwell.papers.night_now import unchecked
from ebbwell.papers.standing_now import not_known, plan_lines, prescription_lines
from ebbwell.papers.warned import warnings
from ebbwell.procedure.scene import CLOCK_QUESTION
from ebbwell.state.night import ON_MACHINE, Phase, carer_in_charge, first_blood
from ebbwell.state.standing import HOLDS_FOR, held_back, household, people
from ebbwell.web.pages.tonight.last_night import last_night
from ebbwell.web.pages.tonight.next_thing import ENDED, clock_asked, next_thing, offered_to
from ebbwell.web.pages.tonight.rows import (
    changed_since,
    if_all_goes,
    margin_time,
    open_rows,
    open_sheets,
    set_up_times,
    waits,
)
from ebbwell.web.visit import ALL, HOME, Visit, Way

BEFORE = (Phase.NONE, Phase.CLOSED, Phase.CALLED_OFF, Phase.SETTING_UP)
"""Phases in which what is done needs somebody who is signed off for it."""

TOLD = ("no_night", "called_off")
"""Words above the page for somebody who was sent here."""


def show(visit: Visit) -> Response:
    """The page. Writes nothing. A home that isn't entered yet begins at the beginning."""
    desk = visit.desk
    if household(desk.standing) is None:
        return visit.go("/begin")
    found = warnings(desk)
    known = people(desk.standing)
    held = held_back(desk.standing, desk.now.at)
    ran = desk.treatment_id is not None and first_blood(desk.treatment) is not None
    in_charge = carer_in_charge(desk.treatment) if desk.treatment_id is not None else None
    return visit.show(
        "pages/tonight/page.html",
        night=_night(visit),
        told=visit.query.get("told", "") if desk.phase in ENDED else "",
        tellable=TOLD,
        whose=", ".join(p.name for p in known.values() if "dialysis" in p.roles),
        order=prescription_lines(desk),
        clock_question=not clock_asked(desk),
        next=next_thing(desk),
        last=last_night(visit),
        held=held,
        until=held.at + HOLDS_FOR if held is not None else None,
        setting_up=desk.phase is Phase.SETTING_UP,
        part="running" if desk.phase in ON_MACHINE else "after" if ran else "before",
        nameless=visit.person is None and bool(known) and desk.phase in BEFORE,
        offer=offered_to(desk),
        names={person: one.name for person, one in known.items()},
        in_charge=in_charge,
        open=open_rows(desk, found),
        waits=waits(desk) if desk.treatment_id is not None else [],
        took=set_up_times(desk) if desk.phase in (Phase.NONE, Phase.SETTING_UP) else None,
        plan=plan_lines(desk) if desk.treatment_id is not None else [],
        sheets=open_sheets(desk),
        first=tuple(f for f in found if ran or f.grade is Grade.STOP),
        found=tuple(f for f in found if not ran and f.grade is not Grade.STOP),
        unchecked=unchecked(desk) if desk.phase in ON_MACHINE else (),
        unknown=not_known(desk) if desk.treatment_id is not None else [],
        changed=changed_since(desk),
        course=if_all_goes(desk),
        may_act=bool(visit.roles & HOME),
        at=lambda instant: margin_time(instant, desk.now),
    )


def _night(visit: Visit) -> tuple[str, int, str]:
    """Key of the weekday, day and key of the month of the open night, or of today."""
    from datetime import date
    from zoneinfo import ZoneInfo

    desk = visit.desk
    summary = desk.past.get(desk.treatment_id) if desk.treatment_id is not None else None
    today = desk.now.at.astimezone(ZoneInfo(desk.now.zone)).date()
    found = date.fromisoformat(summary.night) if summary is not None else today
    return f"web.weekday.{found.isoweekday()}", found.day, f"month.{found.month}"


def begin(visit: Visit) -> Response:
    """Open tonight."""
    if visit.do(setup.open_night, field="open", key=visit.typed.get("key"), sure=visit.sure) is None:
        return show(visit)
    return visit.go("/setup")


def compare_clock(visit: Visit) -> Response:
    """Answer whether the clock here agrees with another one, asked after the computer was started again."""
    seen = tuple(f.id for f in visit.desk.treatment.at_slot("answer", CLOCK_QUESTION))
    done = visit.do(
        setup.answer,
        field="clock_right",
        key=visit.typed.get("key"),
        question=CLOCK_QUESTION,
        answer=visit.typed.get("clock_right", ""),
        instead_of=seen,
    )
    return show(visit) if done is None else visit.go("/")


WAYS = (
    Way("GET", "/", show, ALL),
    Way("POST", "/", begin, HOME),
    Way("POST", "/clock", compare_clock, HOME),
)
