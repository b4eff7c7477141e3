"""What of an entry can be put right by a correction, and reading the new words like fresh ones.

What an entry is about, what it rests on and what it allows can't be changed in this way: then the deed is done anew,
through its own guards.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

from ebbwell.core.clock import elapsed
from ebbwell.core.errors import InputError
from ebbwell.core.numbers import parse_decimal, plain
from ebbwell.deeds.chlorine_test import steps_of
from ebbwell.deeds.desk import Desk, ask_first
from ebbwell.deeds.dose_typed import dose_question, read_given, read_ready_dose
from ebbwell.deeds.night import _spelled, row_questions
from ebbwell.deeds.orders import odd_lines
from ebbwell.deeds.readings_due import known_names, time_question
from ebbwell.deeds.setup import expected_value
from ebbwell.deeds.typed_limits import past_limit, without_suggestions
from ebbwell.journal.kinds.bedside import SAMPLE_HOW, SAMPLE_WHEN, WHY_BY_HAND
from ebbwell.journal.kinds.marks import CONTROLS, Answer, Choice, Measured
from ebbwell.journal.kinds.night import BLOOD, BLOOD_WHILE_OFF, SYMPTOMS, WHY_NEW_SET, Given, Reading
from ebbwell.journal.kinds.orders import LineAmended, Prescription
from ebbwell.plan.clock_times import clock
from ebbwell.procedure.evidence import SETTING
from ebbwell.rulebook.own_units import entered
from ebbwell.rulebook.typed import Question, check_typed, read_line, read_quantity
from ebbwell.state.chlorine_test import QUANTITY
from ebbwell.state.facts import Fact
from ebbwell.state.membrane import PRESSURE, form_now
from ebbwell.state.night_thinner import READY_DOSE
from ebbwell.state.own_past import recent

FIELDS: Mapping[str, frozenset[str]] = {
    "household": frozenset({"name"}),
    "person": frozenset({"name"}),
    "skill": frozenset({"signed_by", "signed_on"}),
    "prescription": frozenset({"number", "giver", "valid_from", "lines", "free_text"}),
    "line_amended": frozenset({"value", "read_back", "giver", "tonight_only"}),
    "advice": frozenset({"who", "words"}),
    "answer": frozenset({"answer", "words", "said_by"}),
    "measured": frozenset({"value", "not_measured", "method", "device", "lot", "expiry", "control"}),
    "tick": frozenset({"note"}),
    "skipped": frozenset({"reason", "unit"}),
    "choice": frozenset({"option"}),
    "lot_used": frozenset({"code", "lot", "expiry", "intact", "photo"}),
    "lot_recalled": frozenset({"item", "lot", "told_by"}),
    "happened": frozenset({"words"}),
    "already_running": frozenset({"words"}),
    "reading": frozenset({"values", "missing", "words", "when"}),
    "event": frozenset({"what", "symptom", "words", "done", "said_by"}),
    "given": frozenset({"what", "amount", "unit", "words", "ordered_by"}),
    "stop": frozenset({"words", "said_by"}),
    "off": frozenset({"words", "blood"}),
    "on": frozenset({"words"}),
    "new_set": frozenset({"words", "why", "blood_returned"}),
    "came_off": frozenset({"times", "blood_returned", "words"}),
    "closed": frozenset({"words"}),
    "disinfected": frozenset({"what", "lot"}),
    "not_tonight": frozenset({"words"}),
    "annotation": frozenset({"words"}),
    "rechecked": frozenset({"option", "words"}),
    "blood_by_hand": frozenset({"why", "started_at", "ended_at", "amount", "words"}),
    "sample_due": frozenset({"ordered_by", "words"}),
    "sample_taken": frozenset({"when", "label", "how", "words"}),
    "emergency_details": frozenset(
        {"number", "address", "how_to_find", "unit_number", "unit_hours", "unit_other"}
    ),
    "water_report": frozenset({"laboratory", "port", "words"}),
    "microbe_result": frozenset({"drawn_at", "laboratory", "words"}),
    "carbon_changed": frozenset({"lot", "words"}),
    "water_notice": frozenset({"told_by", "words"}),
    "filter_pressure": frozenset({"words"}),
    "water_set": frozenset({"schedule"}),
    "blood_result": frozenset({"laboratory", "words"}),
    "blood_target": frozenset({"giver", "words"}),
    "urine_collected": frozenset({"words"}),
    "dialyser_figures": frozenset({"stands_in", "words"}),
    "membrane_form": frozenset({"words"}),
    "flow_short": frozenset({"measured_by", "measured_on"}),
}
"""Kind to the fields that a correction may name; every kind's time (``at``) may be corrected besides."""

PICKED: Mapping[tuple[str, str], tuple[str, ...]] = {
    ("event", "symptom"): ("", *SYMPTOMS),
    ("measured", "control"): ("", *CONTROLS),
    ("off", "blood"): ("", *BLOOD_WHILE_OFF),
    ("new_set", "why"): ("", *WHY_NEW_SET),
    ("new_set", "blood_returned"): ("", *BLOOD),
    ("came_off", "blood_returned"): BLOOD,
    ("blood_by_hand", "why"): WHY_BY_HAND,
    ("sample_taken", "when"): SAMPLE_WHEN,
    ("sample_taken", "how"): ("", *SAMPLE_HOW),
}
"""Kind and field that hold one of several words."""

ANOTHER = "another"
"""What is picked for a reading that is none of those asked for."""

INSIDE = frozenset({"lines", "values", "missing", "times"})
"""Fields that hold several things by name, each corrected as ``field.name``."""


def read_changes(desk: Desk, fact: Fact, changes: Mapping[str, str], sure: tuple[str, ...]) -> dict[str, str]:
    """The changes in the form in which they are stored. Raises Asked as a fresh value does.

    Raises InputError for a field that the kind hasn't or that can't be corrected, and for what can't be read.
    """
    allowed = FIELDS.get(fact.kind, frozenset()) | {"at"}
    strange = [name for name in changes if not _is_field(name, allowed)]
    if strange:
        raise InputError("enter.field", fields=", ".join(sorted(strange)))
    out: dict[str, str] = {}
    questions: list[Question] = []
    for name, typed in changes.items():
        out |= _read(desk, fact, name, typed, questions)
    ask_first(tuple(questions), sure)
    return out


def _is_field(name: str, allowed: frozenset[str]) -> bool:
    head, dot, inner = name.partition(".")
    return head in allowed and (bool(dot and inner) if head in INSIDE else not dot)


def _read(desk: Desk, fact: Fact, name: str, typed: str, questions: list[Question]) -> dict[str, str]:
    body = fact.body
    head, _, inner = name.partition(".")
    if head in ("at", "times", "started_at", "ended_at"):
        return {name: instant(desk, name, typed)}
    if isinstance(body, Measured) and head == "value":
        return _value(desk, body, typed, questions)
    if isinstance(body, Reading) and head == "values":
        value, _, _ = read_quantity(desk.rulebook, inner, typed, None)
        form = body.membrane_form if PRESSURE in body.values else form_now(desk.standing)
        questions += row_questions(desk, {inner: value}, fact.at, alone=True, form=form)
        return {
            name: plain(value),
            **_entered(desk, inner, typed, f"entered.{inner}", body.entered.get(inner, "")),
            **({"membrane_form": form} if inner == PRESSURE and form else {}),
        }
    if isinstance(body, Reading) and head == "when":
        if typed not in (ANOTHER, *known_names(desk)):
            raise InputError("enter.which_reading", typed=typed)
        called = "" if typed == ANOTHER else typed
        questions += time_question(desk, called, fact.at)
        return {name: called}
    if isinstance(body, Prescription) and head == "lines":
        if not typed.strip() and not desk.rulebook.line(inner).needed(body.lines):
            return {name: ""}
        return {name: _line(desk, inner, typed, questions)}
    if isinstance(body, LineAmended) and head in ("value", "read_back"):
        return {name: _line(desk, body.line, typed, questions)}
    if isinstance(body, LineAmended) and head == "tonight_only":
        return {name: _lasts(fact, typed)}
    if isinstance(body, Answer) and head == "answer":
        _one_of(desk, body.step, body.question, typed)
    if isinstance(body, Choice) and head == "option":
        _one_of(desk, body.step, body.name, typed)
    if head == "amount":
        amount = read_given(desk, body.what, typed) if isinstance(body, Given) else parse_decimal(typed)
        questions += dose_question(desk, body.what, amount, body.unit) if isinstance(body, Given) else ()
        if amount < 0:
            raise InputError("enter.amount", typed=typed)
        return {name: plain(amount)}
    if isinstance(body, Given) and head == "unit":
        if body.what == READY_DOSE:
            return {name: read_ready_dose(f"{body.amount} {typed}")[1]}
        return {name: _spelled(typed, medicine=body.medicine)}
    if head in ("valid_from", "signed_on"):
        _date(head, typed)
    if (fact.kind, head) in PICKED and typed not in PICKED[fact.kind, head]:
        raise InputError("enter.option", question=head, options=", ".join(PICKED[fact.kind, head]))
    return {name: typed.strip()}


def _line(desk: Desk, line: str, typed: str, questions: list[Question]) -> str:
    """A line of the order in its plain form, asked about as when it was first typed."""
    value = read_line(desk.rulebook, line, typed)
    questions += [question for _, question in odd_lines(desk, {line: value})]
    return value


def _lasts(fact: Fact, typed: str) -> str:
    """Whether a changed line holds for its night alone. One that took the place of another can't give it back."""
    if typed not in ("true", "false"):
        raise InputError("enter.option", question="tonight_only", options="true, false")
    if typed == "true" and fact.first.envelope.replaces:
        raise InputError("enter.taken_down_anew")
    return typed


def _value(desk: Desk, body: Measured, typed: str, questions: list[Question]) -> dict[str, str]:
    """A measured value, read as it is when it is first typed; where there was none, it is measured now."""
    now_measured = {"not_measured": ""} if body.not_measured else {}
    if body.place == SETTING and body.quantity in {line.id for line in desk.rulebook.lines()}:
        set_to = read_line(desk.rulebook, body.quantity, typed)
        return {"value": set_to, **_entered(desk, body.quantity, typed, "entered", body.entered)}
    definition = desk.rulebook.quantity(body.quantity)
    if typed in definition.words:
        return {"value": typed, **now_measured}
    value, below, unit = read_quantity(desk.rulebook, body.quantity, typed, None)
    name = f"{body.quantity}@{body.place}" if body.place else body.quantity
    own = recent(desk.past, name, before=desk.now.at)
    expected = expected_value(desk, body.quantity)
    asked = check_typed(desk.rulebook, body.quantity, value, own=own, expected=expected, below=below)
    questions += without_suggestions(asked, past_limit(desk, name, value, unit))
    out = {"value": plain(value), **now_measured}
    out |= _entered(desk, body.quantity, typed, "entered", body.entered)
    if body.quantity == QUANTITY:
        steps = steps_of(desk, value, below=below, method=body.method)
        out |= {"steps": steps} if steps != body.steps else {}
    if unit != body.unit:
        out["unit"] = unit
    if below != body.below:
        out["below"] = "true" if below else "false"
    return out


def _entered(desk: Desk, name: str, typed: str, field: str, before: str) -> dict[str, str]:
    """What was typed in another unit than it is kept in goes with the value that it stands for."""
    now = entered(desk.rulebook, name, typed)
    return {field: now} if now != before else {}


def _one_of(desk: Desk, step: str, name: str, typed: str) -> None:
    options = desk.procedure.step(step).options.get(name, ()) if desk.procedure.has(step) else ()
    if options and typed not in options:
        raise InputError("enter.option", question=name, options=", ".join(options))


def _date(name: str, typed: str) -> None:
    try:
        date.fromisoformat(typed)
    except ValueError as why:
        raise InputError(f"enter.{name}", typed=typed) from why


def instant(desk: Desk, name: str, typed: str) -> str:
    """A corrected time as a UTC instant in text; one typed without a zone stands on the home's clock.

    Raises InputError for what isn't a time, and for one still to come.
    """
    try:
        at = datetime.fromisoformat(typed.strip())
    except ValueError as why:
        raise InputError("enter.field", fields=name) from why
    if at.tzinfo is None:
        at = at.replace(tzinfo=ZoneInfo(desk.now.zone))
    if elapsed(at, desk.now.at).total_seconds() < -120:
        raise InputError("enter.future", at=clock(at, desk.now.zone))
    return at.astimezone(UTC).isoformat()
