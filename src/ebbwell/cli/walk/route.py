"""The way through the night: what is asked in each phase, until the sheet is closed."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any

from ebbwell.cli.walk.asides import advice, after_all, call, call_off
from ebbwell.cli.walk.give import EMERGENCY, ask_amount, come_off, give_amount, give_pack
from ebbwell.cli.walk.prescribe import Draft, check_waiting, transcribe
from ebbwell.cli.walk.prompt import Again, Back, Later, Leave, NotMeasured, Skip, Walk, in_a_row
from ebbwell.cli.walk.reading import read_row
from ebbwell.cli.walk.steps import retest_waits, show_heparin, take_step
from ebbwell.cli.words import WIDTH, wrap
from ebbwell.core.findings import Finding, say_finding
from ebbwell.core.text import say
from ebbwell.deeds import comeoff, night, people, record, setup
from ebbwell.deeds.again import check_again, checks_again
from ebbwell.deeds.coming_up import next_view, next_wait
from ebbwell.deeds.desk import Asked, Desk
from ebbwell.deeds.medicines import ordered_medicines
from ebbwell.deeds.plan import advised
from ebbwell.deeds.readings_due import nearest_reading
from ebbwell.journal.kinds.night import BLOOD, BLOOD_WHILE_OFF, WHY_NEW_SET
from ebbwell.papers.spoken import bar_words, plain_words
from ebbwell.papers.standing_now import findings
from ebbwell.papers.words import clock, item_words, line_words, step_words
from ebbwell.procedure.holds import Status, StepView
from ebbwell.state.night import ON_MACHINE, Phase, first_blood

ENDED = (Phase.NONE, Phase.CLOSED, Phase.CALLED_OFF)


def walk_on(walk: Walk, draft: Draft) -> None:
    """From wherever the night stands to the closed sheet; ends after closing or calling off."""
    began = walk.desk().phase not in ENDED
    if began:
        walk.say("walk.resumed", phase=plain_words(f"phase.{walk.desk().phase.value}"))
        walk.coming_off = _off_begun(walk.desk())
    while True:
        desk = walk.desk()
        if desk.phase in ENDED and began:
            show_sheet(walk)
            return
        try:
            if desk.phase in ENDED:
                began = _before(walk, draft, desk)
            else:
                _go(walk, desk)
        except Again:
            continue
        except Back:
            walk.say("walk.no_back")
        except (Later, Skip):
            walk.say("walk.back_to_question")
        except NotMeasured:
            walk.say("walk.no_measure_here")


def _off_begun(desk: Desk) -> bool:
    return any(v.by for v in desk.views.values() if v.step.stage == "come_off")


def _before(walk: Walk, draft: Draft, desk: Desk) -> bool:
    """Before a night is open: a prescription in force first. Whether a night was opened."""
    held = desk.standing.of("prescription")
    if not held:
        _steady(walk, lambda: transcribe(walk, draft))
        return False
    if desk.scene.order is None or desk.scene.order.waiting:
        _steady(walk, lambda: check_waiting(walk))
        return False
    options = (("begin", say("walk.begin")), ("order", say("walk.newer_order")))
    if walk.pick(say("walk.what_now"), options, fresh=True) == "order":
        _steady(walk, lambda: transcribe(walk, draft))
        return False
    return _open(walk)


def _open(walk: Walk) -> bool:
    """Open a night; another one after a night that was run lately is asked about once."""
    try:
        return walk.do(setup.open_night) is not None
    except Asked as asked:
        options = [("no", say("walk.open_no")), ("yes", say("web.tonight.go.another"))]
        sure = walk.sure(asked, options)
        if not sure:
            raise Leave from None
        return walk.do(setup.open_night, sure=sure) is not None


def _steady(walk: Walk, act: Callable[[], bool]) -> None:
    """A long row of questions, not broken off by a word that changes the night."""
    walk.steady, walk.turns = True, ("back",)
    try:
        act()
    finally:
        walk.steady, walk.turns = False, ()


def _go(walk: Walk, desk: Desk) -> None:
    holder = desk.scene.holder
    if holder is not None and holder[0] != desk.writer and first_blood(desk.treatment) is None:
        _take_over(walk)
    elif desk.phase is Phase.SETTING_UP:
        _set_up(walk, desk)
    elif desk.phase is Phase.STOPPING and first_blood(desk.treatment) is None:
        _stopped_before(walk)
    elif desk.phase in ON_MACHINE and not walk.coming_off:
        _night(walk, desk)
    elif desk.phase is Phase.SAFE:
        _after(walk, desk)
    else:
        _coming_off(walk, desk)


def _take_over(walk: Walk) -> None:
    walk.say("walk.held_elsewhere")
    walk.do(people.take_over_here, words=walk.ask(say("walk.take_over_why")))


def _set_up(walk: Walk, desk: Desk) -> None:
    if desk.scene.order is None or desk.scene.order.waiting:
        _steady(walk, lambda: check_waiting(walk))
        return
    urgent = _urgent(desk)
    if urgent:
        _emergency(walk, desk, urgent)
        return
    view = next_view(desk, later=walk.later)
    if view is not None and view.step.id in walk.later and view.status is Status.BARRED:
        if view.until is not None and retest_waits(view, desk.now.at):
            _nothing_until(walk, view.until, view)
            return
    if view is not None:
        take_step(walk, view)
        return
    if not desk.bars:
        take_step(walk, desk.views[desk.procedure.connect_id])
        return
    if not _wait(walk, desk):
        for bar in desk.bars:
            walk.session.print(*wrap(bar_words(bar, desk), first="  - "))
        walk.ask(say("walk.bars_left"), empty=True)


def _urgent(desk: Desk) -> list[Finding]:
    """What asks for the emergency number, unless the unit's words about its step allow to go on."""
    found = []
    for finding in findings(desk):
        question = finding.fact.partition("@")[2]
        asked_by = [s.id for s in desk.procedure.steps if any(e.name == question for e in s.evidence)]
        if finding.next_step == EMERGENCY and not any(advised(desk, step) for step in asked_by):
            found.append(finding)
    return found


def _emergency(walk: Walk, desk: Desk, urgent: list[Finding]) -> None:
    """The call first; nothing goes on by itself. Going on needs words: of whoever was called, or why it was no yes."""
    bar = "#" * WIDTH
    for finding in urgent:
        text = f"{say(finding.next_step)} {say_finding(finding)}"
        walk.session.print("", bar, *wrap(text, first="## ", rest="## "), bar)
    call(walk)
    options = [(key, say(f"walk.urgent_{key}")) for key in ("call_off", "said", "mistake")]
    chosen = walk.pick(say("walk.urgent"), options, fresh=True)
    question = urgent[0].fact.partition("@")[2]
    if chosen == "call_off":
        call_off(walk)
    elif chosen == "said":
        step = next(s.id for s in desk.procedure.steps if any(e.name == question for e in s.evidence))
        advice(walk, about=step)
    else:
        reason = walk.ask(say("walk.urgent_mistake_why"))
        for fact in desk.treatment.at_slot("answer", question):
            walk.do(record.correct, of=fact.id, changes={"answer": "no"}, reason=reason)


def _wait(walk: Walk, desk: Desk) -> bool:
    found = next_wait(desk)
    if found is None:
        return False
    _nothing_until(walk, *found)
    return True


def _nothing_until(walk: Walk, until: datetime, view: StepView) -> None:
    desk = walk.desk()
    step = step_words(desk.procedure, view.step.id)
    walk.ask(say("walk.nothing_until", until=clock(until, desk.now.zone), step=step), empty=True)


def _stopped_before(walk: Walk) -> None:
    options = [("call_off", say("walk.call_off")), ("running", say("walk.it_runs"))]
    if walk.desk().treatment.of("stop"):
        options.append(("mistake", say("walk.stop_mistake")))
    if walk.desk().treatment.of("not_tonight"):
        options.append(("after_all", say("walk.after_all")))
    chosen = walk.pick(say("walk.stopped_before"), options, fresh=True)
    if chosen == "call_off":
        call_off(walk)
    elif chosen == "after_all":
        after_all(walk)
    elif chosen == "mistake":
        reason = walk.ask(say("walk.stop_mistake_why"))
        for fact in walk.desk().treatment.of("stop"):
            walk.do(record.withdraw, of=fact.id, reason=reason)
    else:
        walk.words["running"](walk)


def _night(walk: Walk, desk: Desk) -> None:
    view = next_view(desk, later=walk.later)
    options: list[tuple[str, str]] = []
    if view is not None:
        options.append(("next", step_words(desk.procedure, view.step.id)))
    if desk.phase is Phase.PAUSED:
        options.append(("on", say("walk.on")))
    options += [(key, say(f"walk.{key}")) for key in ("reading", "given", "medicine")]
    if desk.phase is Phase.RUNNING:
        options.append(("off", say("walk.off")))
    options += [(key, say(f"walk.{key}")) for key in ("new_set", "come_off")]
    show_heparin(walk, desk)
    chosen = walk.pick(say(f"walk.night_{desk.phase.value}"), options, fresh=True)
    if chosen == "next" and view is not None:
        take_step(walk, view)
    elif chosen == "come_off":
        walk.coming_off = True
    else:
        _deed(walk, chosen)


def _safe(walk: Walk) -> None:
    """Mark the person as safe; what isn't written down is asked about once."""
    try:
        done = walk.do(comeoff.person_safe)
    except Asked as asked:
        sure = walk.sure(asked, [("yes", say("walk.safe_yes")), ("no", say("walk.safe_no"))])
        done = walk.do(comeoff.person_safe, sure=sure) if sure else None
    if done is not None:
        walk.tell_command("walk.close_later", "night")


def _deed(walk: Walk, chosen: str) -> None:
    if chosen == "reading":
        desk = walk.desk()
        read_row(walk, nearest_reading(desk, desk.now.at))
    elif chosen == "given":
        give_something(walk)
    elif chosen == "medicine":
        give_medicine(walk)
    elif chosen == "off":
        off_for_a_while(walk)
    elif chosen == "on":
        look_again(walk, "on_again")
        walk.do(night.go_on)
    elif chosen == "new_set":
        new_set(walk)


@in_a_row("walk.row.off")
def off_for_a_while(walk: Walk) -> None:
    """Off, to come on again with the same set: why, and where the blood is."""
    words = walk.ask(say("walk.why_off"), empty=True)
    where = [(b, say(f"said.off_{b}")) for b in BLOOD_WHILE_OFF]
    walk.do(night.go_off, words=words, blood=walk.pick(say("walk.blood_while_off"), where))


def look_again(walk: Walk, aside: str) -> None:
    """The checks made again, one after the other; ``later`` leaves the rest open, which is told and kept."""
    try:
        for view in checks_again(walk.desk(), aside):
            if view.wanted:
                continue
            options = [(o, say(f"again.option.{o}")) for o in view.check.options]
            seen = walk.pick(say("walk.look_again", check=say(f"again.{view.check.id}")), options)
            walk.do(check_again, aside=aside, check=view.check.id, option=seen)
    except (Later, Skip, NotMeasured):
        walk.say("walk.again_left")


@in_a_row("walk.row.new_set")
def new_set(walk: Walk) -> None:
    """A new set in mid-night: why, the old one's blood, the new packs, and what is looked at again."""
    why = walk.pick(say("walk.why_new_set"), [(w, say(f"why_new_set.{w}")) for w in WHY_NEW_SET])
    back = walk.pick(say("walk.old_set_blood"), [(b, say(f"blood.{b}")) for b in BLOOD])
    words = walk.ask(say("walk.new_set_words"), empty=True)
    done = walk.do(night.change_set, why=why, blood_returned=back, words=words)
    if done is None:
        return
    walk.do(setup.happened, what="set_opened")
    try:
        for item in ("tubing", "dialyser", "saline"):
            if walk.yes(say("walk.new_pack", item=item_words(item))):
                give_pack(walk, item, new_set=done.entries[0])
    except (Later, Skip, NotMeasured):
        walk.say("walk.again_left")
    look_again(walk, "new_set")


@in_a_row("walk.row.given")
def give_something(walk: Walk) -> None:
    """Something that was given, such as a drink or saline: what, and how much."""
    if give_amount(walk, walk.ask(say("walk.given_what"))):
        walk.say("walk.kept")


@in_a_row("walk.row.medicine")
def give_medicine(walk: Walk) -> None:
    """A medicine given: what the order says of medicines is shown first, as it is written, and nothing is filled in."""
    for line, value in ordered_medicines(walk.desk()):
        walk.say("walk.medicine_order", line=line_words(line, value))
    what = walk.ask(say("walk.medicine_what"))
    typed, unit = ask_amount(walk, what)
    by = walk.ask(say("walk.medicine_by"), empty=True)
    at = walk.time(say("walk.when"))
    given: dict[str, Any] = {"what": what, "typed": typed, "unit": unit, "ordered_by": by, "at": at}
    if walk.do(night.give, medicine=True, **given) is not None:
        walk.say("walk.kept")


def _coming_off(walk: Walk, desk: Desk) -> None:
    """The steps of coming off in order; each can be put off. After ``stop`` off the machine is offered before them."""
    view = next_view(desk, coming_off=True, later=walk.later)
    if desk.phase is Phase.STOPPING and not walk.steps_first:
        first = (("machine", say("walk.off_machine")), ("steps", say("walk.off_steps")))
        if walk.pick(say("walk.what_now"), first, fresh=True) == "steps":
            walk.steps_first = True
        elif come_off(walk):
            walk.later += _before_off(desk)
        return
    if view is not None and view.step.id not in walk.later:
        take_step(walk, view)
        return
    options: list[tuple[str, str]] = []
    if desk.phase is not Phase.OFF:
        options.append(("machine", say("walk.off_machine")))
        if desk.phase is Phase.RUNNING:
            options.append(("night", say("walk.back_to_night")))
    if desk.phase is Phase.STOPPING:
        options.append(("runs_on", say("web.stop.runs_on")))
    if desk.phase is Phase.OFF:
        options.append(("safe", say("walk.safe")))
    if view is not None:
        options.append(("next", step_words(desk.procedure, view.step.id)))
    options += [(key, say(f"walk.{key}")) for key in ("reading", "given", "medicine")]
    chosen = walk.pick(say("walk.what_now"), options, fresh=True)
    if chosen == "machine":
        come_off(walk)
    elif chosen == "night":
        walk.coming_off = False
    elif chosen == "runs_on":
        walk.coming_off = walk.do(night.runs_on, words=say("web.stop.runs_on_words")) is None
    elif chosen == "safe":
        _safe(walk)
    elif chosen == "next" and view is not None:
        take_step(walk, view)
    else:
        _deed(walk, chosen)


def _before_off(desk: Desk) -> list[str]:
    """Steps of coming off that come before off: when that is done already, they are asked after the others."""
    steps = [step for step in desk.procedure.steps if step.stage == "come_off"]
    off = next((n for n, step in enumerate(steps) if any(e.form == "came_off" for e in step.evidence)), 0)
    return [step.id for step in steps[:off]]


def _after(walk: Walk, desk: Desk) -> None:
    view = next_view(desk, later=walk.later)
    if view is not None and view.step.id not in walk.later:
        take_step(walk, view)
        return
    close_sheet(walk, desk)


def _left(desk: Desk) -> list[StepView]:
    return [v for v in desk.views.values() if v.step.gate == "close" and not v.passed]


def close_sheet(walk: Walk, desk: Desk) -> None:
    """Close the sheet; each step still open is done now or gets a reason."""
    left = _left(desk)
    options = [("close", say("walk.close"))]
    if left:
        walk.say("walk.close_open", count=len(left))
        options.append(("next", step_words(desk.procedure, left[0].step.id)))
    if walk.pick(say("walk.what_now"), options, fresh=True) == "next":
        walk.later = [i for i in walk.later if i != left[0].step.id]
        take_step(walk, left[0])
        return
    _close(walk, desk, left)


@in_a_row("walk.row.close")
def _close(walk: Walk, desk: Desk, left: list[StepView]) -> None:
    because = {}
    for view in left:
        words = step_words(desk.procedure, view.step.id)
        because[view.step.id] = walk.ask(say("walk.close_because", step=words))
    walk.do(comeoff.close, because=because, words=walk.ask(say("walk.close_words"), empty=True))


def show_sheet(walk: Walk) -> None:
    """The closed sheet."""
    from ebbwell.papers.sheet import build_sheet
    from ebbwell.papers.sheet_text import sheet_text

    newest = max(walk.desk().past.values(), key=lambda s: s.opened_at)
    sheet = build_sheet(walk.house.look(treatment=newest.treatment), walk.house.store.heads())
    walk.session.print("", *sheet_text(sheet).rstrip("\n").split("\n"))
    walk.tell_command("walk.sheet_where", "sheet")
