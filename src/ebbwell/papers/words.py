"""Values, steps and times in words, for the sheet and the screen."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Mapping
from datetime import timedelta
from decimal import Decimal

from ebbwell.core.reader import reader
from ebbwell.core.text import has_text, say
from ebbwell.core.thousands import thousands
from ebbwell.core.when import day as day
from ebbwell.core.when import when_words as when_words
from ebbwell.journal.kinds.marks import Measured
from ebbwell.journal.kinds.night import Reading
from ebbwell.papers.own_figures import both_text, own_text
from ebbwell.plan.clock_times import clock as clock
from ebbwell.procedure.model import Procedure
from ebbwell.rulebook.load import load_rulebook
from ebbwell.rulebook.model import Rulebook
from ebbwell.rulebook.own_units import limit_apart, limit_substance, said
from ebbwell.state.fields import READING_ORDER as READING_ORDER
from ebbwell.state.membrane import PRESSURE, parts_of

WIDTH = 78
"""Columns that text is broken to; a terminal has 80."""

UNSHOWN = frozenset({"pH", "tries"})
"""Units that the label says already."""

Names = Mapping[str, str]
"""Opaque person id to name."""


def wrap(text: str, *, first: str = "", rest: str | None = None, width: int = WIDTH) -> list[str]:
    """Text broken into lines. first, rest: what stands before the first line and before the others."""
    hang = " " * len(first) if rest is None else rest
    out: list[str] = []
    for part in text.split("\n"):
        lead = hang if out else first
        lines = textwrap.wrap(
            part, width, initial_indent=lead, subsequent_indent=hang, break_on_hyphens=False
        )
        out += lines or [lead.rstrip()]
    return out


def span(length: timedelta) -> str:
    """A length of time in hours and minutes: ``7 h 30 min``."""
    hours, minutes = divmod(round(length.total_seconds() / 60), 60)
    return f"{hours} h {minutes:02d} min" if hours else f"{minutes} min"


def named(kind: str, name: str) -> str:
    """What a name of the record is called, such as ``quantity`` ``pulse``; the bare name where a newer program
    wrote one that this one has no words for."""
    key = f"{kind}.{name}"
    return say(key) if has_text(key) else name


def unit_words(quantity: str, book: Rulebook) -> str:
    """The unit of a quantity; nothing for one that this program doesn't know."""
    return next((q.unit for q in book.quantities() if q.id == quantity), "")


def step_words(procedure: Procedure, step_id: str) -> str:
    """A step by its id and what is to be done: ``S5 Test the water ...``."""
    key = f"step.{step_id}.do"
    return (
        f"{step_id} {procedure.say(key).rstrip('.')}" if has_text(key) or key in procedure.words else step_id
    )


def steps_words(procedure: Procedure, ids: Iterable[str]) -> str:
    """Several steps, one after the other."""
    return "; ".join(step_words(procedure, step_id) for step_id in ids)


def place_words(quantity: str, place: str = "") -> str:
    """What is measured, and where: ``total chlorine, after tank 1``; or set: ``sodium, as set on the machine``."""
    setting = f"setting.{quantity}"
    words = say(setting) if place == "setting" and has_text(setting) else named("quantity", quantity)
    words = words[:1].lower() + words[1:] if place == "setting" else words
    return f"{words}, {say(f'place.{place}')}" if place and has_text(f"place.{place}") else words


def slot_words(name: str) -> str:
    """A name with its place as it stands in a reason: ``total_chlorine.tank1`` or ``S3.supply_pressure``."""
    base, _, rest = name.partition(".")
    for key in (f"slot.{base}", f"quantity.{base}", f"item.{base}", f"ask.{base}", f"line.{base}"):
        if has_text(key):
            return f"{say(key)}, {say(f'place.{rest}')}" if rest and has_text(f"place.{rest}") else say(key)
    if rest and has_text(f"choice.{rest}"):
        return say(f"choice.{rest}")
    return name


def option_words(name: str, option: str) -> str:
    """A picked word as it reads."""
    key = f"option.{name}.{option}"
    return say(key) if has_text(key) else option


def item_words(item: str) -> str:
    """An item that is opened."""
    return named("item", item)


def given_words(what: str) -> str:
    """What went in."""
    return named("given", what)


def line_words(line: str, value: str, rulebook: Rulebook | None = None) -> str:
    """A line of the prescription with its value and unit: ``Target weight 64.5 kg``."""
    return f"{named('line', line)} {line_value(line, value, rulebook)}"


def line_value(line: str, value: str, rulebook: Rulebook | None = None) -> str:
    """The value of a prescription line with its unit, in the household's unit first; a word as it reads."""
    if has_text(f"option.{line}.{value}"):
        return say(f"option.{line}.{value}")
    book = rulebook if rulebook is not None else load_rulebook()
    known = next((known for known in book.lines() if known.id == line), None)
    if known is not None and known.kind == "number" and book.units:
        return thousands(said(book, known, Decimal(value)))
    if known is not None and known.kind == "number":
        return both_text(f"{value} {known.unit}".rstrip())
    return f"{value} {known.unit if known is not None else ''}".rstrip()


def limit_value(limit: str, value: str, unit: str) -> str:
    """A figure of a limit with its unit; one that says how far two values may lie apart is a difference."""
    book = load_rulebook()
    apart, substance = limit_apart(book, limit), limit_substance(book, limit)
    return both_text(f"{value} {unit}".rstrip(), substance, apart=apart)


def measured_words(body: Measured) -> str:
    """A measured value with its unit, or why there is none; typed in another unit with both: ``142.2 lb = 64.5 kg``."""
    if body.not_measured:
        return say("said.not_measured", reason=body.not_measured)
    if not body.value:
        return say("said.nothing")
    if has_text(f"option.{body.quantity}.{body.value}"):
        return say(f"option.{body.quantity}.{body.value}").lower()
    unit = "" if body.unit in UNSHOWN else body.unit
    kept = thousands(f"{'<' if body.below else ''}{body.value} {unit}".rstrip())
    return _with_entered(kept, body.entered) or (
        kept if body.below else kept_words(body.quantity, body.value, unit)
    )


def how_tested(body: Measured, *, method: bool = False) -> str:
    """Behind a tested value in brackets: the steps of its test, and what the control did; "" where none is on record.

    method: whether the way it was measured stands first.
    """
    parts = [body.method] if method and body.method else []
    if body.steps:
        parts.append(say("said.steps", steps=body.steps, unit=body.unit))
    if body.control:
        key = f"said.control.{body.control}"
        parts.append(say(key) if has_text(key) else body.control)
    return f" ({'; '.join(parts)})" if parts else ""


def _with_entered(kept: str, entered: str) -> str:
    """A kept value with the one that was typed in another unit; "" where none was."""
    if not entered:
        return ""
    return f"{kept} = {entered}" if reader().kept_first else f"{entered} = {kept}"


def kept_words(quantity: str, value: str, unit: str) -> str:
    """A value of a quantity that was typed in its own unit, and as the reader has it; text that is no number stays."""
    known = next((one for one in load_rulebook().quantities() if one.id == quantity), None)
    return both_text(f"{value} {unit}".rstrip(), known.substance if known is not None else "")


def in_order(names: Iterable[str]) -> list[str]:
    """Names of a reading's fields in the order of the sheet."""
    place = {name: n for n, name in enumerate(READING_ORDER)}
    return sorted(names, key=lambda name: (place.get(name, len(place)), name))


def reading_words(body: Reading) -> str:
    """A row of values in one line; the two blood pressures stand together."""
    book = load_rulebook()
    values = dict(body.values)
    parts = []
    if "systolic" in values and "diastolic" in values:
        both = f"{values.pop('systolic')}/{values.pop('diastolic')}"
        parts.append(say("said.pressure", both=both))
    for name in in_order(values):
        unit = unit_words(name, book)
        kept = thousands(f"{values[name]} {unit}".rstrip())
        said = _with_entered(kept, body.entered.get(name, "")) or kept_words(name, values[name], unit)
        words = f"{named('quantity', name)} {said}"
        if name == PRESSURE and body.membrane_form:
            words = f"{words} ({form_words(body.membrane_form)})"
        first = body.typed.get(name, "")
        parts.append(say("said.sign_taken", value=words, typed=first) if first else words)
    parts += [
        f"{named('quantity', name)}: {say('said.not_measured', reason=body.missing[name])}"
        for name in in_order(body.missing)
    ]
    if body.words:
        parts.append(body.words)
    return ", ".join(parts)


def form_words(form: str) -> str:
    """How a pressure across the membrane was formed, and on which machine where one was named."""
    name, machine = parts_of(form)
    key = f"membrane.form.{name}"
    words = say(key) if has_text(key) else name
    return say("membrane.on_machine", form=words, machine=machine) if machine else words


def figure_words(name: str) -> str:
    """A figure of the plan by its name."""
    for key in (f"formula.{name}", f"setting.{name}", f"line.{name}"):
        if has_text(key):
            return say(key)
    return name


def figure_value(text: str) -> str:
    """A figure of the plan, in the reader's unit; the name of an outcome reads as its words."""
    return own_text(named("outcome", text))
