"""What can be done at any prompt: help, stop, note, event, phone, fix, happened, running."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC
from typing import Any

from ebbwell.cli.walk.prompt import TURNS, Walk, in_a_row
from ebbwell.cli.walk.righting import ask_person, fix, names
from ebbwell.cli.words import findings_lines, wrap
from ebbwell.core.errors import EbbwellError, InputError
from ebbwell.core.text import has_text, say
from ebbwell.deeds import comeoff, night, orders, people, person, samples, setup, upkeep
from ebbwell.deeds.connect import already_running, connect
from ebbwell.deeds.open_calls import open_calls
from ebbwell.journal.kinds.bedside import SAMPLE_HOW, SAMPLE_WHEN, WHY_BY_HAND
from ebbwell.journal.kinds.night import SYMPTOMS
from ebbwell.journal.kinds.orders import OUTCOMES, UNANSWERED
from ebbwell.papers.first_actions import emergency_lines
from ebbwell.papers.words import day, item_words, line_value, step_words
from ebbwell.procedure.model import ITEMS, REOPENERS
from ebbwell.state.night import Phase, first_blood
from ebbwell.state.samples import samples as samples_of
from ebbwell.state.standing import people as people_of
from ebbwell.state.standing import said_no

HELP = (
    *TURNS,
    "stop",
    "not tonight",
    "feels",
    "my note",
    "by hand",
    "samples",
    "call",
    "note",
    "event",
    "phone",
    "fix",
    "names",
    "happened",
    "running",
    "connect",
    "off the machine",
    "call off",
    "hand over",
    "tonight",
    "everything",
    "leave",
)
"""Words in the order in which ``?`` lists them; each only where it works."""


BEFORE_BLOOD = ("connect", "call off", "running")
"""Words that do something only before blood has run."""


def help_now(walk: Walk) -> None:
    """Why this is asked, and how; then the words that work here."""
    if walk.about and has_text(walk.about):
        walk.session.print(*wrap(say(walk.about), first=f"{say('walk.why')} "))
    elif walk.view is not None:
        procedure = walk.desk().procedure
        for part in ("why", "how"):
            key = f"step.{walk.view.step.id}.{part}"
            if has_text(key) or key in procedure.words:
                walk.session.print(*wrap(procedure.say(key), first=f"{say(f'walk.{part}')} "))
    over = BEFORE_BLOOD if first_blood(walk.desk().treatment) is not None else ()
    for word in HELP:
        if word in walk.turns or (word in walk.words and word not in over) or word == "leave":
            key = f"word.{word.replace(' ', '_')}"
            walk.session.print(*wrap(say(key), first="  ", rest="      "))


def stop(walk: Walk) -> None:
    """Stop now: one action. The first words come before the writing, which may fail; then that it is recorded."""
    walk.session.print(*wrap(say("walk.stop_words"), first="## ", rest="## "))
    open_night = walk.desk().phase not in (Phase.NONE, Phase.CLOSED, Phase.CALLED_OFF)
    try:
        walk.house.do(night.stop_now, by=walk.by)
    except EbbwellError as why:
        walk.tell_error(why)
    else:
        kept = "walk.stop_kept" if open_night else "walk.stop_kept_alone"
        walk.session.print(*wrap(say(kept), first="## ", rest="## "))
    walk.coming_off = first_blood(walk.desk().treatment) is not None


def call(walk: Walk) -> None:
    """What is read out on the phone, as the household entered it."""
    for line in emergency_lines(walk.house.look().standing):
        walk.tell(line)


@in_a_row("walk.row.note")
def note(walk: Walk) -> None:
    """A note for the sheet."""
    words = walk.ask(say("walk.note"))
    if walk.do(night.note_event, what=say("walk.note_title"), words=words) is not None:
        walk.say("walk.kept")


@in_a_row("walk.row.by_hand")
def by_hand(walk: Walk) -> None:
    """Blood given back by hand; coming off follows."""
    why = walk.pick(say("walk.by_hand_why"), [(w, say(f"why_by_hand.{w}")) for w in WHY_BY_HAND])
    start = walk.time(say("walk.by_hand_start"))
    amount = walk.ask(say("walk.by_hand_amount"), empty=True)
    if walk.do(comeoff.blood_by_hand, why=why, started_at=start, amount=amount) is not None:
        walk.say("walk.by_hand_kept")
        walk.coming_off = True


@in_a_row("walk.row.sample_night")
def sample_night(walk: Walk) -> None:
    """Samples: mark what is due tonight, or that one of them was drawn."""
    left = [v for v in samples_of(walk.desk().treatment) if v.taken is None]
    options = [("due", say("walk.samples_due"))]
    for place, view in enumerate(left):
        when = say(f"sample_when.{view.when}")
        options.append((str(place), say("walk.sample_drawn", sample=view.sample, when=when)))
    chosen = walk.pick(say("walk.what_now"), options)
    if chosen == "due":
        when = walk.pick(say("walk.samples_when"), [(w, say(f"sample_when.{w}")) for w in SAMPLE_WHEN])
        names = tuple(walk.ask(say("walk.samples_which")).split(","))
        by = walk.ask(say("walk.samples_by"), empty=True)
        done = walk.do(samples.ask_for_samples, samples=names, when=when, ordered_by=by)
    else:
        view = left[int(chosen)]
        walk.say(f"sample.how.{view.when}")
        how = walk.pick(say("walk.sample_how"), [(h, say(f"sample_how.{h}")) for h in SAMPLE_HOW])
        label = walk.ask(say("walk.sample_label"), empty=True)
        due = view.due.id if view.due is not None else ""
        inputs: dict[str, Any] = {
            "sample": view.sample,
            "when": view.when,
            "of": due,
            "label": label,
            "how": how,
        }
        done = walk.do(samples.take_sample, at=walk.time(say("walk.when")), **inputs)
    if done is not None:
        walk.say("walk.kept")


def not_tonight(walk: Walk) -> None:
    """The person says: not tonight. One action, no reason."""
    if walk.do(person.not_tonight) is not None:
        walk.say("walk.not_tonight_kept")
    walk.coming_off = first_blood(walk.desk().treatment) is not None


def after_all(walk: Walk) -> None:
    """The person takes "not tonight" back, under their own name."""
    own = [(p, b.name) for p, b in people_of(walk.desk().standing).items() if "dialysis" in b.roles]
    who = walk.pick(say("walk.after_all_who"), own) if own else ""
    if walk.do(person.tonight_after_all, by=who) is not None:
        walk.say("walk.kept")


@in_a_row("walk.row.feels")
def feels(walk: Walk) -> None:
    """How the person feels, as they say it."""
    symptom = walk.pick(say("walk.symptom"), [(s, say(f"symptom.{s}")) for s in SYMPTOMS])
    words = walk.ask(say("walk.symptom_words"), empty=symptom != "other")
    if walk.do(person.say_symptom, symptom=symptom, words=words) is not None:
        walk.say("walk.kept")


@in_a_row("walk.row.annotate")
def annotate(walk: Walk) -> None:
    """A note on the sheet, by whoever is here."""
    if walk.do(person.annotate, words=walk.ask(say("walk.sheet_note"))) is not None:
        walk.say("walk.kept")


@in_a_row("walk.row.event")
def event(walk: Walk) -> None:
    """Something happened: what, what was done, when, who says so."""
    what = walk.ask(say("walk.event_what"))
    done = walk.ask(say("walk.event_done"), empty=True)
    said_by = "person" if walk.yes(say("walk.event_by_person")) else "carer"
    at = walk.time(say("walk.when"))
    if walk.do(night.note_event, what=what, done=done, said_by=said_by, at=at) is not None:
        walk.say("walk.kept")


@in_a_row("walk.row.phone")
def phone(walk: Walk) -> None:
    """A word from the unit: one changed line, advice, or the paper of a line that was taken by phone."""
    from ebbwell.cli.walk.prescribe import paper_came, phone_order

    order = walk.desk().scene.order
    options = [("line", say("walk.phone_line")), ("advice", say("walk.phone_advice"))]
    if order is not None and order.unconfirmed:
        options.append(("paper", say("walk.phone_paper")))
    chosen = walk.pick(say("walk.phone"), options)
    if chosen == "line":
        phone_order(walk)
    elif chosen == "paper":
        paper_came(walk)
    else:
        advice(walk)


def _earlier_night(walk: Walk) -> str:
    """The earlier night that the unit's words are about, where one has a call without an answer; "" for tonight."""
    calls = {call.treatment: call.night for call in open_calls(walk.desk()) if call.treatment}
    if not calls:
        return ""
    nights = [(treatment, say("walk.advice_night_of", day=day(on))) for treatment, on in calls.items()]
    picked = walk.pick(say("walk.advice_night"), [("tonight", say("walk.advice_tonight")), *nights])
    return "" if picked == "tonight" else picked


@in_a_row("walk.row.advice")
def advice(walk: Walk, about: str = "") -> None:
    """What came of the call: what the unit said, and the steps that it lets pass. about: the step, where it is known."""
    night = "" if about else _earlier_night(walk)
    outcomes = [(key, say(f"walk.advice_{key}")) for key in OUTCOMES]
    outcome = walk.pick(say("walk.advice_outcome"), outcomes)
    if outcome in UNANSWERED:
        who = walk.ask(say("walk.advice_called"), empty=True) if outcome == "no_answer" else ""
        words = walk.ask(say("walk.advice_own_words"), empty=True)
        said: dict[str, Any] = {"who": who, "words": words, "outcome": outcome}
        said |= {"treatment": night} if night else {"about": (about,) if about else ()}
        if walk.do(orders.advise, **said) is not None:
            walk.say("walk.kept_call_open")
        return
    if night:
        who, words = ask_person(walk, say("walk.advice_who")), walk.ask(say("walk.advice_words"))
        if walk.do(orders.advise, treatment=night, who=who, words=words) is not None:
            walk.say("walk.kept")
        return
    who = ask_person(walk, say("walk.advice_who"))
    words = walk.ask(say("walk.advice_words"))
    desk = walk.desk()
    steps = (about,) if about else ()
    barred = [v for v in desk.views.values() if v.unit_may]
    if barred and not about:
        options = [(v.step.id, step_words(desk.procedure, v.step.id)) for v in barred]
        chosen = walk.pick(say("walk.advice_about"), [*options, ("none", say("walk.advice_none"))])
        steps = () if chosen == "none" else (chosen,)
    allows = bool(steps) and walk.yes(say("walk.advice_allows"))
    if walk.do(orders.advise, who=who, words=words, about=steps, allows=allows) is not None:
        walk.say("walk.kept")


def running(walk: Walk) -> None:
    """Blood runs already: taken in at once, whatever is open."""
    typed = walk.take_running_at()
    at = None
    if typed:
        from zoneinfo import ZoneInfo

        from ebbwell.core.typed_times import past_time

        now = walk.desk().now
        try:
            at = past_time(typed, now.at, ZoneInfo(now.zone)).astimezone(UTC)
        except InputError as why:
            walk.tell_error(why)
    if walk.do(already_running, at=at) is not None:
        walk.say("walk.running_kept")


def connect_now(walk: Walk) -> None:
    """Try the gate to connecting."""
    if walk.do(connect) is not None:
        walk.say("walk.connected")


@in_a_row("walk.row.happened")
def happened(walk: Walk) -> None:
    """What opens checks again: water stopped, a new can, a recall, a cleaning."""
    keys = [r for r in REOPENERS if r.startswith("happened:")]
    options = [(key.partition(":")[2], say(f"reopens.{key}")) for key in keys]
    options += [("recalled", say("reopens.recalled")), ("cleaned", say("walk.cleaned"))]
    what = walk.pick(say("walk.happened"), options)
    if what == "recalled":
        item = walk.pick(say("walk.recall_item"), [(i, item_words(i)) for i in ITEMS])
        lot = walk.ask(say("walk.recall_lot"))
        done = walk.do(upkeep.recall_lot, item=item, lot=lot, told_by=walk.ask(say("walk.recall_by")))
    elif what == "cleaned":
        from ebbwell.cli.walk.give import give_disinfected

        give_disinfected(walk)
        return
    else:
        done = walk.do(setup.happened, what=what, words=walk.ask(say("walk.happened_words"), empty=True))
    if done is not None:
        walk.say("walk.happened_kept")


@in_a_row("walk.row.hand_over")
def hand_over(walk: Walk) -> None:
    """Offer the night to someone else in six lines; they accept it themselves."""
    desk = walk.desk()
    others = [
        (p, b.name) for p, b in people_of(desk.standing).items() if p != walk.by and "dialysis" not in b.roles
    ]
    if not others:
        walk.say("walk.hand_over_nobody")
        return
    to = walk.pick(say("walk.hand_over"), others)
    six = tuple(walk.ask(say(f"walk.six_{n}"), empty=True) for n in range(1, 7))
    done = walk.do(people.offer_hand_over, to_person=to, six_lines=six)
    if done is None:
        return
    if walk.yes(say("walk.hand_over_accept", person=walk.names()[to])):
        if walk.do(people.accept_hand_over, by=to, offer=done.entries[0]) is not None:
            walk.by = to
            walk.say("walk.hand_over_done", person=walk.names()[to])


def off_the_machine(walk: Walk) -> None:
    """Off the machine, whatever step is being asked about."""
    from ebbwell.cli.walk.give import come_off

    come_off(walk)


def show_tonight(walk: Walk) -> None:
    """Where things stand, in short."""
    from ebbwell.cli.tonight import tonight_lines

    walk.session.print(*tonight_lines(walk.desk(), whole=False))


def show_everything(walk: Walk) -> None:
    """Where things stand, with all that is open."""
    from ebbwell.cli.tonight import tonight_lines

    walk.session.print(*tonight_lines(walk.desk(), walk.session.command("night")))


def call_off(walk: Walk) -> None:
    """End a night on which nothing ran."""
    desk = walk.desk()
    no = said_no(desk.treatment, desk.standing, desk.now.at)
    words = walk.ask(say("walk.call_off_why")) if no is None else ""
    done = walk.do(comeoff.call_off, words=words)
    if done is not None:
        walk.session.print(*findings_lines(done.findings, walk.desk()))
        walk.say("walk.called_off")


def shown_line(line: str, value: str) -> str:
    """A line of the prescription as it is read out: its label, then its value with the unit."""
    return f"{say(f'line.{line}')}: {line_value(line, value)}"


WORDS: dict[str, Callable[[Walk], None]] = {
    "?": help_now,
    "help": help_now,
    "stop": stop,
    "stop now": stop,
    "by hand": by_hand,
    "samples": sample_night,
    "call": call,
    "not tonight": not_tonight,
    "tonight after all": after_all,
    "feels": feels,
    "my note": annotate,
    "note": note,
    "event": event,
    "phone": phone,
    "fix": fix,
    "names": names,
    "happened": happened,
    "running": running,
    "connect": connect_now,
    "hand over": hand_over,
    "tonight": show_tonight,
    "everything": show_everything,
    "call off": call_off,
    "off the machine": off_the_machine,
}
"""Word typed at any prompt to what it does."""
