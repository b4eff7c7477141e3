"""Setting up: the screen that comes next, what was sent from it, and the ways out of it."""

from __future__ import annotations

from typing import Any
from urllib.parse import quote

from starlette.responses import Response

from ebbwell.core.errors import InputError
from ebbwell.core.text import say
from ebbwell.deeds import comeoff, orders, setup
from ebbwell.deeds.coming_up import SET_UP, next_view
from ebbwell.deeds.connect import already_running
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.water_now import water_findings
from ebbwell.journal.kinds.orders import UNANSWERED
from ebbwell.papers.words import step_words
from ebbwell.procedure.holds import Status, StepView
from ebbwell.procedure.scene import CLOCK_QUESTION
from ebbwell.state.night import ON_MACHINE, Phase, first_blood
from ebbwell.web.marks import LINKS, Field, fields, filled, keep, minutes_of, sent_before
from ebbwell.web.once import KEPT, LEFT, NOT_KEPT, from_tonight, once, refuse, sent
from ebbwell.web.pages.setup.screen import (
    StepOn,
    address_of,
    ask_clock,
    bars,
    before_wait,
    build,
    change_of,
    done,
    elsewhere,
    screen_of,
    step_on,
    steps_on,
    title_of,
    told,
    urgent,
    waiting,
    why_shut,
)
from ebbwell.web.pages.setup.unit import show_unit, take_unit
from ebbwell.web.second import keep_second, second_before
from ebbwell.web.times import past_time
from ebbwell.web.visit import ALL, HOME, Trouble, Visit, Way

CLOCK = "clock"
"""The field that asks whether this computer's clock is right."""

BEGINS_WITH = {"S23a": "S23b"}
"""A step whose wait begins when the one before it is kept: the figure just found in range is watched from then on.

Other waits begin with something done by hand, and with a field of their own. Source: practice:b, S23.
"""


def lead(visit: Visit) -> Response:
    """On to what comes next. Writes nothing."""
    desk = visit.desk
    carried = {name: visit.query[name] for name in ("saved", "later", "kept") if visit.query.get(name)}
    out = _not_here(desk)
    if out:
        return visit.go(out)
    call_first = urgent(desk)
    if call_first:
        return visit.show("pages/setup/urgent.html", urgent=call_first)
    view = next_view(desk, later=_later(visit))
    if view is not None:
        return visit.go(_with(_own_page(visit, view) or address_of(view.step), carried))
    if desk.gate_open:
        return visit.go(_with("/connect", carried))
    return visit.show(
        "pages/setup/wait.html",
        waits=waiting(desk),
        told=told(desk, _ids(visit, "saved")),
        **_round(desk, ""),
    )


def _own_page(visit: Visit, view: StepView) -> str:
    """The page of a step's own that is all it asks for now: the reading back, or tonight's plan; "" where there is none.

    A step that is barred, stale or unsettled keeps its screen, which says why; so does one after which a value that
    was just kept has to be told.
    """
    desk = visit.desk
    values = any(t.lines or t.findings or t.hidden for t in told(desk, _ids(visit, "saved")))
    if view.status is not Status.OPEN or values or not visit.roles & HOME:
        return ""
    on = step_on(desk, view)
    if on.plan and not on.bar:
        return LINKS["plan"]
    return on.fields[0].link if [f.kind for f in on.fields] == ["link"] else ""


def _not_here(desk: Desk) -> str:
    """Where to go instead, on a night that isn't being set up; "" where it is."""
    if desk.phase is Phase.SETTING_UP:
        order, holder = desk.scene.order, desk.scene.holder
        if holder is None or holder[0] != desk.writer:
            return "/hand-over"
        return "/prescription" if order is None or order.waiting else ""
    if first_blood(desk.treatment) is not None:
        return "/night" if desk.phase in ON_MACHINE else "/off"
    return "/call-off" if desk.phase is Phase.STOPPING else "/?told=no_night"


def _with(address: str, carried: dict[str, str]) -> str:
    pairs = "&".join(f"{name}={quote(value)}" for name, value in carried.items())
    return f"{address}?{pairs}" if pairs else address


def _ids(visit: Visit, name: str) -> tuple[str, ...]:
    text = visit.query.get(name, "") or visit.typed.get(name, "")
    return tuple(part for part in text.split(".") if part)


def _later(visit: Visit) -> tuple[str, ...]:
    return _ids(visit, "later")


def show(visit: Visit) -> Response:
    """One screen of the set-up."""
    if _not_here(visit.desk) or urgent(visit.desk) or not steps_on(visit.desk, visit.path["bundle"]):
        return visit.go("/setup")
    return _screen(visit, _ids(visit, "saved"))


def _screen(visit: Visit, saved: tuple[str, ...]) -> Response:
    desk, name = visit.desk, visit.path["bundle"]
    shown = build(desk, name)
    later = _later(visit)
    here = [on.step.id for on in shown if not on.view.passed]
    return visit.show(
        "pages/setup/page.html",
        name=name,
        title=title_of(desk, name),
        shown=shown,
        told=told(desk, saved, name),
        clock=ask_clock(desk, shown),
        starts=_starts(shown) if not ask_clock(desk, shown) else None,
        minutes_of=lambda wait: minutes_of(wait.evidence),
        asks=any(on.asks for on in shown),
        later=".".join(later),
        put_off=".".join(dict.fromkeys([*later, *here])),
        waits=waiting(desk),
        water=water_findings(desk) if _on_water(shown) else (),
        **_round(desk, name),
    )


def _on_water(shown: tuple[StepOn, ...]) -> bool:
    """Whether a screen is one of the first questions, or about the water: there, what stands open of it is told."""
    return any(on.step.stage == "questions" or on.step.block == "water" for on in shown)


def _starts(shown: tuple[StepOn, ...]) -> Field | None:
    """The wait whose beginning is all that a screen asks: then one button says that it runs."""
    asked = [f for on in shown for f in on.fields]
    alone = len(asked) == 1 and asked[0].kind == "wait" and not asked[0].follows
    return asked[0] if alone and not any(on.second for on in shown) else None


def _round(desk: Desk, name: str) -> dict[str, Any]:
    """What every screen of the set-up has at its foot."""
    return {
        "elsewhere": elsewhere(desk, name),
        "bars": bars(desk, name),
        "barred": [
            (step_words(desk.procedure, v.step.id), address_of(v.step))
            for v in desk.views.values()
            if v.step.stage in SET_UP and why_shut(desk, v) and screen_of(v.step) != name
        ],
        "done": done(desk),
        "address_of": address_of,
        "change_of": lambda view: change_of(desk, view),
    }


# -- what was sent ------------------------------------------------------------------------------------------------


def take(visit: Visit) -> Response:
    """Keep what was filled in on a screen: each field its own deed. What isn't kept comes back with its reason."""
    desk, name = visit.desk, visit.path["bundle"]
    if not from_tonight(visit):
        return visit.show("pages/setup/stale.html")
    if desk.phase is not Phase.SETTING_UP:
        visit.troubles.append(Trouble(say("web.setup.over")))
        return visit.show("pages/setup/stale.html")
    if not steps_on(desk, name):
        visit.troubles.append(Trouble(say("web.setup.no_screen")))
        return visit.show("pages/setup/stale.html")
    saved: list[str] = []
    outcomes = [_clock(visit)]
    outcomes += [_step(visit, step.id, saved) for step in steps_on(desk, name)]
    outcomes.append(_act(visit, saved))
    stray = _stray(visit)
    visit.findings.clear()
    if stray:
        refuse(visit, stray, InputError("web.marks.not_asked"))
    if not visit.troubles and all(outcome == LEFT for outcome in outcomes):
        visit.troubles.append(Trouble(say("web.setup.nothing")))
    if visit.troubles:
        return _screen(visit, tuple(saved))
    kept = {"saved": ".".join(saved), "later": ".".join(i for i in _later(visit) if i not in saved)}
    return visit.go(_with("/setup", {k: v for k, v in kept.items() if v}), kept=f"setup-{name}")


def _clock(visit: Visit) -> str:
    answer = sent(visit, CLOCK)
    if not answer:
        return LEFT
    seen = tuple(f.id for f in visit.desk.treatment.at_slot("answer", CLOCK_QUESTION))
    return once(visit, setup.answer, field=CLOCK, question=CLOCK_QUESTION, answer=answer, instead_of=seen)


def _step(visit: Visit, step_id: str, saved: list[str]) -> str:
    """Keep the fields of one step. The desk is looked at anew for each, as the deed will see it."""
    on = step_on(visit.desk, visit.desk.views[step_id])
    asked = [f for f in on.fields if f.kind != "link"]
    outcomes = [keep_second(visit, on.second) if on.second is not None else second_before(visit, step_id)]
    outcomes += _keep_all(visit, [f for f in asked if not f.follows])
    if KEPT in outcomes:
        _begin_wait(visit, on, outcomes)
    names = {f.name for f in asked}
    rest = (f for f in fields(visit.desk, on.step, on.step.evidence) if f.kind != "link")
    outcomes += [sent_before(visit, f) for f in rest if f.name not in names]
    if KEPT in outcomes:
        saved.append(step_id)
        return KEPT
    return NOT_KEPT if NOT_KEPT in outcomes else LEFT


def _keep_all(visit: Visit, asked: list[Field]) -> list[str]:
    """Keep the fields of a step. Where words are missing that another field's answer needs, the others wait for them."""
    worded = [f for f in asked if f.worded]
    rest = [f for f in asked if not f.worded]
    outcomes = [keep(visit, f) for f in worded]
    if NOT_KEPT in outcomes:
        left = [f for f in rest if filled(visit, f)]
        return outcomes + [refuse(visit, f.name, InputError("web.marks.with_words")) for f in left]
    return outcomes + [keep(visit, f) for f in rest]


def _begin_wait(visit: Visit, on: StepOn, outcomes: list[str]) -> None:
    """Begin a wait that comes after what was just kept, in the same step or in the one that follows on."""
    if visit.desk.views[on.step.id].status is Status.BARRED:
        return
    wait = next((f for f in on.fields if f.follows), None)
    if wait is not None and NOT_KEPT not in outcomes and not _missing_before(visit.desk, wait):
        try:
            at = past_time(sent(visit, wait.name, "at"), visit.desk.now)
        except InputError as why:
            refuse(visit, wait.name, why)
            return
        once(visit, setup.start_wait, field=wait.name, step=on.step.id, at=at)
    follows = BEGINS_WITH.get(on.step.id, "")
    if follows and visit.desk.views[on.step.id].passed and not visit.desk.views[follows].passed:
        visit.do(setup.start_wait, step=follows)


def _missing_before(desk: Desk, wait: Field) -> bool:
    """Whether something that comes before the wait is missing, or isn't as the step needs it."""
    view = desk.views[wait.step]
    place = view.step.evidence.index(wait.evidence)
    missing = any(evidence in view.missing for evidence in view.step.evidence[:place])
    return missing or bool(view.waits_for) or bool(before_wait(desk, view))


def _act(visit: Visit, saved: list[str]) -> str:
    """The buttons of a single step: leave it out, or write down what the unit said about it."""
    what, _, step_id = sent(visit, "act").partition(":")
    if not what:
        return _loose_words(visit)
    if step_id not in {step.id for step in steps_on(visit.desk, visit.path["bundle"])}:
        return refuse(visit, "act", InputError("web.marks.not_asked"))
    name = f"{step_id}.{what}"
    if what == "skip":
        outcome = once(
            visit,
            setup.skip,
            field=name,
            step=step_id,
            reason=sent(visit, name, "reason"),
            unit=sent(visit, name, "unit"),
        )
    elif what == "unit":
        allows = sent(visit, name, "allows")
        if allows not in ("yes", "no", *UNANSWERED):
            return refuse(visit, name, InputError("web.setup.allows"))
        outcome = once(
            visit,
            orders.advise,
            field=name,
            who=sent(visit, name, "who"),
            words=sent(visit, name, "words"),
            about=(step_id,),
            allows=allows == "yes",
            outcome=allows if allows in UNANSWERED else "said",
        )
    else:
        return refuse(visit, "act", InputError("web.marks.not_asked"))
    if outcome == KEPT:
        saved.append(step_id)
    return outcome


def _loose_words(visit: Visit) -> str:
    """Words typed for leaving a step out, or of the unit, without the button that keeps them: told, and shown again."""
    outcome = LEFT
    for step in steps_on(visit.desk, visit.path["bundle"]):
        for name, parts in ((f"{step.id}.skip", ("reason", "unit")), (f"{step.id}.unit", ("who", "words"))):
            if any(sent(visit, name, part) for part in parts):
                outcome = refuse(visit, name, InputError("web.setup.press_its_button"))
    return outcome


def _stray(visit: Visit) -> str:
    """A field that was filled in for a step which stands elsewhere, or isn't asked now: nothing is kept for it."""
    here = {step.id for step in steps_on(visit.desk, visit.path["bundle"])}
    for step in visit.desk.procedure.steps:
        if step.id in here:
            continue
        for f in fields(visit.desk, step, step.evidence):
            if f.kind != "link" and filled(visit, f):
                return f.name
    return ""


# -- out of the set-up --------------------------------------------------------------------------------------------


def show_call_off(visit: Visit) -> Response:
    """Calling the night off."""
    return visit.show("pages/setup/call_off.html")


def take_call_off(visit: Visit) -> Response:
    """End a night on which nothing ran. A second tap leads on like the first."""
    key = sent(visit, "why.key").lower()
    if key and visit.house.store.held(key) is not None and visit.desk.treatment_id is None:
        return visit.go("/?told=called_off", kept="call-off")
    if from_tonight(visit):
        if once(visit, comeoff.call_off, field="why", words=sent(visit, "why")) == KEPT:
            return visit.go("/?told=called_off", kept="call-off")
    return visit.show("pages/setup/call_off.html")


def show_running(visit: Visit) -> Response:
    """Blood runs already: the page that takes it in."""
    return visit.show("pages/setup/running.html")


def take_running(visit: Visit) -> Response:
    """Take in that blood runs. Never refused; a time that can't be read is asked for again."""
    try:
        at = past_time(sent(visit, "at"), visit.desk.now)
    except InputError as why:
        refuse(visit, "at", why)
        return visit.show("pages/setup/running.html")
    done = visit.do(
        already_running, field="words", key=sent(visit, "words.key"), words=sent(visit, "words"), at=at
    )
    return visit.show("pages/setup/running.html") if done is None else visit.go("/night", kept="running")


WAYS = (
    Way("GET", "/setup", lead, ALL),
    Way("GET", "/setup/{bundle}", show, ALL),
    Way("POST", "/setup/{bundle}", take, HOME),
    Way("GET", "/call-off", show_call_off, ALL),
    Way("POST", "/call-off", take_call_off, HOME),
    Way("GET", "/running", show_running, ALL),
    Way("POST", "/running", take_running, ALL),
    Way("GET", "/unit-said", show_unit, ALL),
    Way("POST", "/unit-said", take_unit, HOME),
)
