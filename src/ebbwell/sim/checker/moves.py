"""Everything the checker tries, from any state: the right thing, the wrong thing, undoing, merging, time, power."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from typing import Any

from ebbwell.deeds import comeoff, night, orders, people, person, record, setup, upkeep
from ebbwell.deeds.connect import already_running, connect
from ebbwell.journal.kinds.house import HandedOver
from ebbwell.journal.kinds.marks import Answer, Choice, Happened, Measured, Skipped, Tick
from ebbwell.procedure.evidence import find
from ebbwell.procedure.model import Evidence, Procedure, Step
from ebbwell.rulebook.load import load_rulebook
from ebbwell.sim import hands
from ebbwell.sim.checker.twice import do, second, until_it_fits
from ebbwell.sim.checker.world import World
from ebbwell.sim.household import BRAM, ILKA, OTHER_TESTS, PRESCRIPTION, TOVE, UNIT, USUAL, on_paper

WRONG = {
    "total_chlorine@tank1": "0.13",
    "total_chlorine@tank2": "0.13",
    "feed_conductivity": "80",
    "product_conductivity": "200",
    "residual_disinfectant": "positive",
    "acid_left": "1.0",
    "bag_fluid": "20",
    "bicarbonate_powder": "100",
    "bicarbonate_liquid": "1.0",
    "heparin_strength": "5000",
    "fluid_conductivity@machine": "16.5",
    "fluid_conductivity@meter": "16.4",
    "fluid_temperature": "39.0",
    "fluid_ph": "5.5",
    "body_temperature": "38.4",
    "weight_before": "67.1",
    "systolic": "140",
    "diastolic": "70",
    "pulse": "80",
    "needle_tries@arterial": "4",
    "needle_tries@venous": "4",
    "prime_volume": "700",
}
"""A value that mustn't pass, or a different one where any passes."""

HAPPENINGS = (
    "water_restart",
    "carbon_changed",
    "concentrate_changed",
    "dialyser_changed",
    "set_opened",
    "machine_restart",
)
STEPS_BACK = (timedelta(hours=-3), timedelta(hours=3))
PASSES = (
    timedelta(minutes=6),
    timedelta(minutes=16),
    timedelta(minutes=62),
    timedelta(minutes=185),
    timedelta(hours=4, minutes=5),
    timedelta(hours=12, minutes=5),
)


@dataclass(frozen=True)
class Try:
    """One thing to try. about: the step it is about, or the event. act: does it; False when it wasn't possible.

    gives: the step that it gives evidence for, so that the order of steps can be checked.
    """

    name: str
    about: str
    act: Callable[[World], bool]
    gives: str = ""


def _give(step: Step, evidence: Evidence, *, wrong: bool, seen: bool) -> Callable[[World], bool]:
    def act(world: World) -> bool:
        key = f"{evidence.name}@{evidence.place}" if evidence.place else evidence.name
        move = hands.for_evidence(world.desk, step, evidence, WRONG if wrong and key in WRONG else USUAL)
        inputs = dict(move.inputs)
        if wrong and not _spoil(step, evidence, inputs):
            return False
        if not seen:
            inputs.pop("instead_of", None)
        return do(world, move.deed, **inputs)

    return act


def _spoil(step: Step, evidence: Evidence, inputs: dict[str, Any]) -> bool:
    """Turn right inputs into wrong ones; False where nothing wrong can be said."""
    if evidence.form in ("answer", "choice"):
        field = "answer" if evidence.form == "answer" else "option"
        others = [
            o for o in step.options[evidence.name] if o not in step.wants.get(evidence.name, (inputs[field],))
        ]
        if not others:
            return False
        inputs[field] = others[-1]
    elif evidence.form == "lot":
        inputs["expiry"] = "2020-01-31"
    elif evidence.form == "setting":
        if "typed" not in inputs:
            return False
        inputs["typed"] = str(Decimal(inputs["typed"]) + 1)
    elif evidence.form != "measured":
        return False
    return True


def _allowed_at_once(step: Step, evidence: Evidence) -> Callable[[World], bool]:
    """A test that fails, the unit's word for it, and a test that passes, with no time in between."""
    failed = _give(step, evidence, wrong=True, seen=True)
    passed = _give(step, evidence, wrong=False, seen=True)
    return lambda world: failed(world) and _advice(step)(world) and passed(world)


def _instead(step: Step, evidence: Evidence, change: dict[str, Any]) -> Callable[[World], bool]:
    def act(world: World) -> bool:
        move = hands.for_evidence(world.desk, step, evidence)
        return do(world, move.deed, **{**move.inputs, **change})

    return act


def _correct(step: Step, evidence: Evidence, how: str) -> Callable[[World], bool]:
    """Put an entry "right": to what mustn't pass, to what passes, or to another time."""

    def act(world: World) -> bool:
        facts = find(world.desk.scene, step, evidence)
        key = f"{evidence.name}@{evidence.place}" if evidence.place else evidence.name
        right = (step.wants.get(evidence.name) or step.options.get(evidence.name) or ("",))[0]
        others = [
            o for o in step.options.get(evidence.name, ()) if o not in step.wants.get(evidence.name, (right,))
        ]
        field = {"answer": "answer", "choice": "option", "measured": "value"}.get(evidence.form, "expiry")
        words: dict[str, tuple[str | None, str | None]] = {
            "answer": (right, next(iter(others), None)),
            "choice": (right, next(iter(others), None)),
            "measured": (USUAL.get(key), WRONG.get(key)),
        }
        good, bad = words.get(evidence.form, ("2027-06-30", "2020-01-31"))
        changes = {field: good if how == "right" else bad}
        if how == "earlier":
            changes = {"at": (world.clock.now().at - timedelta(hours=5)).isoformat()}
        if not facts or None in changes.values():
            return False
        return do(world, record.correct, of=facts[-1].id, changes=changes, reason="a slip")

    return act


def _withdraw(step: Step, evidence: Evidence) -> Callable[[World], bool]:
    def act(world: World) -> bool:
        facts = find(world.desk.scene, step, evidence)
        return bool(facts) and all(do(world, record.withdraw, of=f.id, reason="it was not so") for f in facts)

    return act


def _withdraw_and_skip(step: Step) -> Callable[[World], bool]:
    def act(world: World) -> bool:
        undone = [_withdraw(step, evidence)(world) for evidence in step.evidence]
        skipped = do(world, setup.skip, step=step.id, reason="none to be had")
        return any(undone) or skipped

    return act


def _elsewhere(step: Step, evidence: Evidence) -> Callable[[World], bool]:
    """The right mark, but made in another store and merged in."""

    def act(world: World) -> bool:
        name = evidence.name
        right = (step.wants.get(name) or step.options.get(name) or ("yes",))[0]
        key = f"{name}@{evidence.place}" if evidence.place else name
        if evidence.form == "answer":
            return world.from_elsewhere(Answer(question=name, answer=right, step=step.id))
        if evidence.form == "choice":
            return world.from_elsewhere(Choice(step=step.id, name=name, option=right))
        if evidence.form == "tick":
            return world.from_elsewhere(Tick(step=step.id))
        if evidence.form == "measured":
            unit = world.desk.rulebook.quantity(name).unit
            value = USUAL[key]
            body = Measured(
                quantity=name, place=evidence.place, value=value, unit="" if value == "negative" else unit
            )
            return world.from_elsewhere(body)
        return False

    return act


def _skip_elsewhere(step: Step) -> Callable[[World], bool]:
    return lambda world: world.from_elsewhere(Skipped(step=step.id, reason="not here", unit="somebody"))


def _marked(procedure: Procedure, step: Step, evidence: Evidence) -> str:
    """The step that a mark is made for: the first that asks for it, where several do."""
    if evidence.form in ("choice", "tick", "wait"):
        return step.id
    return next(each.id for each in procedure.steps if evidence in each.evidence)


def of_step(procedure: Procedure, step: Step) -> Iterator[Try]:
    """What can be tried with one step of setting up."""
    for evidence in step.evidence:
        gives = _marked(procedure, step, evidence)
        at = f"{step.id} {evidence}"
        yield Try(f"give {at}", step.id, _give(step, evidence, wrong=False, seen=True), gives)
        yield Try(f"wrong {at}", step.id, _give(step, evidence, wrong=True, seen=True), gives)
        yield Try(f"beside {at}", step.id, _give(step, evidence, wrong=True, seen=False), gives)
        yield Try(f"withdraw {at}", step.id, _withdraw(step, evidence))
        for how in ("wrong", "right", "earlier"):
            yield Try(f"correct {at} {how}", step.id, _correct(step, evidence, how))
        yield Try(f"elsewhere {at}", step.id, _elsewhere(step, evidence))
        if evidence.name == "total_chlorine":
            for name, test in OTHER_TESTS.items():
                yield Try(f"{name} {at}", step.id, _instead(step, evidence, test), gives)
        if step.unit_after_fail and evidence.form == "measured":
            yield Try(
                f"failed, allowed, at once again {at}", step.id, _allowed_at_once(step, evidence), gives
            )
        if evidence.form == "lot":
            for change in ({"intact": False}, {"expiry": ""}, {"code": "other"}, {"scanned": False}):
                name = "".join(f" {k}={v}" for k, v in change.items())
                yield Try(f"pack {at}{name}", step.id, _instead(step, evidence, change), gives)
    if step.second not in ("none", "blind"):
        yield Try(f"second {step.id}", step.id, second(step, wrong=False), step.id)
        yield Try(f"second wrong {step.id}", step.id, second(step, wrong=True), step.id)
        for how in ("again", "withdraw", "correct", "settle first", "settle second"):
            yield Try(f"second until it fits {step.id}, {how}", step.id, until_it_fits(step, how), step.id)
    yield Try(
        f"skip {step.id}",
        step.id,
        lambda w: do(w, setup.skip, step=step.id, reason="none to be had"),
        step.id,
    )
    yield Try(f"withdraw and skip {step.id}", step.id, _withdraw_and_skip(step))
    yield Try(f"skip elsewhere {step.id}", step.id, _skip_elsewhere(step))


def _pass(delta: timedelta) -> Callable[[World], bool]:
    def act(world: World) -> bool:
        world.clock.pass_time(delta)
        world.moved()
        return True

    return act


def _step_wall(delta: timedelta) -> Callable[[World], bool]:
    def act(world: World) -> bool:
        world.clock.step_wall(delta)
        world.moved()
        return True

    return act


def _restart(world: World) -> bool:
    world.clock.restart("boot-2" if world.clock.now().boot == "boot-1" else "boot-1")
    world.moved()
    return True


def _new_order(check: bool, by: str = BRAM) -> Callable[[World], bool]:
    def act(world: World) -> bool:
        lines = {**PRESCRIPTION, "blood_flow": "240"}
        day = world.clock.now().at.date().isoformat()
        inputs = {"number": "4", "giver": UNIT, "valid_from": day, "lines": lines}
        if not do(world, orders.transcribe, by=by, **inputs):
            return False
        return not check or _check(world)

    return act


def _amend(line: str, value: str, check: bool, tonight_only: bool = False) -> Callable[[World], bool]:
    def act(world: World) -> bool:
        heard = {"line": line, "value": value, "giver": UNIT, "read_back": value}
        if not do(world, orders.amend_line, **heard, tonight_only=tonight_only):
            return False
        return not check or _check(world)

    return act


def _check(world: World) -> bool:
    order = world.desk.scene.order
    if order is None or not order.waiting:
        return False
    world.clock.pass_time(timedelta(seconds=30))
    world.moved()
    of = order.waiting[-1]
    fact = world.desk.standing.fact(of)
    body = fact.body if fact is not None else None
    lines = getattr(body, "lines", None)
    values = on_paper(lines) if lines else {getattr(body, "line", ""): getattr(body, "value", "")}
    return do(world, orders.check_order, of=of, values=values, how="reread")


def _happened(what: str) -> Callable[[World], bool]:
    return lambda world: do(world, setup.happened, what=what)


def _happened_elsewhere(what: str) -> Callable[[World], bool]:
    return lambda world: world.from_elsewhere(Happened(what=what))


def _said_differently(world: World) -> bool:
    """Two people measure what no step asks for, and find different values."""
    first = do(world, setup.measure, quantity="glucose", typed="5.5 mmol/L")
    return first and do(world, setup.measure, by=TOVE, quantity="glucose", typed="9.1 mmol/L")


def _disinfect(world: World) -> bool:
    now = world.clock.now().at
    started = now - timedelta(minutes=30)
    return do(world, upkeep.disinfect, what="machine", agent="hypochlorite", started_at=started, ended_at=now)


def _recall(item: str) -> Callable[[World], bool]:
    def act(world: World) -> bool:
        for fact in world.desk.treatment.of("lot_used"):
            if getattr(fact.body, "item", "") == item:
                return do(
                    world, upkeep.recall_lot, item=item, lot=getattr(fact.body, "lot", ""), told_by=UNIT
                )
        return False

    return act


def _off_with(back: str, look: str) -> Callable[[World], bool]:
    """Off the machine with so much blood given back, and a word on how it looked."""
    seen = {"step": "C7", "name": "blood_return", "option": look}
    return lambda w: do(w, comeoff.come_off, blood_returned=back) and do(w, setup.choose, **seen)


def _advice(step: Step) -> Callable[[World], bool]:
    return lambda w: do(w, orders.advise, who=UNIT, words="go on with that", about=(step.id,), allows=True)


def other_words(procedure: Procedure) -> Iterator[tuple[str, str]]:
    """Of each line that the steps are written for a word that they aren't written for."""
    known = {line.id: line.options for line in load_rulebook().lines()}
    for line, words in procedure.fits.items():
        yield line, next(word for word in known[line] if word not in words)


def at_large(procedure: Procedure) -> Iterator[Try]:
    """What can be tried whatever the step: time, power, orders, merges, people."""
    for delta in PASSES:
        yield Try(f"time passes {delta}", "time", _pass(delta))
    for delta in STEPS_BACK:
        yield Try(f"clock jumps {delta}", "clock", _step_wall(delta))
    yield Try("restart", "clock", _restart)
    yield Try(
        "clock compared",
        "clock",
        lambda w: do(w, setup.answer, question="clock_right", answer="yes"),
    )
    for what in HAPPENINGS:
        yield Try(f"happened {what}", f"happened:{what}", _happened(what))
        yield Try(f"happened elsewhere {what}", f"happened:{what}", _happened_elsewhere(what))
    yield Try("disinfected", "disinfected:chemical", _disinfect)
    for item in sorted({e.name for s in procedure.steps for e in s.evidence if e.form == "lot"}):
        yield Try(f"recalled {item}", "recalled", _recall(item))
    yield Try("new prescription", "prescription", _new_order(check=False))
    yield Try("new prescription, checked", "prescription", _new_order(check=True))
    yield Try("line amended", "prescription", _amend("removal_cap", "6", check=False))
    yield Try("line amended, checked", "prescription", _amend("removal_cap", "6", check=True))
    for words, check in (("", False), (", checked", True)):
        alone = _amend("blood_flow", "220", check=check, tonight_only=True)
        yield Try(f"line amended for tonight{words}", "prescription", alone)
    for line, other in other_words(procedure):
        name = f"{line} amended to {other}, checked"
        yield Try(name, f"fits:{line}", _amend(line, other, check=True))
    yield Try("order checked", "prescription", _check)
    yield Try(
        "held elsewhere", "merge", lambda w: w.from_elsewhere(HandedOver(stage="store", six_lines=("here",)))
    )
    yield Try("said twice, differently", "disagreement", _said_differently)
    yield Try("not tonight", "not_tonight", lambda w: do(w, person.not_tonight, by="bedside"))
    yield Try("not tonight after all", "not_tonight", lambda w: do(w, person.tonight_after_all))
    yield Try("tonight after all", "not_tonight", lambda w: do(w, person.tonight_after_all, by=ILKA))
    yield Try("taken over here", "merge", lambda w: do(w, people.take_over_here, words="the tablet died"))
    yield Try("a kind not known", "merge", lambda w: w.from_elsewhere(Tick(step="S1"), strange_kind="newer"))
    if procedure.has("S30"):
        yield Try(
            "stand-in takes a step",
            "people",
            lambda w: do(w, setup.choose, by=TOVE, step="S30", name="flashback", option="both_needles"),
            "S30",
        )
    for step in procedure.steps:
        if (step.advisable or step.unit_after_fail) and step.gate == "connect":
            yield Try(f"advice {step.id}", step.id, _advice(step))
    yield Try("connect", "connect", lambda w: do(w, connect))
    yield Try("connect by stand-in", "connect", lambda w: do(w, connect, by=TOVE))
    yield Try("connect by nobody", "connect", lambda w: do(w, connect, by="somebody"))
    yield Try("already running", "running", lambda w: do(w, already_running, by="somebody"))
    yield Try("stop", "running", lambda w: do(w, night.stop_now, by="somebody"))
    yield Try("come off", "running", lambda w: do(w, comeoff.come_off, by="somebody"))
    for back, look in (("part", "normal"), ("part", "clotted"), ("none", "normal"), ("none", "clotted")):
        yield Try(f"come off, {back} given back, looks {look}", "off", _off_with(back, look))
    yield Try("call off", "running", lambda w: do(w, comeoff.call_off, words="not tonight"))


def all_tries(procedure: Procedure) -> list[Try]:
    """Everything, in a fixed order."""
    steps = (step for step in procedure.steps if step.gate == "connect")
    return [*(t for step in steps for t in of_step(procedure, step)), *at_large(procedure)]
