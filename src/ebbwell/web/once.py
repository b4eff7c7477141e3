"""One field of a form, one deed, once: under the field's one-time key, however often the form comes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from ebbwell.core.errors import EbbwellError, InputError
from ebbwell.core.text import say
from ebbwell.deeds import night, orders, rereading, setup, upkeep
from ebbwell.deeds.connect import connect
from ebbwell.papers.spoken import error_words
from ebbwell.procedure.evidence import same_value
from ebbwell.web.visit import Trouble, Visit

LEFT, KEPT, NOT_KEPT = "left", "kept", "not_kept"
"""What came of a field: nothing was filled in; it is on record; it isn't, and the visit's troubles say why."""


def sent(visit: Visit, name: str, part: str = "") -> str:
    """What was typed or picked in a field, or in a part of it, without the blanks around it."""
    return visit.typed.get(f"{name}.{part}" if part else name, "").strip()


def once(visit: Visit, deed: Callable[..., None], *, field: str, **inputs: Any) -> str:
    """Do a deed under the one-time key that the form has for a field. Gives KEPT or NOT_KEPT.

    Without a key nothing is kept. A key that kept something else before keeps nothing now, and that is told.
    """
    key = sent(visit, field, "key")
    if not key:
        return refuse(visit, field, InputError("web.marks.no_key"))
    done = visit.do(deed, field=field, key=key, **inputs)
    if done is None:
        why = visit.troubles[-1]
        if why.sure:
            visit.troubles[-1] = replace(why, sure=(*inputs.get("sure", ()), *why.sure))
        return NOT_KEPT
    if done.repeated and not same(visit, done.entries[0], deed, inputs):
        return refuse(visit, field, InputError("web.marks.saved_before"))
    return KEPT


def from_tonight(visit: Visit) -> bool:
    """Whether a form was made for the night that is open. A tab of another night keeps nothing here."""
    if sent(visit, "night") == (visit.desk.treatment_id or "") != "":
        return True
    visit.troubles.append(Trouble(say("web.setup.other_night")))
    return False


def refuse(visit: Visit, field: str, why: EbbwellError) -> str:
    """Note why a field wasn't kept."""
    visit.troubles.append(Trouble(error_words(why), field))
    return NOT_KEPT


WRITES: dict[Callable[..., None], str] = {
    setup.answer: "answer",
    setup.choose: "choice",
    setup.measure: "measured",
    setup.set_machine: "measured",
    setup.use_lot: "lot_used",
    setup.tick: "tick",
    setup.start_wait: "waited",
    setup.skip: "skipped",
    orders.advise: "advice",
    rereading.second_check: "second_check",
    night.give: "given",
    upkeep.disinfect: "disinfected",
    connect: "connected",
}
"""Deed to the kind of entry that it writes."""

BY_WAY = frozenset({"instead_of", "sure", "at", "started_at", "ended_at", "photo", "values"})
"""Inputs that aren't compared when a form comes a second time; values of a second reading are, as figures."""


def same(visit: Visit, entry: str, deed: Callable[..., None], inputs: dict[str, Any]) -> bool:
    """Whether an entry is what this deed wrote, and says what a form that came again says."""
    fact = visit.desk.treatment.fact(entry)
    if fact is None or fact.kind != WRITES.get(deed):
        return False
    said = getattr(fact.body, "values", {})
    for name, value in inputs.get("values", {}).items():
        if not same_value(value.replace(",", "."), said.get(name, "")):
            return False
    names = {"line": "quantity"}
    compared = {name: value for name, value in inputs.items() if name not in BY_WAY}
    held = {name: getattr(fact.body, names.get(name, name), None) for name in compared}
    return all(value is None or value == compared[name] for name, value in held.items())
