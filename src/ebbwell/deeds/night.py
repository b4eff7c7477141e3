"""Deeds while blood runs: readings, events, what was given, stop now, off and on again. Nothing here is gated."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal

from ebbwell.core.errors import InputError, UnitError
from ebbwell.core.findings import Finding, Grade
from ebbwell.core.numbers import plain
from ebbwell.core.units import parse_unit
from ebbwell.deeds.after_stop import pump_question
from ebbwell.deeds.again import open_findings
from ebbwell.deeds.desk import Desk, ask_first
from ebbwell.deeds.dose_typed import dose_question, giver, read_given, read_ready_dose
from ebbwell.deeds.readings_due import time_question
from ebbwell.deeds.setup import _when
from ebbwell.deeds.typed_limits import without_suggestions
from ebbwell.journal.kinds.night import (
    BLOOD,
    BLOOD_WHILE_OFF,
    SYMPTOMS,
    WHY_NEW_SET,
    Event,
    Given,
    NewSet,
    Off,
    On,
    Reading,
    Stop,
)
from ebbwell.procedure.heparin_facts import heparin_by
from ebbwell.procedure.reading_facts import reading_facts, removed_by
from ebbwell.rulebook.evaluate import evaluate
from ebbwell.rulebook.own_units import entered
from ebbwell.rulebook.typed import Question, check_typed, read_quantity
from ebbwell.state.membrane import PRESSURE, form_now, name_of
from ebbwell.state.night import Phase, first_blood
from ebbwell.state.night_thinner import HEPARIN, LOW, READY_DOSE, kind_of, kinds_given
from ebbwell.state.own_past import recent

EXPECTED = {"fluid_removed": removed_by, "heparin_given": heparin_by}
"""What is read off the machine and can be worked out beforehand."""

PUMPED = ("heparin_first_dose",)
"""What is given into the running blood line."""


def read(
    desk: Desk,
    *,
    values: Mapping[str, str],
    missing: Mapping[str, str] | None = None,
    typed: Mapping[str, str] | None = None,
    words: str = "",
    when: str = "",
    sure: tuple[str, ...] = (),
    at: datetime | None = None,
    made_under: str = "",
) -> None:
    """Record a row of values, each as typed, and for those left out the reason.

    when: which reading of the night it is (``start``, ``min15``, ``min60``, ``waking``, ``before_off``), if one.
    typed: of a value that was asked about and taken with the other sign, what was typed at first.
    made_under: of a row that a screen held back without its server, the prescription and procedure that it showed.
    Asks about unusual values, and about a row called by a reading that is due at another time; never refuses a
    reading for the state of the night. Refuses only what can't be read.
    """
    if desk.treatment_id is None:
        desk.refuse("refuse.no_night")
    if not values and not missing and not words.strip():
        raise InputError("enter.reading")
    read_values: dict[str, Decimal] = {}
    for quantity, text in values.items():
        read_values[quantity] = read_quantity(desk.rulebook, quantity, text, None)[0]
    for quantity, text in (typed or {}).items():
        if read_quantity(desk.rulebook, quantity, text, None)[0] != -read_values.get(quantity, Decimal(0)):
            raise InputError("enter.only_sign", typed=text)
    taken = _when(desk, at)
    seen = taken or desk.now.at
    asked = ask_first((*time_question(desk, when, seen), *row_questions(desk, read_values, seen)), sure)
    desk.add(
        Reading(
            values={quantity: plain(value) for quantity, value in read_values.items()},
            missing=dict(missing or {}),
            asked=asked,
            typed=dict(typed or {}),
            words=words.strip(),
            when=when,
            made_under=made_under,
            entered={
                name: said for name, text in values.items() if (said := entered(desk.rulebook, name, text))
            },
            membrane_form=form_now(desk.standing) if PRESSURE in read_values else "",
        ),
        at=taken,
    )
    desk.findings.extend(_row_findings(desk, read_values, taken or desk.now.at, when=when))


def _row_findings(
    desk: Desk, values: Mapping[str, Decimal], at: datetime, *, alone: bool = False, when: str = ""
) -> list[Finding]:
    facts = reading_facts(
        desk.treatment, desk.standing, values, desk.rulebook, at, when, alone=desk.scene.alone
    )
    if alone:
        facts = {key: fact for key, fact in facts.items() if not key.endswith("@last")}
    return [f for f in evaluate(desk.scene.rulebook, facts) if f.grade is not Grade.UNKNOWN]


def row_questions(
    desk: Desk, values: Mapping[str, Decimal], at: datetime, *, alone: bool = False, form: str | None = None
) -> tuple[Question, ...]:
    """What to ask about a row taken at an instant before it is kept. values: in each quantity's unit.

    alone: of a value that is put right; it is held against no row before it. form: of its pressure across the membrane;
    None for the one that holds now.
    No other number is offered for one that a rule speaks of, and what the rule says is told instead: a true 210 must
    not be talked down to 120.
    """
    spoken: dict[str, Finding] = {}
    for grade in (Grade.STOP, Grade.CARE):
        for finding in _row_findings(desk, values, at, alone=alone):
            if finding.grade is grade:
                spoken.setdefault(finding.fact.partition("@")[0], finding)
    questions: list[Question] = []
    for quantity, value in values.items():
        others = {name: v for name, v in values.items() if name != quantity}
        by_then = EXPECTED.get(quantity)
        expected = by_then(desk.treatment, at) if by_then is not None else None
        name = (
            quantity if quantity != PRESSURE else name_of(form_now(desk.standing) if form is None else form)
        )
        own = recent(desk.past, name, before=desk.now.at)
        asked = check_typed(desk.rulebook, quantity, value, own=own, expected=expected, others=others)
        questions += without_suggestions(asked, spoken.get(quantity))
    return tuple(questions)


def note_event(
    desk: Desk,
    *,
    what: str,
    symptom: str = "",
    words: str = "",
    done: str = "",
    said_by: str = "carer",
    at: datetime | None = None,
    made_under: str = "",
) -> None:
    """Record that something happened: an alarm, a bad turn, a symptom. Refuses only an event without a word for it.

    symptom: one of ``SYMPTOMS``, where it is one; another word can't be read. made_under: as for ``read``.
    """
    if desk.treatment_id is None:
        desk.refuse("refuse.no_night")
    if not what.strip():
        raise InputError("enter.event")
    if symptom and symptom not in SYMPTOMS:
        raise InputError("enter.option", question="symptom", options=", ".join(SYMPTOMS))
    body = Event(
        what=what.strip(),
        symptom=symptom,
        words=words.strip(),
        done=done.strip(),
        said_by=said_by,
        made_under=made_under,
    )
    desk.add(body, at=_when(desk, at))


def give(
    desk: Desk,
    *,
    what: str,
    typed: str,
    unit: str,
    words: str = "",
    medicine: bool = False,
    ordered_by: str = "",
    at: datetime | None = None,
    sure: tuple[str, ...] = (),
) -> None:
    """Record something given: saline, a drink, a medicine. unit: one that is known in any spelling, or a word.

    Asks about what needs a running pump and is timed after it stopped, and about a dose of heparin that isn't the
    ordered one. A ready dose is a medicine: its unit may stand in ``typed`` (``4000 IU``), and without another name it
    was ordered by whoever gave the order in force.

    medicine: it is one; ordered_by: who ordered it, by name or office. One without is kept, with a finding.
    Refuses an amount that can't be read, and a medicine without its unit. Litres and millilitres count into the weight
    awaited after.
    """
    if desk.treatment_id is None:
        desk.refuse("refuse.no_night")
    if not what.strip():
        raise InputError("enter.given")
    if what.strip() == READY_DOSE:
        typed, unit = read_ready_dose(f"{typed} {unit}")
        medicine, ordered_by = True, ordered_by.strip() or giver(desk)
    amount = read_given(desk, what.strip() if unit == "units" else "", typed)
    if amount < 0:
        raise InputError("enter.amount", typed=typed)
    if medicine and not unit.strip():
        raise InputError("enter.unit_of_medicine")
    given = Given(
        what=what.strip(),
        amount=plain(amount),
        unit=_spelled(unit, medicine=medicine),
        words=words.strip(),
        medicine=medicine,
        ordered_by=ordered_by.strip(),
    )
    taken = _when(desk, at)
    pumped = pump_question(desk, taken or desk.now.at) if given.what in PUMPED else ()
    ask_first((*pumped, *dose_question(desk, given.what, amount, given.unit)), sure)
    desk.findings.extend(without_order(given, desk.add(given, at=taken)))
    desk.findings.extend(both_heparins(desk, given))


def both_heparins(desk: Desk, given: Given) -> tuple[Finding, ...]:
    """The finding that with what was given both kinds of heparin are on record for tonight; () for anything else.

    Source: fluids:A7 (never both kinds in one night).
    """
    if not kind_of(given.what) or not kinds_given(desk.treatment, (given,)) >= {HEPARIN, LOW}:
        return ()
    return evaluate(desk.scene.rulebook, {"both_heparins": True}, only={"both_heparins"})


def without_order(given: Given, *entries: str) -> tuple[Finding, ...]:
    """The finding that a medicine names nobody who ordered it; () for anything else. entries: ids that say it."""
    if not given.medicine or given.ordered_by:
        return ()
    return (Finding("medicine_without_order", Grade.CARE, (("medicine", given.what),), ("design",), entries),)


def _spelled(unit: str, *, medicine: bool) -> str:
    """A unit that is known in the spelling that sums go by; another word, such as "tablets", as typed.

    A medicine's unit stays as typed unless it is a volume: IU of one kind of heparin aren't units of another.
    Source: fluids:3.4 (units differ between products and are never converted).
    """
    try:
        known = parse_unit(unit)
    except UnitError:
        return unit.strip()
    return unit.strip() if medicine and known not in ("mL", "L") else known


def stop_now(
    desk: Desk, *, words: str = "", said_by: str = "carer", at: datetime | None = None, made_under: str = ""
) -> None:
    """Stop. From any state, by anyone, without a reason. Never refused. made_under: as for ``read``."""
    desk.add(
        Stop(words=words, said_by=said_by, made_under=made_under), at=at, standing=desk.treatment_id is None
    )
    desk.findings.append(Finding("stop_pressed", Grade.STOP, (), ("design",)))


def go_off(desk: Desk, *, words: str = "", blood: str = "", at: datetime | None = None) -> None:
    """Off for a while, to come on again with the same set. The time off is no treatment time.

    blood: ``circulating`` in the set, ``given_back``, or "" where nobody said. Refused only without a night; a word
    for the blood that is none can't be read.
    """
    if desk.treatment_id is None:
        desk.refuse("refuse.no_night")
    if blood and blood not in BLOOD_WHILE_OFF:
        raise InputError("enter.option", question="blood", options=", ".join(BLOOD_WHILE_OFF))
    desk.add(Off(words=words, blood=blood), at=_when(desk, at))


def go_on(desk: Desk, *, words: str = "", at: datetime | None = None) -> None:
    """On again. Refused only without a night: what has happened is recorded.

    What wasn't looked at again before it (``again.checks_again``), and what wasn't as wanted, is found and stays on
    the sheet.
    """
    if desk.treatment_id is None:
        desk.refuse("refuse.no_night")
    desk.add(On(words=words), at=_when(desk, at))
    if desk.phase is Phase.PAUSED:
        desk.findings.extend(open_findings(desk, "on_again"))


def runs_on(desk: Desk, *, words: str = "", at: datetime | None = None) -> None:
    """Blood runs on though a stop was noted: the stop stays on record as a note, and readings are due again.

    Refuses a night on which no stop holds.
    """
    desk.need_phase(Phase.STOPPING)
    if first_blood(desk.treatment) is None:
        desk.refuse("refuse.phase.stopping")
    desk.add(On(words=words), at=_when(desk, at))


def change_set(
    desk: Desk, *, words: str = "", why: str = "", blood_returned: str = "", at: datetime | None = None
) -> None:
    """A new set in mid-night; hours, fluid and heparin carry over. Its packs are ``use_lot(new_set=...)``.

    why: one of ``WHY_NEW_SET``; blood_returned: of the old set. Refused only without a night; other words for why and
    blood can't be read. What is looked at again with it: ``again.checks_again(desk, "new_set")``.
    """
    if desk.treatment_id is None:
        desk.refuse("refuse.no_night")
    if why and why not in WHY_NEW_SET:
        raise InputError("enter.option", question="why", options=", ".join(WHY_NEW_SET))
    if blood_returned and blood_returned not in BLOOD:
        raise InputError("enter.option", question="blood_returned", options=", ".join(BLOOD))
    changed = NewSet(words=words, why=why, blood_returned=blood_returned)
    desk.add(changed, at=_when(desk, at))
    desk.findings.extend(clotted_returned(changed))


def clotted_returned(changed: NewSet) -> tuple[Finding, ...]:
    """The finding that blood of a clotted set went back; () for anything else."""
    if changed.why != "clotted" or changed.blood_returned in ("", "none"):
        return ()
    return (Finding("clotted_blood_returned", Grade.STOP, (), ("practice:e",)),)
