"""One question for each form of evidence, and the deed that keeps its answer."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, timedelta
from typing import Any

from ebbwell.cli.walk.planning import WITH_UNIT, give_plan
from ebbwell.cli.walk.prompt import Again, Back, NotMeasured, Walk, in_a_row
from ebbwell.cli.walk.reading import PRESSURES, echo, field_label, read_row, word_question
from ebbwell.cli.words import findings_lines, wrap
from ebbwell.core.clock import zone_info
from ebbwell.core.errors import EbbwellError, InputError
from ebbwell.core.numbers import parse_decimal
from ebbwell.core.text import say
from ebbwell.core.typed_times import label_date
from ebbwell.deeds import comeoff, night, orders, setup, upkeep
from ebbwell.deeds.connect import connect
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.kit import last_lot
from ebbwell.journal.kinds.marks import CONTROLS, LotUsed
from ebbwell.journal.kinds.orders import LineAmended
from ebbwell.papers.standing_now import findings
from ebbwell.papers.words import clock, day, given_words, item_words, option_words
from ebbwell.procedure.evidence import SETTING
from ebbwell.procedure.holds import StepView
from ebbwell.procedure.model import Evidence
from ebbwell.rulebook.own_units import typed_unit
from ebbwell.rulebook.typed import read_quantity
from ebbwell.state.chlorine_test import needs_control
from ebbwell.state.night_thinner import FIRST_DOSE, READY_DOSE
from ebbwell.state.standing import Order

BLOOD = ("all", "part", "none")
UNITS = ("mL", "L", "units", "mg", "g", "pieces")

EMERGENCY = "next.emergency_number"
"""The next step of a finding after which nothing else is asked."""


def give(walk: Walk, view: StepView, evidence: Evidence) -> bool:
    """Ask for one piece of evidence and keep it. Whether it was kept."""
    return GIVERS[evidence.form](walk, view, evidence)


def _seen(desk: Desk, *slot: str) -> tuple[str, ...]:
    return tuple(fact.id for fact in desk.treatment.at_slot(*slot))


def _options(view: StepView, name: str) -> list[tuple[str, str]]:
    return [(word, option_words(name, word)) for word in view.step.options.get(name, ())]


def _answer(walk: Walk, view: StepView, evidence: Evidence) -> bool:
    name = evidence.name
    chosen = walk.pick(say(f"ask.{name}"), _options(view, name))
    seen = _seen(walk.desk(), "answer", name)
    if walk.do(setup.answer, question=name, answer=chosen, step=view.step.id, instead_of=seen) is None:
        return False
    desk = walk.desk()
    said = [f for f in findings(desk) if f.fact == f"answer@{name}"]
    if any(f.next_step == EMERGENCY for f in said):
        raise Again
    walk.session.print(*findings_lines(said, desk))
    return True


def _choice(walk: Walk, view: StepView, evidence: Evidence) -> bool:
    name = evidence.name
    chosen = walk.pick(say(f"choice.{name}"), _options(view, name))
    seen = _seen(walk.desk(), "choice", view.step.id, name)
    return walk.do(setup.choose, step=view.step.id, name=name, option=chosen, instead_of=seen) is not None


@in_a_row("walk.row.measured")
def _measured(walk: Walk, view: StepView, evidence: Evidence) -> bool:
    desk = walk.desk()
    quantity, place = evidence.name, evidence.place
    inputs: dict[str, Any] = {
        "quantity": quantity,
        "place": place,
        "instead_of": _seen(desk, "measured", quantity, place),
    }
    words = desk.rulebook.quantity(quantity).words
    try:
        if words:
            options = [(w, option_words(quantity, w)) for w in words]
            typed = walk.pick(word_question(quantity, place), options)
        else:
            typed = walk.ask(field_label(desk, quantity, place))
            pair = PRESSURES.fullmatch(typed)
            if quantity == "systolic" and pair is not None:
                walk.say("walk.one_at_a_time", upper=pair[1], lower=pair[2])
                return False
        inputs |= _how_measured(walk, quantity)
        inputs |= _control(walk, quantity, place, typed)
    except NotMeasured:
        reason = walk.ask(say("walk.why_not_measured"))
        return walk.do(setup.measure, not_measured=reason, **inputs) is not None
    if not words:
        try:
            echo(walk, quantity, typed)
        except EbbwellError as why:
            walk.tell_error(why)
            return False
    return walk.do_typed(setup.measure, {**inputs, "typed": typed}, typed="typed") is not None


def _how_measured(walk: Walk, quantity: str) -> dict[str, Any]:
    """The method, where the limit depends on it; the lot of tonight's test with it."""
    if quantity != "total_chlorine":
        return {}
    desk = walk.desk()
    words = next((f.words for f in desk.rulebook.facts() if f.id == "total_chlorine_method"), ())
    method = walk.pick(say("walk.method"), [(w, say(f"method.{w}")) for w in words])
    tests = [f.body for f in desk.treatment.of("lot_used") if isinstance(f.body, LotUsed)]
    lots = [b.lot for b in tests if b.item == "chlorine_test"]
    return {"method": method, "lot": lots[-1] if lots else ""}


def _control(walk: Walk, quantity: str, place: str, typed: str) -> dict[str, Any]:
    """What the reagent did in water from before the carbon, where the test showed no colour."""
    try:
        value, below, _ = read_quantity(walk.desk().rulebook, quantity, typed, None)
    except EbbwellError:
        return {}  # the deed says what is wrong with it
    if not needs_control(quantity, place, value, below=below):
        return {}
    return {"control": walk.pick(say("walk.control"), [(w, say(f"control.{w}")) for w in CONTROLS])}


def _setting(walk: Walk, view: StepView, evidence: Evidence) -> bool:
    desk = walk.desk()
    line = evidence.name
    known = {each.id: each for each in desk.rulebook.lines()}
    unit = typed_unit(desk.rulebook, known[line] if line in known else desk.rulebook.quantity(line))
    typed = walk.ask(say("walk.setting", what=say(f"setting.{line}"), unit=unit))
    seen = _seen(desk, "measured", line, SETTING)
    return walk.do(setup.set_machine, line=line, typed=typed, instead_of=seen) is not None


def _lot(walk: Walk, view: StepView, evidence: Evidence) -> bool:
    return give_pack(walk, evidence.name)


@in_a_row("walk.row.pack")
def give_pack(walk: Walk, item: str, *, new_set: str = "") -> bool:
    """A pack that is opened, as its label reads. Whether it can be used; one that can't is kept, and another asked for.

    new_set: id of the change of set that it was opened for.
    """
    walk.say("walk.lot", item=item_words(item))
    last = last_lot(walk.desk(), item)
    last = last if last is not None and last.night else None
    if last is not None:
        walk.say("walk.lot_last", code=last.code, lot=last.lot, expiry=last.expiry)
    label: dict[str, Any] = {}
    names = ("code", "lot", "expiry", "intact")
    place, same = 0, False
    while place < len(names):
        try:
            label[names[place]] = _of_label(walk, names[place])
        except Back:
            if place == 0:
                raise
            place = 0 if same else place - 1
            continue
        if place == 0:
            same = last is not None and str(label["code"]).casefold() == say("walk.lot_same")
        if last is not None and same and place == 0:
            label.update(code=last.code, lot=last.lot, expiry=last.expiry)
            place = names.index("expiry")
        place += 1
    held = tuple(
        f.id
        for f in walk.desk().treatment.of("lot_used")
        if isinstance(f.body, LotUsed) and f.body.item == item and f.body.new_set == new_set
    )
    done = walk.do(setup.use_lot, item=item, instead_of=held, new_set=new_set, **label)
    return done is not None and not any(f.rule == "pack_not_for_tonight" for f in done.findings)


def _of_label(walk: Walk, name: str) -> str | bool:
    if name == "intact":
        return walk.yes(say("walk.lot_intact_ask"))
    if name == "expiry":
        return read_date(walk, say("walk.lot_expiry_ask"))
    return walk.ask(say(f"walk.lot_{name}_ask"), empty=name == "lot")


def read_date(walk: Walk, question: str) -> str:
    """A date as on a label: year and month, or the day too; an empty line is "can't be read"."""
    while True:
        typed = walk.ask(question, empty=True)
        if not typed:
            return ""
        try:
            return label_date(typed)
        except InputError as why:
            walk.tell_error(why)


def _tick(walk: Walk, view: StepView, evidence: Evidence) -> bool:
    walk.pick(say("walk.tick"), (("done", say("walk.done")),))
    return walk.do(setup.tick, step=view.step.id) is not None


def _wait(walk: Walk, view: StepView, evidence: Evidence) -> bool:
    options = (("start", say("walk.started")), ("earlier", say("walk.started_earlier")))
    at = walk.time(say("walk.started_at")) if walk.pick(say("walk.start"), options) == "earlier" else None
    return walk.do(setup.start_wait, step=view.step.id, at=at) is not None


def _readback(walk: Walk, view: StepView, evidence: Evidence) -> bool:
    from ebbwell.cli.walk.asides import shown_line

    desk = walk.desk()
    order = desk.scene.order
    if order is not None:
        for line, value in order.lines.items():
            walk.session.print(*wrap(shown_line(line, value), first="  "))
            if line in order.unconfirmed or line in order.alone:
                walk.session.print(*wrap(_by_phone(walk, order, line), first="  | ", rest="  | "))
    number = walk.ask(say("walk.paper_number"))
    return walk.do(orders.read_back, version_read=number) is not None


def _by_phone(walk: Walk, order: Order, line: str) -> str:
    """That a line was taken by phone: from whom, when, and that its paper is still to come."""
    desk = walk.desk()
    fact = desk.standing.fact(order.from_entry[line])
    if fact is None or not isinstance(fact.body, LineAmended):
        raise TypeError(f"not an amended line: {line}")
    zone = desk.now.zone
    on = day(fact.at.astimezone(zone_info(zone)).date().isoformat())
    key = "walk.alone_from" if line in order.alone else "walk.by_phone_from"
    return say(key, giver=fact.body.giver, day=on, at=clock(fact.at, zone))


def _plan(walk: Walk, view: StepView, evidence: Evidence) -> bool:
    return give_plan(walk)


def _given(walk: Walk, view: StepView, evidence: Evidence) -> bool:
    if evidence.name in (FIRST_DOSE, READY_DOSE):
        return _dose(walk, evidence.name)
    return give_amount(walk, evidence.name, {"rinse_back": "L"}.get(evidence.name, "mL"))


@in_a_row("walk.row.given")
def _dose(walk: Walk, what: str) -> bool:
    """A dose of heparin once it was given, and when; a ready dose with the unit of its label."""
    label = f"{given_words(what)[:1].upper()}{given_words(what)[1:]}"
    unit = "units" if what == FIRST_DOSE else ""
    typed = walk.ask(f"{label} [{unit}]" if unit else f"{label}. {say('web.marks.hint.low_molecular_dose')}")
    inputs = {"what": what, "typed": typed, "unit": unit, "at": walk.time(say("walk.when"))}
    return walk.do_typed(night.give, inputs, typed="typed") is not None


def give_amount(walk: Walk, what: str, unit: str = "") -> bool:
    """Something that went in: how much. unit: the one it is asked in; "" where it is typed with the amount."""
    label = f"{given_words(what)[:1].upper()}{given_words(what)[1:]}"
    if unit:
        typed = walk.ask(f"{label} [{unit}]")
    else:
        typed, unit = ask_amount(walk, label)
    return walk.do_typed(night.give, {"what": what, "typed": typed, "unit": unit}, typed="typed") is not None


def ask_amount(walk: Walk, what: str) -> tuple[str, str]:
    """An amount with its unit, typed together, or the unit picked after it."""
    typed = walk.ask(say("walk.how_much", what=what))
    found = WITH_UNIT.fullmatch(typed)
    if found is not None:
        return found[1], found[2]
    return typed, walk.pick(say("walk.given_unit", amount=typed, what=what), [(unit, unit) for unit in UNITS])


def _reading(walk: Walk, view: StepView, evidence: Evidence) -> bool:
    return read_row(walk, evidence.name)


def _connected(walk: Walk, view: StepView, evidence: Evidence) -> bool:
    options = (("connected", say("walk.blood_in_line")), ("earlier", say("walk.started_earlier")))
    earlier = walk.pick(say("walk.connect"), options) == "earlier"
    if walk.do(connect, at=walk.time(say("walk.first_blood_at")) if earlier else None) is None:
        return False
    walk.say("walk.connected")
    return True


def _came_off(walk: Walk, view: StepView, evidence: Evidence) -> bool:
    return come_off(walk)


@in_a_row("walk.row.come_off")
def come_off(walk: Walk) -> bool:
    """Off the machine: when the pump stopped, and whether the blood went back."""
    at = walk.time(say("walk.pump_stopped"))
    blood = walk.pick(say("walk.blood_back"), [(b, say(f"blood.{b}")) for b in BLOOD])
    times = {"pump_stopped": at.astimezone(UTC)} if at is not None else {}
    if walk.do(comeoff.come_off, times=times, blood_returned=blood) is None:
        return False
    if blood != "all":
        walk.session.print(*wrap(say("walk.blood_kept_out"), first="## ", rest="## "))
    walk.coming_off = True
    return True


def _disinfected(walk: Walk, view: StepView, evidence: Evidence) -> bool:
    return give_disinfected(walk)


@in_a_row("walk.row.cleaned")
def give_disinfected(walk: Walk) -> bool:
    """A cleaning that was done: with what, from when to when."""
    agent = walk.pick(say("walk.agent"), [(a, say(f"agent.{a}")) for a in upkeep.AGENTS])
    now = walk.desk().now
    ended = walk.time(say("walk.clean_ended")) or now.at
    while True:
        typed = walk.ask(say("walk.clean_minutes"))
        try:
            length = parse_decimal(typed)
        except InputError as why:
            walk.tell_error(why)
            continue
        break
    started = ended - timedelta(minutes=float(length))
    inputs: dict[str, Any] = {
        "what": say("walk.machine"),
        "agent": agent,
        "started_at": started,
        "ended_at": ended,
    }
    if walk.do(upkeep.disinfect, **inputs) is None:
        return False
    walk.say("walk.clean_kept", start=clock(started, now.zone), end=clock(ended, now.zone))
    return True


GIVERS: dict[str, Callable[[Walk, StepView, Evidence], bool]] = {
    "answer": _answer,
    "choice": _choice,
    "measured": _measured,
    "setting": _setting,
    "lot": _lot,
    "tick": _tick,
    "wait": _wait,
    "readback": _readback,
    "plan": _plan,
    "given": _given,
    "reading": _reading,
    "connected": _connected,
    "came_off": _came_off,
    "disinfected": _disinfected,
}
"""Form of evidence to the question that gives it."""
