"""Coming off. Off the machine is one form from every state; the steps beside it are asked, never demanded."""

from __future__ import annotations

from datetime import datetime

from starlette.responses import Response

from ebbwell.core.errors import EbbwellError, InputError
from ebbwell.core.findings import Finding, Grade
from ebbwell.core.text import say
from ebbwell.deeds.blood_look import STEP as LOOK_STEP
from ebbwell.deeds.blood_look import blood_found
from ebbwell.deeds.comeoff import blood_by_hand, close, come_off, person_safe, say_blood
from ebbwell.journal.kinds.bedside import WHY_BY_HAND
from ebbwell.journal.kinds.marks import Choice
from ebbwell.journal.kinds.night import BLOOD, CameOff
from ebbwell.papers.describe import describe
from ebbwell.papers.night_now import night_clock
from ebbwell.papers.spoken import error_words
from ebbwell.papers.standing_now import KEPT_OUT, findings
from ebbwell.papers.warned import symptoms_said
from ebbwell.state.facts import Fact, instant
from ebbwell.state.night import Phase, first_blood, stop_noted
from ebbwell.state.standing import people
from ebbwell.web.pages.off.steps import (
    MACHINE,
    StepOn,
    cannot_wait,
    keep_steps,
    moments,
    open_steps,
    row_of,
    too_late,
    written,
)
from ebbwell.web.pages.reading.rows import WHY
from ebbwell.web.times import past_time
from ebbwell.web.visit import ALL, HOME, Trouble, Visit, Way

NOW = ("come_off",)
LATER = ("settle", "come_off", "after")
"""Stages whose steps are shown: up to person safe, and until the sheet is closed."""

TIMES = ("removal_ended", "pump_stopped", "rinse_back_ended")
ENDED = (Phase.NONE, Phase.CLOSED, Phase.CALLED_OFF)


def show(visit: Visit) -> Response:
    """Where coming off stands, and what comes next in it."""
    return _page(visit)


def _page(visit: Visit) -> Response:
    desk = visit.desk
    phase = desk.phase
    if phase in ENDED or (
        phase in (Phase.SETTING_UP, Phase.STOPPING) and first_blood(desk.treatment) is None
    ):
        return visit.show("pages/off/nothing.html", bloods=BLOOD, typed=visit.typed)
    off = desk.treatment.last("came_off")
    stopped = (
        instant(off.body.times.get("pump_stopped", "")) if off and isinstance(off.body, CameOff) else None
    )
    safe = desk.treatment.last("safe")
    steps = _steps(visit)
    open_now = moments(desk, steps)
    part = visit.typed.get("part") or visit.query.get("part", "")
    moment = next((m for m in open_now if m.name == part), open_now[0] if open_now else None)
    rest = [m for m in open_now if m is not moment and not cannot_wait(desk, m)]
    harmed = blood_found(desk)
    return visit.show(
        "pages/off/page.html",
        phase=phase,
        off=off,
        stopped=stopped,
        noted=stop_noted(desk.treatment),
        safe=safe,
        safe_words=_safe_words(visit, safe) if safe else "",
        moment=moment,
        others=[m for m in open_now if m is not moment and cannot_wait(desk, m)],
        later=[m for m in rest if not too_late(desk, m)],
        missed=[m for m in rest if too_late(desk, m)],
        urgent=any(cannot_wait(desk, m) for m in open_now),
        written=written(desk, ("come_off", "after")),
        row_of=row_of,
        reasons=WHY,
        found=[*symptoms_said(desk), *harmed, *_found(visit)],
        looks=not harmed
        and (off is None or (moment is not None and any(on.id == LOOK_STEP for on in moment.steps))),
        closing=[s for s in steps if s.view.step.gate == "close"] if phase is Phase.SAFE else [],
        bloods=BLOOD,
        night_clock=lambda at: night_clock(desk, at),
        typed=visit.typed,
    )


def _safe_words(visit: Visit, safe: Fact) -> str:
    """What was said when the person was marked as safe, and by whom."""
    names = people(visit.desk.standing)
    who = names[safe.by].name if safe.by in names else say("bedside")
    return say("web.off.is_safe", said=describe(safe.body), who=who)


def _steps(visit: Visit) -> tuple[StepOn, ...]:
    """The open steps that belong to where coming off stands: up to the machine, up to person safe, and all the rest."""
    desk = visit.desk
    if desk.phase is Phase.SAFE:
        return open_steps(desk, LATER)
    steps = open_steps(desk, NOW)
    looked = any(f.name == "blood_return" for f in _choices(visit))
    stayed = any(off.blood_returned in ("part", "none") for off in _offs(visit))
    steps = tuple(s for s in steps if s.view.step.only_if != KEPT_OUT or looked or stayed)
    if desk.phase is Phase.OFF:
        return steps
    order = desk.procedure.ids
    machine = next((s.id for s in desk.procedure.steps if any(e.form == MACHINE for e in s.evidence)), "")
    return tuple(s for s in steps if not machine or order.index(s.id) < order.index(machine))


def _offs(visit: Visit) -> list[CameOff]:
    return [f.body for f in visit.desk.treatment.of("came_off") if isinstance(f.body, CameOff)]


def _choices(visit: Visit) -> list[Choice]:
    return [f.body for f in visit.desk.treatment.of("choice") if isinstance(f.body, Choice)]


def _found(visit: Visit) -> list[Finding]:
    """What the rules say of what was measured at coming off, such as a long bleeding; notes wait for the sheet."""
    desk = visit.desk
    named = {
        f"{e.name}@{e.place}" if e.place else e.name
        for step in desk.procedure.steps
        if step.stage == "come_off"
        for e in step.evidence
        if e.form == "measured"
    }
    return [f for f in findings(desk) if f.fact in named and f.grade in (Grade.STOP, Grade.CARE)]


def _time(visit: Visit, name: str) -> datetime | None:
    """A typed clock time; a text that is none is told beside its field."""
    try:
        return past_time(visit.typed.get(name, ""), visit.desk.now)
    except EbbwellError as why:
        visit.troubles.append(Trouble(error_words(why), name))
        return None


def take_off(visit: Visit) -> Response:
    """Off the machine first, then whatever steps were filled in with it: no step holds coming off up.

    Once it is on record it isn't written a second time; the entry itself is put right. ``act``: ``steps`` where only
    they are to be kept.
    """
    only_steps = visit.typed.get("act", "") != "off"
    if not only_steps and not visit.desk.treatment.of("came_off"):
        _come_off(visit)
    keep_steps(visit, LATER, need=only_steps)
    if visit.troubles:
        return _page(visit)
    return visit.go("/off", kept=_draft(visit))


def _draft(visit: Visit) -> str:
    """The name under which a screen keeps what was typed for this moment."""
    return f"off-{visit.typed.get('part') or 'machine'}"


def _come_off(visit: Visit) -> None:
    times = {name: at for name in TIMES if (at := _time(visit, name)) is not None}
    began = _time(visit, "began")
    blood = visit.typed.get("blood", "")
    if not visit.troubles:
        visit.do(
            come_off,
            key=visit.typed.get("key"),
            times=times,
            blood_returned=blood,
            words=visit.typed.get("words", "").strip(),
            began=began,
        )


def take_steps(visit: Visit) -> Response:
    """Keep the fields of the steps that were filled in; those that can't be kept come back with their reason."""
    blood = visit.typed.get("blood", "")
    if blood and any(not off.blood_returned for off in _offs(visit)):
        visit.do(say_blood, field="blood", key=visit.typed.get("blood.key"), blood_returned=blood)
    keep_steps(visit, LATER, need=not blood)
    if visit.troubles:
        return _page(visit)
    return visit.go("/off", kept=_draft(visit))


def take_safe(visit: Visit) -> Response:
    """Mark the person as safe, asked once while needles and bleeding aren't on record. Open steps are only named."""
    at = _time(visit, "safe_at")
    if visit.troubles:
        return _page(visit)
    done = visit.do(person_safe, field="safe", key=visit.typed.get("key"), at=at, sure=visit.sure)
    return visit.go("/off") if done is not None and not visit.troubles else _page(visit)


def take_close(visit: Visit) -> Response:
    """Close the sheet; each step still open has its reason."""
    treatment = visit.desk.treatment_id
    because = {
        name.removeprefix("because."): reason
        for name, reason in visit.typed.items()
        if name.startswith("because.")
    }
    done = visit.do(
        close,
        field="close",
        key=visit.typed.get("key"),
        words=visit.typed.get("words", "").strip(),
        because=because,
    )
    return visit.go(f"/sheet/{treatment}", kept="off-close") if done is not None else _page(visit)


def show_by_hand(visit: Visit) -> Response:
    """Blood given back by hand."""
    return visit.show("pages/off/by_hand.html", reasons=WHY_BY_HAND, typed=visit.typed)


def take_by_hand(visit: Visit) -> Response:
    """Keep it; coming off follows."""
    start, end = _time(visit, "started"), _time(visit, "ended")
    why = visit.typed.get("why", "")
    if why not in WHY_BY_HAND:
        visit.troubles.append(Trouble(error_words(InputError("web.off.pick_why")), "why"))
    if visit.troubles:
        return show_by_hand(visit)
    done = visit.do(
        blood_by_hand,
        field="amount",
        key=visit.typed.get("key"),
        why=why,
        started_at=start,
        ended_at=end,
        amount=visit.typed.get("amount", ""),
        words=visit.typed.get("words", ""),
    )
    return visit.go("/off", kept="by-hand") if done is not None else show_by_hand(visit)


WAYS = (
    Way("GET", "/off", show, ALL),
    Way("POST", "/off", take_off, HOME),
    Way("POST", "/off/steps", take_steps, HOME),
    Way("POST", "/off/safe", take_safe, HOME),
    Way("POST", "/off/close", take_close, HOME),
    Way("GET", "/off/by-hand", show_by_hand, ALL),
    Way("POST", "/off/by-hand", take_by_hand, HOME),
)
