"""Deeds of setting up: opening the night, answers, values, lots, ticks, waits, skips, second checks."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from ebbwell.core.clock import elapsed
from ebbwell.core.errors import InputError
from ebbwell.core.findings import Finding, Grade
from ebbwell.core.numbers import plain
from ebbwell.core.quantity import Quantity
from ebbwell.deeds.after_stop import bleeding_question
from ebbwell.deeds.another_night import run_lately
from ebbwell.deeds.chlorine_test import goes_with, judged_alone
from ebbwell.deeds.desk import LATE, Desk, ask_first
from ebbwell.deeds.tenfold import tenfold_question
from ebbwell.deeds.turn import need_open
from ebbwell.deeds.typed_limits import past_limit, without_suggestions
from ebbwell.deeds.weight_gain import gain_told
from ebbwell.journal.kinds.marks import (
    Answer,
    Choice,
    Happened,
    LotUsed,
    Measured,
    Skipped,
    Tick,
    Waited,
)
from ebbwell.journal.kinds.orders import Pinned
from ebbwell.plan.clock_times import clock
from ebbwell.procedure.evidence import SETTING, TESTS_FAILED, lot_refused, test_failed_before
from ebbwell.procedure.holds import unpassed
from ebbwell.procedure.model import REOPENERS
from ebbwell.procedure.scene import CLOCK_QUESTION
from ebbwell.rulebook.own_units import entered
from ebbwell.rulebook.typed import check_typed, read_line, read_quantity
from ebbwell.science.catalogue import formulas_digest
from ebbwell.state.night import Phase
from ebbwell.state.own_past import recent
from ebbwell.state.packs import last_lot
from ebbwell.state.standing import held_back


def open_night(desk: Desk, *, sure: tuple[str, ...] = ()) -> None:
    """Begin a treatment: it is pinned to the procedure, limits and formulas of this moment.

    Refuses while another treatment is being set up or runs, and after coming off until what the next night needs
    (the disinfection) is recorded. The sheet of the night before may be closed later. Refuses while the person's
    "not tonight" stands. Asks once where blood ran within ``LATELY``.
    """
    if held_back(desk.standing, desk.now.at) is not None:
        desk.refuse("refuse.not_tonight")
    if desk.phase in (Phase.OFF, Phase.SAFE):
        left = tuple(unpassed(desk.views, "next_night"))
        if left:
            desk.refuse("refuse.last_night", steps=", ".join(view.step.id for view in left))
    elif desk.phase not in (Phase.NONE, Phase.CLOSED, Phase.CALLED_OFF):
        desk.refuse("refuse.night_open")
    ask_first(run_lately(desk), sure)
    pin_night(desk)


def pin_night(desk: Desk) -> None:
    """The entry that opens a treatment, and once for each new text, the texts it is pinned to."""
    night = desk.now.at.astimezone(ZoneInfo(desk.now.zone)).date().isoformat()
    procedure, rulebook = desk.present or (desk.procedure, desk.rulebook)
    pins: dict[str, Any] = {
        "procedure": procedure.id,
        "procedure_digest": procedure.digest,
        "rulebook_digest": rulebook.digest,
        "formulas_digest": formulas_digest(),
    }
    desk.treatment_id = desk.ids.new()
    desk.add(Pinned(night=night, **pins))
    held: set[str] = set()
    for fact in desk.standing.of("pinned"):
        if isinstance(fact.body, Pinned):
            held |= set(fact.body.texts)
    texts = {procedure.digest: procedure.text, rulebook.digest: rulebook.text}
    fresh = {digest: text for digest, text in texts.items() if digest not in held}
    if fresh:
        desk.add(Pinned(night="", texts=fresh, **pins), standing=True)
    if fresh and held:
        desk.findings.append(Finding("rules_changed", Grade.CARE, (), ("practice:e",)))
    own = {getattr(fact.body, "text", "") for fact in desk.standing.of("steps_adopted")}
    if own - {"", procedure.text}:
        desk.findings.append(Finding("own_steps_left_out", Grade.CARE, (), ("practice:e",)))


def _older(desk: Desk, slot: tuple[str, ...], seen: tuple[str, ...]) -> tuple[str, ...]:
    """Which of the facts in a slot the person saw and puts this one in the place of."""
    return tuple(fact.id for fact in desk.treatment.at_slot(*slot) if fact.id in seen)


def _when(desk: Desk, at: datetime | None) -> datetime:
    """When it was so. Raises InputError for a time that hasn't come yet. Marks late writing."""
    if at is None:
        return desk.now.at
    waited = elapsed(at, desk.now.at).total_seconds() / 60
    if waited < -2:
        raise InputError("enter.future", at=clock(at, desk.now.zone))
    if waited > LATE:
        desk.findings.append(Finding("written_late", Grade.NOTE, (("minutes", str(round(waited))),)))
    return at


def answer(
    desk: Desk,
    *,
    question: str,
    answer: str,
    words: str = "",
    said_by: str = "carer",
    step: str = "",
    instead_of: tuple[str, ...] = (),
    at: datetime | None = None,
) -> None:
    """Answer a question of a step, such as the ones before a pack is opened (S0).

    Refuses an answer that isn't one of the question's words, a question that the step doesn't ask, and a step that
    isn't open yet; and "no" to whether a machine test failed first, where the record holds one that did. An answer that
    needs the unit's word is kept, and the hold stays shut.
    """
    if question == CLOCK_QUESTION:
        options: tuple[str, ...] = ("yes", "no")
        if desk.treatment_id is None:
            desk.refuse("refuse.no_night")
    else:
        step = step or _owner(desk, "answer", question)
        options = need_open(desk, step).options.get(question, ())
        if not options:
            raise InputError("enter.no_step", name=question)
    if answer not in options:
        raise InputError("enter.option", question=question, options=", ".join(options))
    if question == TESTS_FAILED and answer == "yes" and not words.strip():
        raise InputError("enter.words")
    if question == TESTS_FAILED and answer == "no" and test_failed_before(desk.treatment):
        raise InputError("enter.test_failed_before")
    desk.add(
        Answer(question=question, answer=answer, words=words, said_by=said_by, step=step),
        at=_when(desk, at),
        replaces=_older(desk, ("answer", question), instead_of),
    )


def _owner(desk: Desk, form: str, name: str, place: str = "") -> str:
    for step in desk.procedure.steps:
        for evidence in step.evidence:
            if (evidence.form, evidence.name, evidence.place) == (form, name, place):
                return step.id
    raise InputError("enter.no_step", name=name)


def _owner_or_none(desk: Desk, form: str, name: str, place: str = "") -> str:
    for step in desk.procedure.steps:
        if any((e.form, e.name, e.place) == (form, name, place) for e in step.evidence):
            return step.id
    return ""


def measure(
    desk: Desk,
    *,
    quantity: str,
    typed: str = "",
    unit: str | None = None,
    place: str = "",
    not_measured: str = "",
    method: str = "",
    device: str = "",
    lot: str = "",
    expiry: str = "",
    control: str = "",
    instead_of: tuple[str, ...] = (),
    sure: tuple[str, ...] = (),
    at: datetime | None = None,
) -> None:
    """Record a measured value as typed, or why it couldn't be measured.

    Asks once outside the usual range, again in other words outside the last one; then it is kept with a finding.
    Refuses what can't be read as the quantity, what can't be physically true, a value whose step isn't open, and a
    machine setting (``set_machine`` takes those); of a chlorine test also what ``goes_with`` refuses.
    control: what the reagent did in water from before the carbon, one of ``CONTROLS``, where no colour showed.
    instead_of: ids of earlier values that the person saw and measured again; a value not named stands beside it.
    """
    if place == SETTING:
        raise InputError("enter.no_step", name=quantity)
    owner = _owner_or_none(desk, "measured", quantity, place)
    if owner:
        need_open(desk, owner)
    elif desk.treatment_id is None:
        desk.refuse("refuse.no_night")
    definition = desk.rulebook.quantity(quantity)
    when = _when(desk, at)
    replaces = _older(desk, ("measured", quantity, place), instead_of)
    reason = "measured again" if replaces else None
    common: dict[str, Any] = {"method": method, "device": device, "lot": lot, "expiry": expiry, "step": owner}
    if not_measured:
        body = Measured(quantity=quantity, place=place, not_measured=not_measured, **common)
        desk.add(body, at=when, replaces=replaces, reason=reason)
        return
    if typed in definition.words:
        body = Measured(quantity=quantity, place=place, value=typed, typed=typed, **common)
        desk.add(body, at=when, replaces=replaces, reason=reason)
        return
    value, below, in_unit = read_quantity(desk.rulebook, quantity, typed, unit)
    common |= goes_with(desk, quantity, place, value, below=below, method=method, control=control)
    fact = f"{quantity}@{place}" if place else quantity
    asked_about = check_typed(
        desk.rulebook,
        quantity,
        value,
        own=recent(desk.past, fact, before=desk.now.at),
        expected=expected_value(desk, quantity),
        others=_others(desk),
        below=below,
    )
    questions = without_suggestions(asked_about, past_limit(desk, fact, value, in_unit))
    questions += bleeding_question(desk, quantity, value, when or desk.now.at)
    questions += tenfold_question(desk, quantity, place, value, below=below)
    asked = ask_first(questions, sure)
    if any(q.level == 2 for q in questions):
        desk.findings.append(
            Finding("kept_though_unlikely", Grade.STOP, (("quantity", quantity), ("value", plain(value))))
        )
    body = Measured(
        quantity=quantity,
        place=place,
        value=plain(value),
        unit=in_unit,
        below=below,
        typed=f"{typed} {unit}".strip() if unit else typed,
        asked=asked,
        entered=entered(desk.rulebook, quantity, typed, unit),
        **common,
    )
    desk.add(body, at=when, replaces=replaces, reason=reason)
    desk.findings.extend((*judged_alone(desk, body), *gain_told(desk, body)))


def expected_value(desk: Desk, quantity: str) -> Decimal | None:
    """What a value should come to by arithmetic, where there is a sum for it; None else."""
    fact = desk.scene.facts.get(f"{quantity}@expected")
    return fact.value if isinstance(fact, Quantity) else None


def _others(desk: Desk) -> Mapping[str, Decimal]:
    known = {name: fact.value for name, fact in desk.scene.facts.items() if isinstance(fact, Quantity)}
    ordered = {
        name.removesuffix("@prescribed"): value
        for name, value in known.items()
        if name.endswith("@prescribed")
    }
    return {**ordered, **known}


def set_machine(desk: Desk, *, line: str, typed: str, instead_of: tuple[str, ...] = ()) -> None:
    """One machine setting, read off the machine without seeing the plan, and compared with it.

    A setting that differs is kept, and the hold stays shut until the machine is set and read again.
    Refuses a setting whose step isn't open, and what can't be read as the line's value.
    """
    need_open(desk, _owner(desk, "setting", line))
    if line in {definition.id for definition in desk.rulebook.lines()}:
        value, unit = read_line(desk.rulebook, line, typed), desk.rulebook.line(line).unit
    else:
        number, _, unit = read_quantity(desk.rulebook, line, typed, None)
        value = plain(number)
    said = entered(desk.rulebook, line, typed)
    desk.add(
        Measured(quantity=line, place=SETTING, value=value, unit=unit, typed=typed, entered=said),
        replaces=_older(desk, ("measured", line, SETTING), instead_of),
    )


def choose(desk: Desk, *, step: str, name: str, option: str, instead_of: tuple[str, ...] = ()) -> None:
    """Record what was seen, picked from the step's words.

    Refuses a word that isn't among them, and a step that isn't open.
    """
    options = need_open(desk, step).options.get(name, ())
    if option not in options:
        raise InputError("enter.option", question=name, options=", ".join(options))
    desk.add(
        Choice(step=step, name=name, option=option),
        replaces=_older(desk, ("choice", step, name), instead_of),
    )


def tick(desk: Desk, *, step: str, note: str = "") -> None:
    """Say that a step is done. Refuses a step that isn't open, and one that asks for more than a tick."""
    opened = need_open(desk, step)
    if not any(evidence.form == "tick" for evidence in opened.evidence):
        desk.refuse("refuse.not_a_tick", step=step)
    desk.add(Tick(step=step, note=note))


def start_wait(desk: Desk, *, step: str, at: datetime | None = None) -> None:
    """Note when a wait began; an earlier time is taken. Refuses a step that isn't open or has no wait."""
    opened = need_open(desk, step)
    if not any(evidence.form == "wait" for evidence in opened.evidence):
        desk.refuse("refuse.no_wait", step=step)
    before = [f for f in desk.treatment.of("waited") if getattr(f.body, "step", "") == step]
    desk.add(Waited(step=step), at=_when(desk, at), replaces=tuple(f.id for f in before))


def _prefilled(desk: Desk, item: str, code: str, lot: str, expiry: str) -> bool:
    """Whether a typed pack is the one that was offered from before."""
    last = last_lot(desk.treatment, desk.standing, desk.past, item, desk.now)
    return last is not None and (last.code, last.lot, last.expiry) == (
        code.strip(),
        lot.strip(),
        expiry.strip(),
    )


def use_lot(
    desk: Desk,
    *,
    item: str,
    code: str = "",
    lot: str = "",
    expiry: str = "",
    intact: bool = True,
    scanned: bool = False,
    photo: str = "",
    new_set: str = "",
    instead_of: tuple[str, ...] = (),
) -> None:
    """Record the pack that is opened: code, lot, expiry and seal as read from it.

    A pack that can't be used is kept as a fact; the hold stays shut, and the finding says to take another.
    new_set: id of the change of set that the pack was opened for; it stands beside the first one and meets no hold
    point. Refuses a pack whose step isn't open, and a change of set that isn't on record.
    """
    if new_set and not any(fact.id == new_set for fact in desk.treatment.of("new_set")):
        desk.refuse("refuse.no_new_set")
    step = "" if new_set else _owner_or_none(desk, "lot", item)
    if step:
        need_open(desk, step)
    elif desk.treatment_id is None:
        desk.refuse("refuse.no_night")
    body = LotUsed(
        item=item,
        code=code.strip(),
        lot=lot.strip(),
        expiry=expiry.strip(),
        intact=intact,
        scanned=scanned,
        photo=photo,
        step=step,
        new_set=new_set,
        prefilled=not scanned and _prefilled(desk, item, code, lot, expiry),
    )
    replaces = tuple(
        f.id
        for f in desk.treatment.of("lot_used")
        if f.id in instead_of and getattr(f.body, "item", "") == item
    )
    entry_id = desk.add(body, replaces=replaces, reason="another pack taken" if replaces else None)
    why = lot_refused(desk.scene, body)
    if why:
        desk.findings.append(
            Finding(
                "pack_not_for_tonight",
                Grade.STOP,
                (("item", item), ("why", why)),
                ("practice:e",),
                (entry_id,),
            )
        )
    elif not lot.strip():
        desk.findings.append(
            Finding("lot_unreadable", Grade.CARE, (("item", item),), ("design",), (entry_id,))
        )


def skip(desk: Desk, *, step: str, reason: str, unit: str = "") -> None:
    """Leave a step out, with the reason; it goes on the sheet.

    Refuses a step that can't be left out, an empty reason, and where the unit must agree, a missing name.
    """
    opened = need_open(desk, step)
    if opened.skip == "never":
        desk.refuse("refuse.never_skip", step=step)
    if not reason.strip():
        raise InputError("enter.reason")
    if opened.skip == "unit" and not unit.strip():
        raise InputError("enter.unit_name")
    desk.add(Skipped(step=step, reason=reason.strip(), unit=unit.strip()))


def happened(desk: Desk, *, what: str, words: str = "") -> None:
    """Say that something happened that reopens checks, such as the water having stopped and started again.

    Never refused while a night is open. Raises InputError for a word that reopens nothing: that is an event.
    """
    if desk.treatment_id is None:
        desk.refuse("refuse.no_night")
    known = tuple(r.partition(":")[2] for r in REOPENERS if r.startswith("happened:"))
    if what not in known:
        raise InputError("enter.option", question="happened", options=", ".join(known))
    desk.add(Happened(what=what, words=words))
