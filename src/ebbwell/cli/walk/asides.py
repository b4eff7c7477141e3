"""What can be done at any prompt: help, stop, note, event, phone, fix, happened, running."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC

from ebbwell.cli.walk.prompt import Back, Walk
from ebbwell.cli.words import findings_lines, wrap
from ebbwell.core.errors import EbbwellError, InputError
from ebbwell.core.text import has_text, say
from ebbwell.deeds import comeoff, night, orders, people, person, record, samples, setup, upkeep
from ebbwell.deeds.connect import already_running, connect
from ebbwell.deeds.desk import Asked, Done
from ebbwell.journal.kinds.bedside import SAMPLE_HOW, SAMPLE_WHEN, WHY_BY_HAND
from ebbwell.journal.kinds.marks import Answer, Choice, LotUsed, Measured
from ebbwell.journal.kinds.night import SYMPTOMS, Reading
from ebbwell.papers.describe import describe
from ebbwell.papers.first_actions import emergency_lines
from ebbwell.papers.words import clock, item_words, line_value, option_words, step_words
from ebbwell.procedure.holds import Status
from ebbwell.procedure.model import ITEMS, REOPENERS
from ebbwell.rulebook.typed import say_question
from ebbwell.state.facts import Fact
from ebbwell.state.night import first_blood
from ebbwell.state.samples import samples as samples_of
from ebbwell.state.standing import people as people_of

SHOWN = 12
"""Entries that ``fix`` offers, newest first."""


def help_now(walk: Walk) -> None:
    """Why this step, and how; then the words that always work."""
    if walk.view is not None:
        procedure = walk.desk().procedure
        for part in ("why", "how"):
            key = f"step.{walk.view.step.id}.{part}"
            if has_text(key) or key in procedure.words:
                walk.session.print(*wrap(procedure.say(key), first=f"{say(f'walk.{part}')} "))
    for word in ("back", "later", "skip", "not_measured", "stop", "not_tonight", "feels", "annotate"):
        walk.session.print(*wrap(say(f"word.{word}"), first="  ", rest="      "))
    for word in ("by_hand", "samples", "call", "note", "event", "phone", "fix"):
        walk.session.print(*wrap(say(f"word.{word}"), first="  ", rest="      "))
    for word in ("happened", "running", "connect", "handover", "tonight", "leave"):
        walk.session.print(*wrap(say(f"word.{word}"), first="  ", rest="      "))


def stop(walk: Walk) -> None:
    """Stop now: one action. The first words come before the writing, which may fail; then that it is recorded."""
    walk.session.print(*wrap(say("walk.stop_words"), first="## ", rest="## "))
    try:
        walk.house.do(night.stop_now, by=walk.by)
    except EbbwellError as why:
        walk.tell_error(why)
    else:
        walk.session.print(*wrap(say("walk.stop_kept"), first="## ", rest="## "))
    walk.coming_off = first_blood(walk.desk().treatment) is not None


def call(walk: Walk) -> None:
    """What is read out on the phone, as the household entered it."""
    for line in emergency_lines(walk.house.look().standing):
        walk.tell(line)


def note(walk: Walk) -> None:
    """A note for the sheet."""
    words = walk.ask(say("walk.note"))
    if walk.do(night.note_event, what=say("walk.note_title"), words=words) is not None:
        walk.say("walk.kept")


def by_hand(walk: Walk) -> None:
    """Blood given back by hand; coming off follows."""
    why = walk.pick(say("walk.by_hand_why"), [(w, say(f"why_by_hand.{w}")) for w in WHY_BY_HAND])
    start = walk.time(say("walk.by_hand_start"))
    amount = walk.ask(say("walk.by_hand_amount"), empty=True)
    if walk.do(comeoff.blood_by_hand, why=why, started_at=start, amount=amount) is not None:
        walk.say("walk.by_hand_kept")
        walk.coming_off = True


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
        inputs = {"sample": view.sample, "when": view.when, "of": due, "label": label, "how": how}
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


def feels(walk: Walk) -> None:
    """How the person feels, as they say it."""
    symptom = walk.pick(say("walk.symptom"), [(s, say(f"symptom.{s}")) for s in SYMPTOMS])
    words = walk.ask(say("walk.symptom_words"), empty=symptom != "other")
    if walk.do(person.say_symptom, symptom=symptom, words=words) is not None:
        walk.say("walk.kept")


def annotate(walk: Walk) -> None:
    """A note on the sheet, by whoever is here."""
    if walk.do(person.annotate, words=walk.ask(say("walk.sheet_note"))) is not None:
        walk.say("walk.kept")


def event(walk: Walk) -> None:
    """Something happened: what, what was done, when, who says so."""
    what = walk.ask(say("walk.event_what"))
    done = walk.ask(say("walk.event_done"), empty=True)
    said_by = "person" if walk.yes(say("walk.event_by_person")) else "carer"
    at = walk.time(say("walk.when"))
    if walk.do(night.note_event, what=what, done=done, said_by=said_by, at=at) is not None:
        walk.say("walk.kept")


def phone(walk: Walk) -> None:
    """A word from the unit: one changed line, or advice."""
    options = (("line", say("walk.phone_line")), ("advice", say("walk.phone_advice")))
    if walk.pick(say("walk.phone"), options) == "line":
        from ebbwell.cli.walk.prescribe import phone_order

        phone_order(walk)
    else:
        advice(walk)


def advice(walk: Walk) -> None:
    """What the unit said, and the steps that it lets pass."""
    who = walk.ask(say("walk.advice_who"))
    words = walk.ask(say("walk.advice_words"))
    desk = walk.desk()
    about: tuple[str, ...] = ()
    barred = [v for v in desk.views.values() if v.status is Status.BARRED and v.step.advisable]
    if barred:
        options = [(v.step.id, step_words(desk.procedure, v.step.id)) for v in barred]
        chosen = walk.pick(say("walk.advice_about"), [*options, ("none", say("walk.advice_none"))])
        about = () if chosen == "none" else (chosen,)
    allows = bool(about) and walk.yes(say("walk.advice_allows"))
    if walk.do(orders.advise, who=who, words=words, about=about, allows=allows) is not None:
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


def fix(walk: Walk) -> None:
    """Put an earlier entry right, or take it back; settle two values that disagree."""
    desk = walk.desk()
    clash = next(iter(desk.treatment.disagreements().values()), None)
    if clash is not None:
        settle(walk, clash)
        return
    facts = [
        f
        for kind in (
            "measured",
            "answer",
            "choice",
            "lot_used",
            "reading",
            "event",
            "given",
            "tick",
            "skipped",
        )
        for f in desk.treatment.of(kind)
    ]
    newest = sorted(facts, key=lambda f: f.id, reverse=True)[:SHOWN]
    if not newest:
        walk.say("walk.fix_nothing")
        return
    names = walk.names()
    options = [(f.id, f"{clock(f.at, desk.now.zone)} {describe(f.body, names)}") for f in newest]
    chosen = walk.pick(say("walk.fix_which"), options)
    fact = next(f for f in newest if f.id == chosen)
    changes = _changes(walk, fact)
    reason = walk.ask(say("walk.fix_reason"))
    if changes is None:
        done = walk.do(record.withdraw, of=fact.id, reason=reason)
    else:
        field, value = changes
        done = _correct(walk, fact, field, value, reason)
    if done is not None:
        walk.say("walk.fixed")


def _correct(walk: Walk, fact: Fact, field: str, value: str, reason: str) -> Done | None:
    sure: tuple[str, ...] = ()
    while True:
        try:
            return walk.do(record.correct, of=fact.id, changes={field: value}, reason=reason, sure=sure)
        except Asked as asked:
            again = walk.ask(f"{say_question(asked.questions[0])}\n{say('walk.type_again')}")
            if again == value:
                sure = (*sure, asked.questions[0].key)
            else:
                value, sure = again, ()


def _changes(walk: Walk, fact: Fact) -> tuple[str, str] | None:
    """Field and new value; None to take the entry back."""
    body = fact.body
    step = next((s for s in walk.desk().procedure.steps if s.id == getattr(body, "step", "")), None)
    ways = [("back", say("walk.fix_take_back"))]
    if isinstance(body, Measured | Reading | Answer | Choice | LotUsed):
        ways.insert(0, ("value", say("walk.fix_value")))
    if walk.pick(say("walk.fix_how"), ways) == "back":
        return None
    if isinstance(body, Measured):
        return "value", walk.ask(say("walk.fix_new"))
    if isinstance(body, Reading):
        options = [(q, f"{say(f'quantity.{q}')} {v}") for q, v in body.values.items()]
        quantity = walk.pick(say("walk.fix_field"), options)
        return f"values.{quantity}", walk.ask(say("walk.fix_new"))
    if isinstance(body, LotUsed):
        fields = [(f, say(f"walk.lot_{f}")) for f in ("code", "lot", "expiry")]
        name = walk.pick(say("walk.fix_field"), fields)
        return name, walk.ask(say("walk.fix_new"))
    if isinstance(body, Answer):
        words = step.options.get(body.question, ("yes", "no")) if step is not None else ("yes", "no")
        return "answer", walk.pick(say("walk.fix_new"), [(w, option_words(body.question, w)) for w in words])
    if isinstance(body, Choice) and step is not None:
        words = step.options.get(body.name, ())
        return "option", walk.pick(say("walk.fix_new"), [(w, option_words(body.name, w)) for w in words])
    raise Back


def settle(walk: Walk, facts: tuple[Fact, ...]) -> None:
    """Two values stand for one thing: say which one holds, and why."""
    names = walk.names()
    zone = walk.desk().now.zone
    options = [
        (f.id, f"{clock(f.at, zone)} {names.get(f.by, f.by)}: {describe(f.body, names)}") for f in facts
    ]
    holds = walk.pick(say("walk.settle"), options)
    reason = walk.ask(say("walk.fix_reason"))
    if walk.do(record.settle, of=tuple(f.id for f in facts), holds=holds, reason=reason) is not None:
        walk.say("walk.kept")


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
    """Where things stand."""
    from ebbwell.cli.tonight import tonight_lines

    walk.session.print(*tonight_lines(walk.desk()))


def call_off(walk: Walk) -> None:
    """End a night on which nothing ran."""
    done = walk.do(comeoff.call_off, words=walk.ask(say("walk.call_off_why")))
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
    "happened": happened,
    "running": running,
    "connect": connect_now,
    "hand over": hand_over,
    "tonight": show_tonight,
    "call off": call_off,
    "off the machine": off_the_machine,
}
"""Word typed at any prompt to what it does."""
