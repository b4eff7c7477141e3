"""A vial of another strength than the ordered one: what the planned millilitres from it would hold."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from ebbwell.core.numbers import plain
from ebbwell.core.text import say
from ebbwell.core.thousands import thousands
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.marks import Measured
from ebbwell.procedure.evidence import find
from ebbwell.procedure.model import Step
from ebbwell.science.catalogue import work
from ebbwell.state.night_thinner import STRENGTH


def strength_apart(desk: Desk, step: Step, *, told: bool = False) -> Iterator[str]:
    """For each strength that was read in a step and isn't the ordered one, the sum in words.

    told: both strengths are said just before; only what the same millilitres would hold is said.

    The millilitres are those of the order at its strength. Nothing is worked out to be drawn from another vial.
    Source: fluids:3.3 (a 5 or 25-fold error), practice:H29.
    """
    order = desk.scene.order
    ordered = _number(order.lines.get(STRENGTH, "")) if order is not None else None
    rate = _number(order.lines.get("heparin_rate", "")) if order is not None else None
    if ordered is None:
        return
    for evidence in step.evidence:
        if (evidence.form, evidence.name) != ("measured", STRENGTH):
            continue
        for fact in find(desk.scene, step, evidence):
            read = _number(fact.body.value) if isinstance(fact.body, Measured) else None
            if read is not None and read != ordered:
                yield _words(read, ordered, rate, told=told)


def _words(read: Decimal, ordered: Decimal, rate: Decimal | None, *, told: bool) -> str:
    times = work("strength_ratio", {"vial_units_ml": read, "prescribed_units_ml": ordered}).value
    volume = work("heparin_rate_ml", {"rate_units_h": rate, "strength_units_ml": ordered}).value
    would = work("heparin_rate_units", {"rate_ml_h": volume, "strength_units_ml": read}).value
    first = say("said.strength_same_ml", times=_plain(times) if times else "?")
    if not told:
        first = f"{say('said.strength_apart', read=plain(read), ordered=plain(ordered))} {first}"
    if would is None or rate is None or not rate:
        return thousands(first)
    more = say("said.strength_apart_rate", would=_plain(would), rate=plain(rate), ml=_plain(volume or rate))
    return thousands(f"{first} {more}")


def _plain(value: Decimal) -> str:
    return plain(value.quantize(Decimal("0.001")).normalize() + 0)


def _number(text: str) -> Decimal | None:
    return Decimal(text) if text.replace(".", "", 1).isdigit() else None
