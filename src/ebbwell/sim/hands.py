"""A carer's hands: for every piece of evidence, the deed that gives it, done right.

Used by the demo, the fault nights and the model checker; slips and forgetting are put on top by them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from ebbwell.core.clock import SetClock
from ebbwell.deeds import comeoff, night, orders, plan, rereading, setup, upkeep
from ebbwell.deeds.coming_up import to_give
from ebbwell.deeds.connect import connect
from ebbwell.deeds.desk import Asked, Desk, Done
from ebbwell.house import House
from ebbwell.procedure.evidence import CODE_LINES, TESTS_FAILED, planned, test_failed_before
from ebbwell.procedure.holds import Status, StepView
from ebbwell.procedure.model import Evidence, Step
from ebbwell.rulebook.own_units import typed_unit
from ebbwell.sim.household import BRAM, LOTS, READING, USUAL
from ebbwell.state.standing import recalled


@dataclass(frozen=True)
class Move:
    """One deed with its inputs, and how long it takes."""

    deed: Callable[..., None]
    inputs: Mapping[str, Any] = field(default_factory=dict)
    takes: timedelta = timedelta(seconds=15)
    step: str = ""


def _with_unit(desk: Desk, line: str, number: str) -> str:
    """A number of the order as typed: with its unit where a bare one is read in another that the household chose."""
    known = next((one for one in desk.rulebook.lines() if one.id == line), None)
    apart = known is not None and known.kind == "number" and typed_unit(desk.rulebook, known) != known.unit
    return f"{number} {known.unit}" if known is not None and apart else number


def for_evidence(desk: Desk, step: Step, evidence: Evidence, values: Mapping[str, str] = USUAL) -> Move:
    """The move that gives a piece of evidence as it is on a usual night."""
    form, name = evidence.form, evidence.name
    key = f"{name}@{evidence.place}" if evidence.place else name
    if form == "answer":
        right = (step.wants.get(name) or step.options[name])[0]
        said = {"question": name, "answer": right}
        if name == TESTS_FAILED and test_failed_before(desk.treatment):
            said |= {"answer": "yes", "words": "a clamp was shut"}
        return Move(setup.answer, {**said, **_seen(desk, "answer", name)}, step=step.id)
    if form == "measured":
        inputs = {"quantity": name, "place": evidence.place, "typed": values[key]}
        if name == "total_chlorine":
            inputs |= {"method": "meter", "lot": LOTS["chlorine_test"][1]}
            if values[key].startswith("<") or not Decimal(values[key]):
                inputs["control"] = "coloured"
        return Move(setup.measure, {**inputs, **_seen(desk, "measured", name, evidence.place)}, step=step.id)
    if form == "setting":
        value = planned(desk.scene, name)
        if value is None:
            return for_evidence(desk, step, Evidence("plan"), values)
        return Move(
            setup.set_machine,
            {
                "line": name,
                "typed": _with_unit(desk, name, str(value)),
                **_seen(desk, "measured", name, "setting"),
            },
            step=step.id,
        )
    if form == "choice":
        right = (step.wants.get(name) or step.options[name])[0]
        seen = _seen(desk, "choice", step.id, name)
        return Move(setup.choose, {"step": step.id, "name": name, "option": right, **seen}, step=step.id)
    if form == "lot":
        return Move(setup.use_lot, {**pack(desk, name), **_seen_lot(desk, name)}, step=step.id)
    if form == "wait":
        return Move(setup.start_wait, {"step": step.id}, step=step.id)
    if form == "tick":
        return Move(setup.tick, {"step": step.id}, step=step.id)
    if form == "readback":
        order = desk.scene.order
        return Move(
            orders.read_back, {"version_read": order.body.number if order is not None else "3"}, step=step.id
        )
    if form == "plan":
        return Move(
            plan.agree_plan,
            {"drink": "0.2", "instead_of": tuple(f.id for f in desk.treatment.of("plan"))},
            step=step.id,
        )
    if form == "given":
        amount = {
            "heparin_first_dose": ("1500", "units"),
            "low_molecular_dose": ("4000", "IU"),
            "rinse_back": ("0.3", "L"),
        }[name]
        return Move(night.give, {"what": name, "typed": amount[0], "unit": amount[1]}, step=step.id)
    if form == "reading":
        return Move(night.read, {"values": _row(desk), "when": name}, step=step.id)
    if form == "connected":
        return Move(connect, step=step.id)
    if form == "came_off":
        return Move(comeoff.come_off, step=step.id)
    if form == "disinfected":
        ended = desk.now.at
        return Move(
            upkeep.disinfect,
            {
                "what": "machine",
                "agent": "heat",
                "started_at": ended - timedelta(minutes=40),
                "ended_at": ended,
            },
            step=step.id,
        )
    raise ValueError(f"no hands for {evidence}")


def _row(desk: Desk) -> dict[str, str]:
    """A usual row of the night, with the flows as ordered; a machine that mixes no fluid shows no conductivity."""
    lines = desk.scene.order.lines if desk.scene.order is not None else {}
    flows = {flow: lines[flow] for flow in ("blood_flow", "dialysate_flow") if lines.get(flow)}
    made = "concentrates" in desk.procedure.plan_parts
    return {name: text for name, text in {**READING, **flows}.items() if made or name != "fluid_conductivity"}


def pack(desk: Desk, item: str) -> dict[str, Any]:
    """A good pack of an item, as scanned."""
    code, lot = LOTS.get(item, (f"{item}-code", f"{item}-lot"))
    order = desk.scene.order
    line = CODE_LINES.get(item)
    if order is not None and line is not None and order.lines.get(line):
        code = order.lines[line]
    if recalled(desk.standing, item, lot) is not None:
        lot += "-2"
    expiry = date(desk.now.at.year + 1, 6, 30).isoformat()
    return {"item": item, "code": code, "lot": lot, "expiry": expiry, "intact": True, "scanned": True}


def _seen(desk: Desk, *slot: str) -> dict[str, tuple[str, ...]]:
    ids = tuple(fact.id for fact in desk.treatment.at_slot(*slot))
    return {"instead_of": ids} if ids else {}


def _seen_lot(desk: Desk, item: str) -> dict[str, tuple[str, ...]]:
    ids = tuple(f.id for f in desk.treatment.of("lot_used") if getattr(f.body, "item", "") == item)
    return {"instead_of": ids} if ids else {}


def second(desk: Desk, view: StepView) -> Move:
    """The second reading of a step, done honestly: half a minute later, the same values read again."""
    values = {}
    for fact in rereading.first_readings(desk, view.step.id):
        name, said = rereading.said(fact)
        values[name] = said
    photo = view.step.second == "person_or_photo"
    inputs: dict[str, Any] = {"step": view.step.id, "how": "photo" if photo else "reread", "values": values}
    if photo:
        inputs["photo"] = "photo-1"
    return Move(rereading.second_check, inputs, takes=timedelta(seconds=30), step=view.step.id)


def next_move(
    desk: Desk, stages: frozenset[str] | None = None, values: Mapping[str, str] = USUAL
) -> Move | None:
    """The next right move: the first step that is open and not passed. None when all that is left waits or is shut."""
    for view in desk.views.values():
        if stages is not None and view.step.stage not in stages:
            continue
        move = move_for(desk, view, values)
        if move is not None:
            return move
    return None


def move_for(desk: Desk, view: StepView, values: Mapping[str, str] = USUAL) -> Move | None:
    """The move that brings one step on; None where it has passed, is shut, waits, or only advice would help."""
    if view.differed:
        return for_evidence(desk, view.step, to_give(desk, view)[0], values)
    if view.passed or view.status in (Status.SHUT, Status.WAITING, Status.BARRED, Status.UNSETTLED):
        return None
    if view.status is Status.SECOND:
        return second(desk, view)
    if not view.missing:
        return None
    return for_evidence(desk, view.step, view.missing[0], values)


def waits(desk: Desk) -> timedelta | None:
    """How long until the next wait is over; None when nothing waits."""
    ends = [
        v.until - desk.now.at
        for v in desk.views.values()
        if v.until is not None and (v.status is Status.WAITING or rests(desk, v))
    ]
    return min(ends, default=None)


def rests(desk: Desk, view: StepView) -> bool:
    """Whether a step stays shut a while after a failed test, whatever is typed meanwhile."""
    return (
        view.status is Status.BARRED
        and view.step.retest is not None
        and view.until is not None
        and view.until > desk.now.at
    )


def play(house: House, move: Move, *, by: str = BRAM, key: str | None = None) -> Done:
    """Do a move; a question is answered "yes, as typed", as a sure hand would."""
    inputs = dict(move.inputs)
    for _ in range(3):
        try:
            return house.do(move.deed, by=by, key=key, **inputs)
        except Asked as asked:
            inputs["sure"] = (*inputs.get("sure", ()), *(q.key for q in asked.questions))
    return house.do(move.deed, by=by, key=key, **inputs)


SET_UP = frozenset({"questions", "setup", "before_needles", "needles"})


def set_up(
    house: House,
    clock: SetClock,
    *,
    by: str = BRAM,
    most: int = 400,
    values: Mapping[str, str] = USUAL,
) -> int:
    """Set up from wherever the night stands until the gate is open, waiting where there is a wait. Gives the moves made.

    Raises RuntimeError when it gets no further.
    """
    for count in range(most):
        desk = house.look(by=by)
        if desk.gate_open:
            return count
        move = next_move(desk, SET_UP, values)
        if move is None:
            wait = waits(desk)
            if wait is None:
                left = ", ".join(f"{bar.step or bar.key}:{bar.key}:{bar.about}" for bar in desk.bars)
                raise RuntimeError(f"set-up gets no further: {left}")
            clock.pass_time(max(wait, timedelta(seconds=1)))
            continue
        clock.pass_time(move.takes)
        play(house, move, by=by)
    raise RuntimeError("set-up doesn't end")
