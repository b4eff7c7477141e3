"""Any entry in one line of words."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from ebbwell.core.text import has_text, say
from ebbwell.core.thousands import thousands
from ebbwell.journal.kinds import Body, Unknown
from ebbwell.journal.kinds.bedside import (
    Annotation,
    BloodByHand,
    NotTonight,
    Rechecked,
    Reminders,
    SampleDue,
    SampleTaken,
)
from ebbwell.journal.kinds.fluid import DRY, LIQUID, ConcentrateLabel, ConductivityMeter
from ebbwell.journal.kinds.house import (
    EmergencyDetails,
    Erased,
    FieldOrder,
    FirstAction,
    HandedOver,
    Household,
    LimitChanged,
    Person,
    Skill,
    StepsAdopted,
)
from ebbwell.journal.kinds.marks import (
    Answer,
    Choice,
    Corrected,
    Happened,
    LotRecalled,
    LotUsed,
    Measured,
    Settled,
    Skipped,
    Tick,
    Waited,
    Withdrawn,
)
from ebbwell.journal.kinds.night import (
    AlreadyRunning,
    CameOff,
    Closed,
    Connected,
    Disinfected,
    Event,
    Given,
    NewSet,
    Off,
    On,
    Reading,
    Safe,
    Stop,
)
from ebbwell.journal.kinds.orders import (
    Advice,
    LineAmended,
    Pinned,
    Plan,
    Prescription,
    Readback,
    SecondCheck,
)
from ebbwell.journal.kinds.units import UnitsChosen
from ebbwell.papers.described_bloods import BLOOD_SAYS
from ebbwell.papers.described_pressures import PRESSURE_SAYS
from ebbwell.papers.described_water import WATER_SAYS
from ebbwell.papers.words import (
    Names,
    day,
    figure_value,
    given_words,
    how_tested,
    item_words,
    limit_value,
    line_words,
    measured_words,
    named,
    option_words,
    place_words,
    reading_words,
)


def _with(words: str, *more: str) -> str:
    return ". ".join([words, *(m for m in more if m)])


def _lot(body: LotUsed) -> str:
    words = say(
        "said.lot_used",
        item=item_words(body.item),
        code=body.code or "-",
        lot=body.lot or say("said.lot_unreadable"),
        expiry=body.expiry or say("said.lot_unreadable"),
        seal=say("said.seal_whole" if body.intact else "said.seal_broken"),
    )
    return _with(words, say("said.offered") if body.prefilled else "")


def _advice(body: Advice) -> str:
    """What the unit said, or that it was called in vain or not yet, with the carer's words to it."""
    if body.spoken:
        return say("said.advice", who=body.who, words=body.words)
    key = f"said.advice_{body.outcome}"
    return _with(say(f"{key}_who", who=body.who) if body.who else say(key), body.words)


def _second(body: SecondCheck) -> str:
    """A second reading by what was read, where it names that."""
    read = [name.partition("@") for name in body.values if name != "photo"]
    known = [place_words(name, place) for name, _, place in read if has_text(f"quantity.{name}")]
    known += [item_words(name) for name, _, _ in read if has_text(f"item.{name}")]
    return say(
        "said.second_agrees" if body.agrees else "said.second_differs",
        how=named("how", body.how),
        step=(", ".join(known) or body.step) if body.step else say("said.the_order"),
    )


def _came_off(body: CameOff) -> str:
    blood = named("blood", body.blood_returned) if body.blood_returned else say("said.blood_unsaid")
    return _with(say("said.came_off", blood=blood), body.words)


def _safe(body: Safe) -> str:
    """No more than was said, and what of needles, bleeding and pressure wasn't on record then."""
    left = [say(f"said.safe.{step}") for step in body.open_steps if has_text(f"said.safe.{step}")]
    return say("said.safe_left", left=", ".join(left)) if left else say("said.safe")


def _happened(body: Happened) -> str:
    key = f"reopens.happened:{body.what}"
    return _with(say("said.happened", what=say(key) if has_text(key) else body.what), body.words)


def _corrected(body: Corrected) -> str:
    return say("said.corrected", changes=", ".join(f"{k} {v}" for k, v in body.changes.items()))


def _closed(body: Closed) -> str:
    return _with(say("said.called_off" if body.called_off else "said.closed"), body.words)


def _disinfected(body: Disinfected) -> str:
    return say("said.disinfected", agent=named("agent", body.agent), what=body.what)


def _answer(body: Answer) -> str:
    key = f"ask.{body.question}"
    asked = say(key) if has_text(key) else body.question
    return f"{asked} {option_words(body.question, body.answer)}"


def _choice(body: Choice) -> str:
    return f"{named('choice', body.name)} {option_words(body.name, body.option)}"


def _person(body: Person) -> str:
    return f"{body.name}: {', '.join(named('role', role) for role in body.roles)}"


def _prescription(body: Prescription) -> str:
    return say("said.prescription", number=body.number, giver=body.giver, day=day(body.valid_from))


def _recalled(body: LotRecalled) -> str:
    return say("said.recalled", item=item_words(body.item), lot=body.lot, who=body.told_by)


def _plan(body: Plan) -> str:
    return say("said.plan", fluid=figure_value(body.figures.get("fluid_to_remove", "missing")))


def _event(body: Event) -> str:
    what = say("said.symptom", symptom=named("symptom", body.symptom)) if body.symptom else body.what
    return _with(what, body.words, body.done)


def _given(body: Given) -> str:
    by = say("said.ordered_by", who=body.ordered_by) if body.ordered_by else ""
    nobody = say("said.ordered_by_nobody") if body.medicine and not by else ""
    return _with(f"{given_words(body.what)}: {thousands(body.amount)} {body.unit}", by, nobody, body.words)


def _off(body: Off) -> str:
    return _with(say("said.off"), say(f"said.off_{body.blood}") if body.blood else "", body.words)


def _new_set(body: NewSet) -> str:
    why = named("why_new_set", body.why) if body.why else ""
    back = named("blood", body.blood_returned) if body.blood_returned else ""
    return _with(say("said.new_set"), why, say("said.old_set_blood", blood=back) if back else "", body.words)


def _reminders(body: Reminders) -> str:
    wake = say("said.reminders_wake") if body.wake_lock else say("said.reminders_no_wake")
    words = say(f"said.reminders_{body.stage}", device=body.device)
    return _with(words, wake) if body.stage == "on" else words


def _rechecked(body: Rechecked) -> str:
    checked = f"{named('again', body.check)} {named('again.option', body.option)}"
    return _with(say(f"said.again_{body.aside}", checked=checked), body.words)


def _by_hand(body: BloodByHand) -> str:
    amount = say("said.by_hand_amount", amount=body.amount) if body.amount else say("said.by_hand_not_known")
    return _with(say("said.by_hand", why=named("why_by_hand", body.why)), amount, body.words)


def _sample_due(body: SampleDue) -> str:
    words = say("said.sample_due", samples=", ".join(body.samples), when=named("sample_when", body.when))
    return _with(words, say("said.ordered_by", who=body.ordered_by) if body.ordered_by else "", body.words)


def _sample_taken(body: SampleTaken) -> str:
    label = say("said.sample_label", label=body.label) if body.label else say("said.sample_no_label")
    words = say("said.sample_taken", sample=body.sample, when=named("sample_when", body.when))
    return _with(words, label, named("sample_how", body.how) if body.how else "", body.words)


def _first_action(body: FirstAction) -> str:
    until = say("said.until", day=day(body.valid_until)) if body.valid_until else ""
    words = say(
        "said.first_action",
        situation=named("situation", body.situation),
        words=body.words,
        who=body.signed_by,
        day=day(body.signed_on),
    )
    return _with(words, until)


def _emergency(body: EmergencyDetails) -> str:
    units = (
        say("said.unit_number", number=" ".join(n for n in (body.unit_number, body.unit_hours) if n)),
        say("said.unit_other", number=body.unit_other),
    )
    kept = (words for words, number in zip(units, (body.unit_number, body.unit_other), strict=True) if number)
    return _with(say("said.emergency", number=body.number, address=body.address), body.how_to_find, *kept)


def _field_order(body: FieldOrder) -> str:
    return say("said.field_order", fields=", ".join(named("quantity", name) for name in body.fields))


def _concentrate(body: ConcentrateLabel) -> str:
    if body.what == LIQUID:
        return say("said.concentrate_liquid", code=body.code, parts=body.parts)
    if body.what == DRY:
        words = say("said.concentrate_dry", code=body.code, grams=", ".join(body.grams.values()))
        return f"{words} {say('said.concentrate_made_for', parts=body.parts)}" if body.parts else words
    ions = ", ".join(f"{named('label', name)} {value} mmol/L" for name, value in body.ions.items())
    words = say("said.concentrate_label", code=body.code, parts=body.parts, ions=ions)
    salts = ", ".join(f"{named('label', name)} {value} g/L" for name, value in body.grams.items())
    return f"{words}. {say('said.concentrate_grams', salts=salts)}" if salts else words


def _meter(body: ConductivityMeter) -> str:
    meter = named("fluid.meter", body.place)
    if not body.reference:
        return say("said.meter_plain", meter=meter, coefficient=body.coefficient)
    words = say("said.meter", meter=meter, reference=body.reference)
    return f"{words} {say('said.meter_share', coefficient=body.coefficient)}" if body.coefficient else words


def _limit(body: LimitChanged) -> str:
    words = say(
        "said.limit_changed",
        limit=named("limit", body.limit),
        value=limit_value(body.limit, body.value, body.unit),
        reason=body.reason,
    )
    how = named("limit_how", body.how) if body.how else ""
    return _with(words, say("said.limit_allowed", who=body.allowed_by, how=how) if body.allowed_by else "")


def _units(body: UnitsChosen) -> str:
    chosen = [unit for unit in (body.weight, body.temperature, body.glucose) if unit]
    return say("said.units_chosen", units=", ".join(chosen)) if chosen else say("said.units_none")


_SAYS: dict[type[Body], Callable[[Any], str]] = {
    Household: lambda b: say("said.household", name=b.name, zone=b.zone),
    Person: _person,
    Erased: lambda b: say("said.erased", ground=b.ground, authority=b.authority),
    Answer: _answer,
    Measured: lambda b: f"{place_words(b.quantity, b.place)}: {measured_words(b)}{how_tested(b)}",
    Tick: lambda b: _with(say("said.tick", step=b.step), b.note),
    Skipped: lambda b: _with(say("said.skipped", step=b.step, reason=b.reason), b.unit),
    Waited: lambda b: say("said.waited", step=b.step),
    Choice: _choice,
    LotUsed: _lot,
    LotRecalled: _recalled,
    Happened: _happened,
    Corrected: _corrected,
    AlreadyRunning: lambda b: _with(say("said.already_running"), b.words),
    Reading: reading_words,
    Event: _event,
    Given: _given,
    NotTonight: lambda b: _with(say("said.not_tonight"), b.words),
    Annotation: lambda b: say("said.annotation", words=b.words),
    Reminders: _reminders,
    Rechecked: _rechecked,
    BloodByHand: _by_hand,
    SampleDue: _sample_due,
    SampleTaken: _sample_taken,
    FirstAction: _first_action,
    EmergencyDetails: _emergency,
    FieldOrder: _field_order,
    LimitChanged: _limit,
    ConcentrateLabel: _concentrate,
    ConductivityMeter: _meter,
    UnitsChosen: _units,
    StepsAdopted: lambda b: say("said.steps_adopted" if b.text else "said.steps_shipped"),
    Stop: lambda b: _with(say("said.stop"), b.words),
    Off: _off,
    On: lambda b: _with(say("said.on"), b.words),
    NewSet: _new_set,
    CameOff: _came_off,
    Closed: _closed,
    Disinfected: _disinfected,
    Prescription: _prescription,
    LineAmended: lambda b: say(
        "said.line_alone" if b.tonight_only else "said.line_amended",
        line=line_words(b.line, b.value),
        giver=b.giver,
    ),
    SecondCheck: _second,
    Advice: _advice,
    Safe: _safe,
    Plan: _plan,
    **BLOOD_SAYS,
    **PRESSURE_SAYS,
    **WATER_SAYS,
}

_FIXED: dict[type[Body], str] = {
    Settled: "said.settled",
    Withdrawn: "said.withdrawn",
    Connected: "said.connected",
    Readback: "said.readback",
    Pinned: "said.pinned",
}


def describe(body: Body, names: Names | None = None) -> str:
    """What an entry says, in one line. A kind this program doesn't know, and an erased body, say so.

    names: opaque person id to name.
    """
    if isinstance(body, Unknown):
        return say("said.erased_body" if body.raw is None else "said.unknown")
    if type(body) in _FIXED:
        return say(_FIXED[type(body)])
    if isinstance(body, Skill | HandedOver):
        return _about_people(body, names if names is not None else {})
    return _SAYS[type(body)](body)


def _about_people(body: Skill | HandedOver, names: Names) -> str:
    if isinstance(body, HandedOver):
        person = names.get(body.to_person, body.to_person)
        key = f"said.handed_{body.stage}"
        return _with(say(key, person=person) if has_text(key) else body.stage, *body.six_lines)
    return say(
        "said.skill" if body.signed_off else "said.skill_back",
        person=names.get(body.person, body.person),
        skill=named("skill", body.skill),
        who=body.signed_by,
        day=day(body.signed_on),
    )
