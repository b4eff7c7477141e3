"""One screen of the set-up: which steps stand on it, what each asks for now, and where else one can go."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from ebbwell.core.clock import elapsed
from ebbwell.core.findings import Finding, Grade
from ebbwell.core.text import has_text, say
from ebbwell.deeds.coming_up import OPEN, SET_UP, every_wait, to_give, waits_until
from ebbwell.deeds.desk import LATE, Desk
from ebbwell.deeds.plan import advised
from ebbwell.deeds.weight_gain import rules_of
from ebbwell.journal.kinds.marks import LotUsed, Measured
from ebbwell.journal.kinds.orders import SecondCheck
from ebbwell.papers.describe import describe
from ebbwell.papers.shown_beside import shown_beside
from ebbwell.papers.spoken import bar_words, step_said
from ebbwell.procedure.evidence import TESTS_FAILED, accepted, find, planned
from ebbwell.procedure.gate import Bar, step_bar
from ebbwell.procedure.holds import Status, StepView
from ebbwell.procedure.model import Evidence, Step
from ebbwell.procedure.rule_facts import JUDGED_CHOICES
from ebbwell.procedure.scene import CLOCK_QUESTION
from ebbwell.procedure.two_readings import differing_checks, firsts_of
from ebbwell.rulebook.evaluate import evaluate
from ebbwell.state.facts import Fact
from ebbwell.web.marks import LINKS, Field, capital, fields
from ebbwell.web.second import Second, second_of

TOLD = ("measured", "lot_used")
"""Kinds whose value is told once more after it was kept, with its unit."""


EMERGENCY = "next.emergency_number"
"""The next step of a finding after which nothing else is asked."""


@dataclass(frozen=True)
class StepOn:
    """A step on the screen. fields: asked now. second: its second reading, where that is what it waits for.

    bar: why it isn't done, in words, where that needs saying. until: when its wait is over. first: what comes before
    it, as (words, address). settle: address where two values or readings are settled. plan: that has to be agreed first.
    draw_again: from when on a failed test may be made again. said: what the rules say of a step that is barred.
    beside: what the hands at work need to see.
    """

    view: StepView
    fields: tuple[Field, ...] = ()
    second: Second | None = None
    bar: str = ""
    until: datetime | None = None
    first: tuple[tuple[str, str], ...] = ()
    settle: str = ""
    plan: bool = False
    draw_again: datetime | None = None
    said: tuple[str, ...] = ()
    beside: tuple[str, ...] = ()

    @property
    def step(self) -> Step:
        """The step itself."""
        return self.view.step

    @property
    def can_skip(self) -> bool:
        """Whether it may be left out now: nobody may leave out a step whose turn hasn't come."""
        return self.step.skip != "never" and self.view.status is not Status.SHUT

    @property
    def unit_may(self) -> bool:
        """Whether the unit's word could open it as it stands."""
        return self.view.unit_may

    @property
    def asks(self) -> bool:
        """Whether there is something to fill in."""
        return bool(self.second or any(f.kind != "link" for f in self.fields))


@dataclass(frozen=True)
class Elsewhere:
    """Another screen that can be worked on. mark: as in the margin."""

    name: str
    title: str
    mark: str


def screen_of(step: Step) -> str:
    """The name of the screen that a step stands on: its bundle's, or its own."""
    return step.bundle or step.id


def address_of(step: Step) -> str:
    """Where a step is done."""
    return "/connect" if step.stage == "connect" else f"/setup/{screen_of(step)}"


def title_of(desk: Desk, name: str) -> str:
    """What a screen is called."""
    key = f"bundle.{name}"
    if key in desk.procedure.words or has_text(key):
        return desk.procedure.say(key)
    return desk.procedure.say(f"step.{name}.do").rstrip(".")


def steps_on(desk: Desk, name: str) -> tuple[Step, ...]:
    """The steps of a screen that tonight needs, in their order; none for a name that is no screen."""
    return tuple(
        step
        for step in desk.procedure.steps
        if step.stage in SET_UP
        and screen_of(step) == name
        and desk.views[step.id].status is not Status.NOT_NEEDED
    )


def build(desk: Desk, name: str) -> tuple[StepOn, ...]:
    """The steps of a screen as they stand."""
    return tuple(step_on(desk, desk.views[step.id]) for step in steps_on(desk, name))


def step_on(desk: Desk, view: StepView) -> StepOn:
    """One step as it stands, with what it asks for now."""
    step, status = view.step, view.status
    if view.passed:
        return StepOn(view)
    if status is Status.SHUT:
        waits = (desk.procedure.step(each) for each in view.waits_for)
        return StepOn(view, first=tuple((_named(desk, s), address_of(s)) for s in waits))
    if status is Status.WAITING:
        return StepOn(view, until=view.until)
    until = waits_until(desk, view)
    if until is not None:
        return StepOn(view, until=until)
    if status is Status.SECOND:
        return StepOn(view, second=second_of(desk, view))
    refused = before_wait(desk, view) or _refused(desk, view)
    wanted = up_to_wait(tuple(dict.fromkeys((*refused, *to_give(desk, view)))))
    plan_first = any(e.form == "plan" or _no_plan_for(desk, e) for e in wanted)
    wanted = (*wanted, *_failed_before(view, wanted))
    if plan_first:
        wanted = tuple(e for e in wanted if e.form not in ("plan", "setting"))
    if status is Status.UNSETTLED:
        slot = next((f for f in map(desk.treatment.fact, view.by) if f is not None), None)
        both = fields(desk, step, _unsettled(desk, view))
        settle = f"/settle/{slot.id}" if slot is not None else ""
        return StepOn(view, both, bar=say("web.setup.unsettled"), settle=settle)
    bar = "" if status in (Status.OPEN, Status.BARRED) else bar_words(step_bar(view), desk)
    if refused:
        why = say("hold.choice_unit" if step.advisable else "hold.choice")
        bar = " ".join((why, *_why_barred(desk, view)))
    soon = view.until if status is Status.BARRED and step.retest is not None else None
    soon = soon if soon is not None and soon > desk.now.at else None
    return StepOn(
        view,
        fields(desk, step, wanted),
        bar=bar,
        settle=_settle_second(desk, view) if view.differed else "",
        plan=plan_first,
        draw_again=soon,
        said=_barred(desk, view, view.why) if status is Status.BARRED else (),
        beside=tuple(shown_beside(desk, step)),
    )


def _settle_second(desk: Desk, view: StepView) -> str:
    """Where somebody says which of two readings holds; "" where the second one was taken back."""
    held = set(view.by)
    checks = [c for c in differing_checks(desk.treatment) if held & set(firsts_of(desk.treatment, c))]
    return f"/settle/{checks[-1].id}" if checks else ""


def why_shut(desk: Desk, view: StepView) -> str:
    """Wording key of why what was given for a step keeps it shut, also while something else is missing; else ""."""
    if view.status is Status.BARRED:
        return view.why
    if view.status is not Status.OPEN:
        return ""
    every = (
        accepted(desk.scene, view.step, e, f)
        for e in view.step.evidence
        for f in find(desk.scene, view.step, e)
    )
    return next((why for why in every if why), "")


def _why_barred(desk: Desk, view: StepView) -> tuple[str, ...]:
    """What the rules say of what bars a step: its limits, its answers, the settings that aren't as planned."""
    if not why_shut(desk, view):
        return ()
    keys = [f"answer@{e.name}" for e in view.step.evidence if e.form == "answer"]
    keys += [JUDGED_CHOICES[e.name][0] for e in view.step.evidence if e.name in JUDGED_CHOICES]
    found = evaluate(desk.scene.rulebook, desk.scene.facts, only=keys) if keys else ()
    every = dict.fromkeys([*(f for f in found if f.grade is not Grade.UNKNOWN), *view.findings])
    return tuple(step_said(desk, view.step.id, every))


def _barred(desk: Desk, view: StepView, why: str) -> tuple[str, ...]:
    """What bars a step: what is wrong first. A limit's own words, which end with what to do, need none before them."""
    said = _why_barred(desk, view)
    return said if said and why == "hold.limit" else (f"{say('grade.stop_before')}: {say(why)}", *said)


def urgent(desk: Desk) -> list[tuple[Finding, str, Step]]:
    """Answers that ask for the emergency number: finding, id of the answer, its step. None once the unit's word allows.

    Nothing is set up on top of such an answer. Source: practice:b, S0.
    """
    out = []
    for step in desk.procedure.steps:
        if step.stage != "questions" or advised(desk, step.id):
            continue
        for evidence in step.evidence:
            held = desk.treatment.at_slot("answer", evidence.name) if evidence.form == "answer" else ()
            found = (
                evaluate(desk.scene.rulebook, desk.scene.facts, only=[f"answer@{evidence.name}"])
                if held
                else ()
            )
            out += [(f, held[0].id, step) for f in found if f.next_step == EMERGENCY]
    return out


def _failed_before(view: StepView, wanted: tuple[Evidence, ...]) -> tuple[Evidence, ...]:
    """After a machine test that failed, whether one failed first is asked once more with the new result."""
    if view.status is not Status.BARRED:
        return ()
    return tuple(e for e in view.step.evidence if e.name == TESTS_FAILED and e not in wanted)


def _no_plan_for(desk: Desk, evidence: Evidence) -> bool:
    """Whether a machine setting has nothing to be compared with yet."""
    return evidence.form == "setting" and planned(desk.scene, evidence.name) is None


def _unsettled(desk: Desk, view: StepView) -> tuple[Evidence, ...]:
    """The evidence that two values disagree about."""
    held = {fact.slot for fact in map(desk.treatment.fact, view.by) if fact is not None}
    return tuple(e for e in view.step.evidence if any(slot and e.name in slot for slot in held))


def _refused(desk: Desk, view: StepView) -> tuple[Evidence, ...]:
    """What was given and keeps a step shut while something else is missing: it is asked for again beside it."""
    if view.status is not Status.OPEN or any(e.form == "wait" for e in view.missing):
        return ()
    return tuple(
        e
        for e in view.step.evidence
        if e not in view.missing
        and any(accepted(desk.scene, view.step, e, f) for f in find(desk.scene, view.step, e))
    )


def before_wait(desk: Desk, view: StepView) -> tuple[Evidence, ...]:
    """What comes before a wait that hasn't begun, and isn't as the step needs it: it is looked at again first."""
    wait = next((e for e in view.missing if e.form == "wait"), None)
    if wait is None:
        return ()
    given = view.step.evidence[: view.step.evidence.index(wait)]
    return tuple(
        e
        for e in given
        if e not in view.missing
        and any(accepted(desk.scene, view.step, e, fact) for fact in find(desk.scene, view.step, e))
    )


def up_to_wait(asked: tuple[Evidence, ...]) -> tuple[Evidence, ...]:
    """What is asked before a wait is over: what comes before the wait, and its beginning."""
    wait = next((n for n, evidence in enumerate(asked) if evidence.form == "wait"), None)
    return asked if wait is None else asked[: wait + 1]


def _named(desk: Desk, step: Step) -> str:
    return f"{step.id} {desk.procedure.say(f'step.{step.id}.do')}"


def elsewhere(desk: Desk, name: str) -> tuple[Elsewhere, ...]:
    """The other screens with a step that can be worked on now."""
    found: dict[str, Elsewhere] = {}
    for step in desk.procedure.steps:
        here = screen_of(step)
        if step.stage not in SET_UP or here == name or here in found:
            continue
        view = desk.views[step.id]
        ready = view.status in (*OPEN, Status.SECOND, Status.BARRED)
        if ready and waits_until(desk, view) is None:
            found[here] = Elsewhere(here, title_of(desk, here), "shut" if any_hold(desk, here) else "open")
    return tuple(found.values())


def any_hold(desk: Desk, name: str) -> bool:
    """Whether a hold point of a screen is open still."""
    return any(step.kind == "hold" and not desk.views[step.id].passed for step in steps_on(desk, name))


def bars(desk: Desk, here: str = "") -> list[tuple[str, str]]:
    """What keeps connecting shut, each with the address where it is dealt with.

    here: the screen that is shown. What it says of its own steps already isn't said again.
    """
    own = {step.id for step in steps_on(desk, here)} if here else set()
    return [(bar_words(bar, None if bar.step in own else desk), bar_address(desk, bar)) for bar in desk.bars]


def bar_address(desk: Desk, bar: Bar) -> str:
    """Where a bar is dealt with; "" where no page can."""
    if bar.step:
        return address_of(desk.procedure.step(bar.step))
    return {
        "bar.no_prescription": "/prescription",
        "bar.other_steps": "/steps",
        "bar.not_tonight": "/mine",
        "bar.no_holder": "/hand-over",
        "bar.unsettled": f"/settle/{bar.entries[0]}" if bar.entries else "",
    }.get(bar.key, "")


def done(desk: Desk) -> list[tuple[datetime | None, StepView]]:
    """The steps that have passed, the last one first, each with the time of what met it."""
    passed = [v for v in desk.views.values() if v.step.stage in SET_UP and v.passed and v.by]
    timed = [(_when(desk, view), view) for view in passed]
    return sorted(timed, key=lambda pair: pair[0] or desk.now.at, reverse=True)


def _when(desk: Desk, view: StepView) -> datetime | None:
    return max((f.at for f in map(desk.treatment.fact, view.by) if f is not None), default=None)


def change_of(desk: Desk, view: StepView) -> str:
    """Where what met a step is put right: its entry, or the page that made it; "" where there is nothing to change."""
    fact = next((f for f in map(desk.treatment.fact, view.by) if f is not None), None)
    if fact is None:
        return ""
    return LINKS.get(fact.kind, f"/entry/{fact.id}")


def waiting(desk: Desk) -> list[tuple[datetime, StepView]]:
    """Each wait that isn't over, the first to end first."""
    return every_wait(desk)


def ask_clock(desk: Desk, shown: tuple[StepOn, ...]) -> bool:
    """Whether the clock has to be compared: a time isn't known, and nobody compared it since the machine started."""
    if not any(on.view.status is Status.NOT_KNOWN for on in shown):
        return False
    asked = desk.treatment.at_slot("answer", CLOCK_QUESTION)
    return not any(fact.recorded.boot == desk.now.boot for fact in asked)


@dataclass(frozen=True)
class Told:
    """What was just kept for a step. lines: its values with their units; hidden: they wait for a second reading.

    barred: why it is shut all the same, where the step itself stands on another screen; there: its address.
    """

    view: StepView
    at: datetime | None
    lines: tuple[str, ...]
    hidden: bool
    findings: tuple[Finding, ...]
    barred: tuple[str, ...] = ()
    there: str = ""


def told(desk: Desk, ids: tuple[str, ...], name: str = "") -> list[Told]:
    """What the steps that were just saved hold now, read from the record. name: of the screen that tells it."""
    out = []
    for step_id in ids:
        if not desk.procedure.has(step_id):
            continue
        view = desk.views[step_id]
        facts = [f for f in map(desk.treatment.fact, view.by) if f is not None]
        if not facts or view.status is Status.NOT_NEEDED:
            continue
        unread = view.status is Status.SECOND or view.differed
        hidden = unread or (view.step.second == "blind" and not view.passed)
        lines = () if hidden else tuple(capital(describe(f.body)) for f in facts if f.kind in TOLD)
        findings = () if hidden else _said_of(desk, view, facts)
        why = why_shut(desk, view)
        apart = why and screen_of(view.step) != name
        barred = _barred(desk, view, why) if apart else ()
        at = max(f.at for f in facts)
        out.append(Told(view, at, lines, hidden, findings, barred, address_of(view.step)))
    return out


def _said_of(desk: Desk, view: StepView, facts: list[Fact]) -> tuple[Finding, ...]:
    """What the rules say of values just kept, beside what bars the step: that stands with the step itself."""
    keys = rules_of(f.body for f in facts)
    found = [
        f
        for f in (evaluate(desk.scene.rulebook, desk.scene.facts, only=keys) if keys else ())
        if f.grade is not Grade.UNKNOWN
        and (view.status is not Status.BARRED or f.rule not in {each.rule for each in view.findings})
    ]
    for fact in facts:
        late = elapsed(fact.at, fact.entry.envelope.recorded_at).total_seconds() / 60
        if late > LATE and not isinstance(fact.body, SecondCheck):
            found.append(Finding("written_late", Grade.NOTE, (("minutes", str(round(late))),)))
        if isinstance(fact.body, Measured) and "outside_last" in fact.body.asked:
            body = fact.body
            found.append(
                Finding(
                    "kept_though_unlikely",
                    Grade.STOP,
                    (("quantity", body.quantity), ("value", body.value)),
                )
            )
        if isinstance(fact.body, LotUsed) and not fact.body.lot:
            found.append(Finding("lot_unreadable", Grade.CARE, (("item", fact.body.item),), ("design",)))
    return tuple(dict.fromkeys(found))
