"""Evidence and forms: one piece of evidence is one field on a page, and what was sent in it is one deed.

Each field has a one-time key and names the earlier entries that its page showed. A value that the page didn't show is
never put aside by it: then the two stand side by side until somebody settles them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import Any

from ebbwell.core.errors import EbbwellError, InputError
from ebbwell.core.numbers import parse_decimal
from ebbwell.core.text import has_text, say
from ebbwell.core.typed_times import label_date
from ebbwell.deeds import night, setup, upkeep
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.kit import last_lot
from ebbwell.journal.kinds.marks import CONTROLS, LotUsed, Measured
from ebbwell.papers.words import UNSHOWN, given_words, item_words, option_words, place_words
from ebbwell.procedure.evidence import SETTING, TESTS_FAILED
from ebbwell.procedure.model import Evidence, Step
from ebbwell.rulebook.own_units import field_unit, typed_unit
from ebbwell.state.chlorine_test import CONTROLLED_AT, QUANTITY
from ebbwell.state.packs import LastLot
from ebbwell.web.once import KEPT, LEFT, once, refuse, same, sent
from ebbwell.web.scan import read_scan
from ebbwell.web.times import past_time
from ebbwell.web.visit import Visit

LINKS = {
    "readback": "/prescription/read",
    "plan": "/plan",
    "reading": "/night/reading",
    "connected": "/connect",
    "came_off": "/off",
}
"""Evidence that has a page of its own."""

GIVEN_UNITS = {"heparin_first_dose": "units", "low_molecular_dose": "", "rinse_back": "L"}
"""What is given in a step, and the unit that its field is read in; "" where it is typed with the number."""


@dataclass(frozen=True)
class Field:
    """One field. seen: ids of the earlier entries that it shows or asks anew; again: there are such.

    kind: ``pick``, ``number``, ``lot``, ``tick``, ``wait``, ``clean`` or ``link``. method: offered from the last time.
    controls: what the reagent may have done in water from before the carbon, asked beside a test that may show nothing.
    lettered: a number that its unit is typed with.
    follows: a wait that begins by itself once what stands before it is kept; it asks only since when.
    """

    step: str
    evidence: Evidence
    kind: str
    label: str
    options: tuple[tuple[str, str], ...] = ()
    unit: str = ""
    seen: tuple[str, ...] = ()
    methods: tuple[tuple[str, str], ...] = ()
    method: str = ""
    controls: tuple[tuple[str, str], ...] = ()
    offered: LastLot | None = None
    measured: bool = False
    worded: bool = False
    follows: bool = False
    hint: str = ""
    lettered: bool = False

    @property
    def weighed(self) -> bool:
        """Whether it is a weight: then another scale, or other clothes, can be named beside it."""
        return self.measured and self.evidence.name in ("weight_before", "weight_after")

    @property
    def name(self) -> str:
        """Its name in the form, and its id on the page."""
        return field_name(self.step, self.evidence)

    @property
    def link(self) -> str:
        """The page where it is done, for a ``link``."""
        return LINKS[self.evidence.form]

    @property
    def again(self) -> bool:
        """Whether something stands on record for it already."""
        return bool(self.seen)


def minutes_of(wait: Evidence) -> int:
    """How long a wait is [min]."""
    return round(wait.length.total_seconds() / 60) if wait.length is not None else 0


def field_name(step: str, evidence: Evidence) -> str:
    """The name of a field: step, then what it is about, then where."""
    return ".".join(filter(None, (step, evidence.name or evidence.form, evidence.place)))


def fields(desk: Desk, step: Step, asked: Iterable[Evidence]) -> tuple[Field, ...]:
    """The fields for these pieces of evidence of a step."""
    made = [_field(desk, step, evidence) for evidence in asked]
    return tuple(_following(f) if f.kind == "wait" and n > 0 else f for n, f in enumerate(made))


def _following(f: Field) -> Field:
    """A wait that begins when the fields before it are kept: it asks nothing by itself."""
    return replace(f, follows=True, label=say("web.marks.wait_follows", minutes=minutes_of(f.evidence)))


def _field(desk: Desk, step: Step, evidence: Evidence) -> Field:
    form, name = evidence.form, evidence.name
    seen = seen_of(desk, step, evidence)
    if form in ("answer", "choice"):
        label = desk.procedure.say(f"ask.{name}" if form == "answer" else f"choice.{name}")
        options = picks(desk, name, step.options.get(name, ()))
        worded = name == TESTS_FAILED
        hint = say(f"web.marks.hint.{name}") if has_text(f"web.marks.hint.{name}") else ""
        return Field(step.id, evidence, "pick", label, options, seen=seen, worded=worded, hint=hint)
    if form == "measured":
        return _measured(desk, step, evidence, seen)
    if form == "setting":
        return Field(
            step.id, evidence, "number", say(f"setting.{name}"), unit=setting_unit(desk, name), seen=seen
        )
    if form == "lot":
        offered = last_lot(desk, name)
        return Field(
            step.id, evidence, "lot", capital(item_words(name)), seen=seen, offered=None if seen else offered
        )
    if form == "given":
        unit = GIVEN_UNITS.get(name, "mL")
        hint = "" if unit else say(f"web.marks.hint.{name}")
        label = capital(given_words(name))
        return Field(step.id, evidence, "number", label, unit=unit, hint=hint, lettered=not unit)
    if form == "disinfected":
        options = tuple((agent, say(f"agent.{agent}")) for agent in upkeep.AGENTS)
        return Field(step.id, evidence, "clean", say("web.marks.cleaned_with"), options=options)
    if form in LINKS:
        return Field(step.id, evidence, "link", say(f"web.marks.{form}"))
    if form == "wait":
        return Field(step.id, evidence, form, say("web.marks.wait", minutes=minutes_of(evidence)), seen=seen)
    return Field(step.id, evidence, form, say(f"web.marks.{form}"), seen=seen)


def _measured(desk: Desk, step: Step, evidence: Evidence, seen: tuple[str, ...]) -> Field:
    definition = desk.rulebook.quantity(evidence.name)
    options = picks(desk, evidence.name, definition.words)
    methods: tuple[tuple[str, str], ...] = ()
    method = ""
    if evidence.name == "total_chlorine":
        words = next((f.words for f in desk.rulebook.facts() if f.id == "total_chlorine_method"), ())
        methods = tuple((word, say(f"method.{word}")) for word in words)
        method = last_method(desk)
    first = (evidence.name, evidence.place) == (QUANTITY, CONTROLLED_AT)
    return Field(
        step.id,
        evidence,
        "pick" if options else "number",
        capital(place_words(evidence.name, evidence.place)),
        options=options,
        unit="" if definition.unit in UNSHOWN else field_unit(desk.rulebook, evidence.name),
        seen=seen,
        methods=methods,
        method=method,
        controls=tuple((word, say(f"control.{word}")) for word in CONTROLS) if first else (),
        measured=True,
    )


def picks(desk: Desk, name: str, words: Iterable[str]) -> tuple[tuple[str, str], ...]:
    """Words to pick from, each as it reads; for a household's own question in its own words."""
    own = desk.procedure.words
    return tuple((word, own.get(f"option.{name}.{word}") or option_words(name, word)) for word in words)


def capital(words: str) -> str:
    """Words as they begin a line; the trade writes pH with a small p everywhere."""
    return words if words.startswith("pH") else words[:1].upper() + words[1:]


def setting_unit(desk: Desk, line: str) -> str:
    """The unit that a machine setting is typed in."""
    known = {each.id: each for each in desk.rulebook.lines()}
    return typed_unit(desk.rulebook, known[line] if line in known else desk.rulebook.quantity(line))


def last_method(desk: Desk) -> str:
    """How total chlorine was read the last time tonight: meter, strip or drops; "" for the first time."""
    read = [f.body for f in desk.treatment.of("measured") if isinstance(f.body, Measured)]
    return next((b.method for b in reversed(read) if b.quantity == "total_chlorine" and b.method), "")


def seen_of(desk: Desk, step: Step, evidence: Evidence) -> tuple[str, ...]:
    """Ids of what stands on record where this piece of evidence goes."""
    form, name = evidence.form, evidence.name
    if form == "lot":
        held = [(f.id, f.body) for f in desk.treatment.of("lot_used") if isinstance(f.body, LotUsed)]
        return tuple(entry for entry, body in held if body.item == name and not body.new_set)
    slot: tuple[str, ...] = {
        "answer": ("answer", name),
        "choice": ("choice", step.id, name),
        "measured": ("measured", name, evidence.place),
        "setting": ("measured", name, SETTING),
    }.get(form, ())
    return tuple(f.id for f in desk.treatment.at_slot(*slot)) if slot else ()


# -- what was sent ------------------------------------------------------------------------------------------------


def filled(visit: Visit, f: Field) -> bool:
    """Whether a person filled in anything of a field."""
    if f.kind == "lot":
        offered = (f.offered.code, f.offered.lot, f.offered.expiry) if f.offered is not None else ("", "", "")
        typed = tuple(sent(visit, f.name, part) for part in ("code", "lot", "expiry"))
        return bool(sent(visit, f.name, "intact") or sent(visit, f.name, "scan")) or typed not in (
            offered,
            ("", "", ""),
        )
    if f.kind == "wait":
        return bool(sent(visit, f.name) or sent(visit, f.name, "at"))
    if f.kind == "clean":
        return any(sent(visit, f.name, part) for part in ("agent", "minutes", "ended"))
    return bool(sent(visit, f.name) or sent(visit, f.name, "not"))


def keep(visit: Visit, f: Field) -> str:
    """Do the deed of one field, if it was filled in. Gives LEFT, KEPT or NOT_KEPT."""
    if not filled(visit, f):
        return LEFT
    try:
        deed, inputs = _DEEDS[f.kind](visit, f)
    except EbbwellError as why:
        return refuse(visit, f.name, why)
    return once(visit, deed, field=f.name, **inputs)


def sent_before(visit: Visit, f: Field) -> str:
    """What came of a field that isn't asked any more: KEPT where this very form kept it, as on a second tap."""
    if not filled(visit, f):
        return LEFT
    key = sent(visit, f.name, "key").lower()
    try:
        deed, inputs = _DEEDS[f.kind](visit, f)
    except EbbwellError as why:
        return refuse(visit, f.name, why)
    if visit.desk.treatment.fact(key) is None:
        return refuse(visit, f.name, InputError("web.marks.not_asked"))
    return (
        KEPT
        if same(visit, key, deed, inputs)
        else refuse(visit, f.name, InputError("web.marks.saved_before"))
    )


def _seen(visit: Visit, f: Field) -> tuple[str, ...]:
    return tuple(sent(visit, f.name, "seen").split())


def _pick(visit: Visit, f: Field) -> tuple[Callable[..., None], dict[str, Any]]:
    if f.measured:
        return _number(visit, f)
    name, chosen, seen = f.evidence.name, sent(visit, f.name), _seen(visit, f)
    if f.evidence.form == "choice":
        return setup.choose, {"step": f.step, "name": name, "option": chosen, "instead_of": seen}
    inputs = {"question": name, "answer": chosen, "step": f.step, "instead_of": seen}
    return setup.answer, {**inputs, "words": sent(visit, f.name, "words")}


def _number(visit: Visit, f: Field) -> tuple[Callable[..., None], dict[str, Any]]:
    typed, seen = sent(visit, f.name), _seen(visit, f)
    if f.evidence.form == "setting":
        return setup.set_machine, {"line": f.evidence.name, "typed": typed, "instead_of": seen}
    if f.evidence.form == "given":
        at = past_time(sent(visit, f.name, "at"), visit.desk.now)
        sure = as_typed(visit, f.name)
        return night.give, {"what": f.evidence.name, "typed": typed, "unit": f.unit, "at": at, "sure": sure}
    reason = sent(visit, f.name, "not")
    if typed and reason:
        raise InputError("web.marks.one_of_two")
    inputs: dict[str, Any] = {
        "quantity": f.evidence.name,
        "place": f.evidence.place,
        "not_measured": reason,
        "instead_of": seen,
    }
    if reason:
        return setup.measure, inputs
    if f.weighed and sent(visit, f.name, "device"):
        inputs["device"] = " ".join(sent(visit, f.name, "device").split())[:80]
    if f.methods:
        method = sent(visit, f.name, "method")
        if method not in dict(f.methods):
            raise InputError("web.marks.method")
        inputs |= {"method": method, **_test_pack(visit.desk)}
    if f.controls:
        inputs["control"] = sent(visit, f.name, "control")
    return setup.measure, {**inputs, "typed": typed, "sure": as_typed(visit, f.name)}


def _test_pack(desk: Desk) -> dict[str, str]:
    """Lot and use-by date of tonight's chlorine test, which a value is kept with."""
    packs = [f.body for f in desk.treatment.of("lot_used") if isinstance(f.body, LotUsed)]
    tests = [pack for pack in packs if pack.item == "chlorine_test"]
    return {"lot": tests[-1].lot, "expiry": tests[-1].expiry} if tests else {}


def as_typed(visit: Visit, name: str) -> tuple[str, ...]:
    """Keys of the questions that "it is as I typed it" answers: for this field, and the value that was asked about."""
    confirmed = sent(visit, "as_typed") == name and sent(visit, name, "asked") == sent(visit, name)
    return tuple(visit.many.get(f"{name}.sure", ())) if confirmed else ()


def _lot(visit: Visit, f: Field) -> tuple[Callable[..., None], dict[str, Any]]:
    code, lot, expiry = (sent(visit, f.name, part) for part in ("code", "lot", "expiry"))
    scanned = False
    label = sent(visit, f.name, "scan")
    if label:
        read = read_scan(label)
        offered = f.offered
        if offered is not None and (code, lot, expiry) == (offered.code, offered.lot, offered.expiry):
            code = lot = expiry = ""
        code, lot, expiry = read.code, read.lot or lot, read.expiry or expiry
        scanned = True
    intact = sent(visit, f.name, "intact")
    if intact not in ("yes", "no"):
        raise InputError("web.marks.intact")
    if not code:
        raise InputError("web.marks.code")
    inputs: dict[str, Any] = {
        "item": f.evidence.name,
        "code": code,
        "lot": lot,
        "expiry": label_date(expiry) if expiry else "",
        "intact": intact == "yes",
        "scanned": scanned,
        "instead_of": _seen(visit, f),
    }
    return setup.use_lot, inputs


def _tick(_: Visit, f: Field) -> tuple[Callable[..., None], dict[str, Any]]:
    return setup.tick, {"step": f.step}


def _wait(visit: Visit, f: Field) -> tuple[Callable[..., None], dict[str, Any]]:
    return setup.start_wait, {"step": f.step, "at": past_time(sent(visit, f.name, "at"), visit.desk.now)}


def _clean(visit: Visit, f: Field) -> tuple[Callable[..., None], dict[str, Any]]:
    ended = past_time(sent(visit, f.name, "ended"), visit.desk.now) or visit.desk.now.at
    minutes = parse_decimal(sent(visit, f.name, "minutes"))
    inputs = {"agent": sent(visit, f.name, "agent"), "ended_at": ended}
    return upkeep.disinfect, {
        **inputs,
        "what": say("web.marks.machine"),
        "started_at": ended - timedelta(minutes=float(minutes)),
    }


_DEEDS: dict[str, Callable[[Visit, Field], tuple[Callable[..., None], dict[str, Any]]]] = {
    "pick": _pick,
    "number": _number,
    "lot": _lot,
    "tick": _tick,
    "wait": _wait,
    "clean": _clean,
}
"""Kind of field to the deed that keeps it."""
