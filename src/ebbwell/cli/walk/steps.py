"""Bringing one step on: asking for what it lacks, its second reading, or what to do where it is barred."""

from __future__ import annotations

from datetime import datetime

from ebbwell.cli.walk.asides import advice
from ebbwell.cli.walk.give import give
from ebbwell.cli.walk.prescribe import how_second
from ebbwell.cli.walk.prompt import Back, Later, NotMeasured, Skip, Walk, in_a_row
from ebbwell.cli.walk.reading import field_label, word_question
from ebbwell.cli.walk.righting import settle
from ebbwell.cli.words import wrap
from ebbwell.core.text import say
from ebbwell.deeds import rereading, setup
from ebbwell.deeds.coming_up import to_give
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.marks import Choice, LotUsed, Measured
from ebbwell.journal.kinds.orders import SecondCheck
from ebbwell.papers.heparin_now import heparin_lines
from ebbwell.papers.shown_beside import shown_beside
from ebbwell.papers.spoken import bar_words
from ebbwell.papers.words import clock, item_words, option_words
from ebbwell.procedure.gate import step_bar
from ebbwell.procedure.holds import Status, StepView
from ebbwell.procedure.scene import CLOCK_QUESTION
from ebbwell.procedure.two_readings import differing_checks, firsts_of
from ebbwell.state.facts import Fact


def take_step(walk: Walk, view: StepView) -> None:
    """Bring a step on by one answer or a few; the words ``back``, ``later`` and ``skip`` are done here."""
    walk.view, walk.turns = view, turns(view)
    _head(walk, view)
    try:
        _ask_step(walk, view)
    except Back:
        _back(walk)
    except Later:
        if view.step.id in walk.later:
            walk.later.remove(view.step.id)
        walk.later.append(view.step.id)
        walk.say("walk.put_off")
    except Skip:
        _skip(walk, view)
    except NotMeasured:
        walk.say("walk.no_measure_here")
    finally:
        walk.view, walk.turns = None, ()


def turns(view: StepView) -> tuple[str, ...]:
    """Words that turn away from a question of this step."""
    found = ["back", "later"]
    if view.step.skip != "never":
        found.append("skip")
    if any(e.form in ("measured", "reading") for e in view.step.evidence):
        found.append("not measured")
    return tuple(found)


def _head(walk: Walk, view: StepView) -> None:
    procedure = walk.desk().procedure
    mark = say("walk.hold_mark" if view.step.kind == "hold" else "walk.step_mark")
    text = procedure.say(f"step.{view.step.id}.do")
    walk.session.print("", *wrap(f"{view.step.id}  {text}", first=f"{mark} "))
    for line in shown_beside(walk.desk(), view.step):
        walk.session.print(*wrap(line, first="  "))
    if view.status is Status.STALE:
        walk.say("walk.once_more")


def show_heparin(walk: Walk, desk: Desk) -> None:
    """Heparin by the plan and when its pump stops, worked out anew at each look: time off moves it with the end."""
    lines = heparin_lines(desk)
    if lines:
        walk.session.print("", *wrap(f"{say('heparin.now.title')}."))
    for line in lines:
        walk.session.print(*wrap(line, first="  "))


def _ask_step(walk: Walk, view: StepView) -> None:
    if view.status is Status.UNSETTLED:
        _unsettled(walk, view)
    elif view.status is Status.SECOND:
        second(walk, view)
    elif view.status is Status.NOT_KNOWN and not _clock_asked(walk):
        _ask_clock(walk)
    elif view.differed:
        differed(walk, view)
    elif view.status is Status.BARRED:
        _barred(walk, view)
    else:
        _give_all(walk, view)


def _give_all(walk: Walk, view: StepView) -> None:
    for evidence in to_give(walk.desk(), view):
        while not give(walk, view, evidence):
            if walk.desk().views[view.step.id].status is Status.SHUT:
                return
        walk.given.append((view.step.id, str(evidence)))
        if view.step.id in walk.later:
            walk.later.remove(view.step.id)
        if evidence.form in ("wait", "connected"):
            break
    after = walk.desk().views[view.step.id]
    if after.status is Status.BARRED:
        walk.session.print(*wrap(bar_words(step_bar(after), walk.desk()), first="| ", rest="| "))
        walk.say("walk.stays_shut")


def _back(walk: Walk) -> None:
    """Ask the question before this one again; the new answer stands in the place of the old."""
    while walk.given:
        step_id, text = walk.given.pop()
        view = walk.desk().views[step_id]
        if view.status is Status.BARRED:
            walk.view = view
            _head(walk, view)
            _give_all(walk, view)
            return
        evidence = next((e for e in view.step.evidence if str(e) == text), None)
        if evidence is None or evidence.form in ("connected", "came_off", "wait", "tick"):
            continue
        _head(walk, view)
        walk.view = view
        try:
            if give(walk, view, evidence):
                walk.given.append((step_id, text))
        except Back:
            continue
        except (Later, Skip, NotMeasured):
            walk.say("walk.back_to_question")
        return
    walk.say("walk.no_back")


def _skip(walk: Walk, view: StepView) -> None:
    if view.step.skip == "never":
        walk.do(setup.skip, step=view.step.id, reason="-")
        return
    try:
        reason = walk.ask(say("walk.skip_why"))
        unit = walk.ask(say("walk.skip_unit")) if view.step.skip == "unit" else ""
    except (Back, Later, Skip, NotMeasured):
        walk.say("walk.back_to_question")
        return
    if walk.do(setup.skip, step=view.step.id, reason=reason, unit=unit) is not None:
        walk.say("walk.skipped")


def _clock_asked(walk: Walk) -> bool:
    """Whether someone compared the clock since this start of the machine."""
    desk = walk.desk()
    asked = desk.treatment.at_slot("answer", CLOCK_QUESTION)
    return any(f.recorded.boot == desk.now.boot for f in asked)


def _ask_clock(walk: Walk) -> None:
    now = walk.desk().now
    right = walk.yes(say("walk.clock_right", at=clock(now.at, now.zone)))
    seen = tuple(f.id for f in walk.desk().treatment.at_slot("answer", CLOCK_QUESTION))
    walk.do(setup.answer, question=CLOCK_QUESTION, answer="yes" if right else "no", instead_of=seen)


def _unsettled(walk: Walk, view: StepView) -> None:
    facts = tuple(f for f in map(walk.desk().treatment.fact, view.by) if f is not None)
    if (
        walk.pick(
            say("walk.unsettled"), (("settle", say("walk.one_holds")), ("again", say("walk.measure_again")))
        )
        == "settle"
    ):
        settle(walk, facts)
        return
    slots = {f.slot for f in facts}
    for evidence in view.step.evidence:
        if any(slot is not None and evidence.name in slot for slot in slots):
            give(walk, view, evidence)


def _barred(walk: Walk, view: StepView) -> None:
    walk.session.print(*wrap(bar_words(step_bar(view), walk.desk()), first="| ", rest="| "))
    options = [("again", say("walk.again"))]
    desk = walk.desk()
    if retest_waits(view, desk.now.at) and view.until is not None:
        options.insert(0, ("later", say("walk.wait_then_again")))
        walk.say("walk.again_from", at=clock(view.until, desk.now.zone))
    if view.step.advisable:
        options.append(("unit", say("walk.unit_said")))
    if view.step.skip != "never":
        options.append(("leave_out", say("walk.leave_out")))
    if options[0][0] != "later":
        options.append(("later", say("walk.later_on")))
    chosen = walk.pick(say("walk.barred"), options)
    if chosen == "unit":
        advice(walk)
    elif chosen == "leave_out":
        raise Skip
    elif chosen == "later":
        raise Later
    else:
        _give_all(walk, view)


def retest_waits(view: StepView, now: datetime) -> bool:
    """Whether a failed test is too new for another one to count yet."""
    length, until = view.step.retest, view.until
    return length is not None and until is not None and now < until <= now + length


@in_a_row("walk.row.second")
def second(walk: Walk, view: StepView) -> None:
    """The second reading, the first one not shown. After one that differs both are made afresh."""
    firsts = rereading.first_readings(walk.desk(), view.step.id)
    photo = view.step.second == "person_or_photo"
    walk.say("walk.second_begin")
    how, by = how_second(walk, firsts[0].by, photo=photo, reread=not photo)
    values = {rereading.said(fact)[0]: _again(walk, view, fact) for fact in firsts}
    name = walk.ask(say("walk.photo_name")) if how == "photo" else ""
    while True:
        done = walk.do(rereading.second_check, by=by, step=view.step.id, how=how, values=values, photo=name)
        if done is not None:
            break
        if how == "person":
            return
        walk.ask(say("walk.enter_when_ready"), empty=True)
    check = walk.desk().treatment.fact(done.entries[0])
    if check is not None and isinstance(check.body, SecondCheck) and not check.body.agrees:
        now = walk.desk().views[view.step.id]
        (differed if now.differed else _barred)(walk, now)
    else:
        walk.say("walk.second_same")


def differed(walk: Walk, view: StepView) -> None:
    """Two readings that weren't the same: the first one afresh, or which of the two holds, with the reason."""
    treatment = walk.desk().treatment
    checks = [c for c in differing_checks(treatment) if set(view.by) & set(firsts_of(treatment, c))]
    options = [("again", say("walk.first_again")), ("later", say("walk.later_on"))]
    if checks:
        options.insert(1, ("settle", say("walk.one_holds")))
    chosen = walk.pick(say("walk.second_differs"), options)
    if chosen == "later":
        raise Later
    if chosen == "settle":
        firsts = firsts_of(treatment, checks[-1])
        settle(walk, tuple(f for f in map(treatment.fact, (*firsts, checks[-1].id)) if f is not None))
        return
    _give_all(walk, view)


def _again(walk: Walk, view: StepView, fact: Fact) -> str:
    body = fact.body
    desk = walk.desk()
    if isinstance(body, Measured):
        words = desk.rulebook.quantity(body.quantity).words
        if words:
            options = [(w, option_words(body.quantity, w)) for w in words]
            return walk.pick(word_question(body.quantity, body.place), options)
        return walk.ask(field_label(desk, body.quantity, body.place))
    if isinstance(body, LotUsed):
        walk.say("walk.lot", item=item_words(body.item))
        return walk.ask(say("walk.lot_code_ask"))
    if isinstance(body, Choice):
        options = [(w, option_words(body.name, w)) for w in view.step.options.get(body.name, ())]
        return walk.pick(say(f"choice.{body.name}"), options)
    return "yes" if walk.yes(say("walk.read_again")) else "no"
